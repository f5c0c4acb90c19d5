//! The front end: cleans the samples, removes what no reed makes, and brings every fast rate to about 16 kHz.
//!
//! Everything after it then behaves the same in seconds and hertz at any input rate above 24 kHz, and costs the same.
//! What is cut off above 6.4 kHz would have told little: a harmonica's harmonics there are weak and breath is strong.
//! Slower input (8 to 24 kHz) is only cleaned: no whole number would bring it nearer, so nothing is cut off or delayed.

use crate::history::History;
use crate::lowpass;
use std::f64::consts::PI;

/// The rate the ear works at is the input rate over a whole number, as near to this as it gets, hertz.
const WORKING_RATE: f64 = 16_000.0;
/// Corner of the filter that removes offset and rumble, hertz.
pub(crate) const RUMBLE_HZ: f64 = 25.0;
/// Samples beyond this are treated as no sound at all: it is no audio, and its square must stay finite.
const ABSURD: f32 = 1.0e3;
/// Products that `dot` sums side by side.
pub(crate) const LANES: usize = 8;

/// Filters and decimates a stream.
#[derive(Clone, Debug)]
pub(crate) struct Front {
    factor: usize,
    /// Last one first, as the samples lie; filled up with zeros to whole lanes.
    taps: Vec<f32>,
    newest: History,
    phase: usize,
    offset: f64,
    offset_gain: f64,
    delay: f64,
}

impl Front {
    /// For an input rate in hertz.
    pub(crate) fn new(sample_rate: f64) -> Self {
        let factor = ((sample_rate / WORKING_RATE - 0.5).ceil()).max(1.0) as usize;
        let filter = lowpass::response(factor);
        let length = filter.len().next_multiple_of(LANES);
        let taps = (0..length).rev().map(|n| filter.get(n).map_or(0.0, |tap| *tap as f32)).collect();
        Self {
            factor,
            taps,
            newest: History::new(length),
            phase: 0,
            offset: 0.0,
            offset_gain: 1.0 - (-2.0 * PI * RUMBLE_HZ / sample_rate).exp(),
            delay: filter.iter().enumerate().map(|(n, tap)| n as f64 * tap).sum(),
        }
    }

    /// Input samples per output sample.
    pub(crate) fn factor(&self) -> usize {
        self.factor
    }

    /// How far the output lags behind the input, input samples: the group delay of low notes, about 0.1 ms, or none
    /// where nothing is decimated. Towards the highest fundamentals, 4 kHz, it grows by less than 0.07 ms.
    pub(crate) fn delay(&self) -> f64 {
        self.delay
    }

    /// Forgets all it has heard.
    pub(crate) fn reset(&mut self) {
        self.newest.reset();
        (self.phase, self.offset) = (0, 0.0);
    }

    /// Takes one sample; every `factor`-th gives one out.
    pub(crate) fn push(&mut self, sample: f32) -> Option<f32> {
        let clean = if sample.abs() <= ABSURD { f64::from(sample) } else { 0.0 };
        self.offset += (clean - self.offset) * self.offset_gain;
        self.newest.push((clean - self.offset) as f32);
        self.phase += 1;
        if self.phase < self.factor {
            return None;
        }
        self.phase = 0;
        Some(dot(&self.taps, self.newest.all()))
    }
}

/// Inner product of whole lanes, with running sums that the compiler keeps in vector registers.
pub(crate) fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut sums = [0.0f32; LANES];
    for (x, y) in a.as_chunks::<LANES>().0.iter().zip(b.as_chunks::<LANES>().0) {
        for i in 0..LANES {
            sums[i] += x[i] * y[i];
        }
    }
    sums.iter().sum()
}
