//! The front end: cleans the samples, removes what no reed makes, and brings every rate to about 16 kHz.
//!
//! Everything after it then behaves the same in seconds and hertz at any input rate, and costs the same. What is cut
//! off above 6.4 kHz would have told little: a harmonica's harmonics there are weak and breath is strong.

use std::f64::consts::PI;

/// The rate the ear works at is the input rate over a whole number, as near to this as it gets, hertz.
const WORKING_RATE: f64 = 16_000.0;
/// Corner of the filter that removes offset and rumble, hertz.
const RUMBLE_HZ: f64 = 25.0;
/// Samples beyond this are treated as no sound at all: it is no audio, and its square must stay finite.
const ABSURD: f32 = 1.0e3;

/// Filters and decimates a stream.
#[derive(Clone, Debug)]
pub(crate) struct Front {
    factor: usize,
    taps: Vec<f32>,
    ring: Vec<f32>,
    head: usize,
    phase: usize,
    offset: f64,
    offset_gain: f64,
}

impl Front {
    /// For an input rate in hertz.
    pub(crate) fn new(sample_rate: f64) -> Self {
        let factor = ((sample_rate / WORKING_RATE - 0.5).ceil()).max(1.0) as usize;
        let taps = anti_alias(factor);
        Self {
            factor,
            ring: vec![0.0; 2 * taps.len()],
            taps,
            head: 0,
            phase: 0,
            offset: 0.0,
            offset_gain: 1.0 - (-2.0 * PI * RUMBLE_HZ / sample_rate).exp(),
        }
    }

    /// Input samples per output sample.
    pub(crate) fn factor(&self) -> usize {
        self.factor
    }

    /// How far the output lags behind the input, input samples.
    pub(crate) fn delay(&self) -> f64 {
        (self.taps.len() - 1) as f64 / 2.0
    }

    /// Forgets all it has heard.
    pub(crate) fn reset(&mut self) {
        self.ring.fill(0.0);
        (self.head, self.phase, self.offset) = (0, 0, 0.0);
    }

    /// Takes one sample; every `factor`-th gives one out.
    pub(crate) fn push(&mut self, sample: f32) -> Option<f32> {
        let clean = if sample.abs() <= ABSURD { f64::from(sample) } else { 0.0 };
        self.offset += (clean - self.offset) * self.offset_gain;
        let n = self.taps.len();
        let x = (clean - self.offset) as f32;
        // Written twice, so that the last `n` samples always lie in one piece.
        self.ring[self.head] = x;
        self.ring[self.head + n] = x;
        self.head = (self.head + 1) % n;
        self.phase = (self.phase + 1) % self.factor;
        (self.phase == 0).then(|| dot(&self.taps, &self.ring[self.head..self.head + n]))
    }
}

/// Inner product with eight running sums, which the compiler keeps in vector registers.
pub(crate) fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut sums = [0.0f32; 8];
    let (a8, b8) = (a.chunks_exact(8), b.chunks_exact(8));
    let tail: f32 = a8.remainder().iter().zip(b8.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a8.zip(b8) {
        for i in 0..8 {
            sums[i] += x[i] * y[i];
        }
    }
    sums.iter().sum::<f32>() + tail
}

/// Linear-phase low pass for a decimation: Kaiser window (Oppenheim & Schafer, Discrete-Time Signal Processing,
/// section 7.5), 72 dB down at the folding edge, flat to 0.4 of the output rate.
fn anti_alias(factor: usize) -> Vec<f32> {
    if factor == 1 {
        return vec![1.0];
    }
    let (pass, stop, beta) = (0.40, 0.60, 0.1102 * (72.0 - 8.7));
    let half = (2.285_f64.recip() * (72.0 - 8.0) / (2.0 * PI * (stop - pass)) / 2.0 * factor as f64).round();
    let cut = f64::midpoint(pass, stop) / factor as f64;
    let count = 2 * half as usize + 1;
    let raw = |i: usize| {
        let t = i as f64 - half;
        let sinc = if t == 0.0 { 2.0 * cut } else { (2.0 * PI * cut * t).sin() / (PI * t) };
        sinc * bessel_i0(beta * (1.0 - (t / half).powi(2)).max(0.0).sqrt()) / bessel_i0(beta)
    };
    let sum: f64 = (0..count).map(raw).sum();
    (0..count).map(|i| (raw(i) / sum) as f32).collect()
}

/// Modified Bessel function of order zero by its power series (Abramowitz & Stegun 9.6.12).
fn bessel_i0(x: f64) -> f64 {
    let mut term = 1.0;
    let mut sum = 1.0;
    for k in 1..40 {
        term *= (x / (2.0 * f64::from(k))).powi(2);
        sum += term;
    }
    sum
}
