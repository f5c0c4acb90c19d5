//! A light kit, played with brushes.

use super::event::Stroke;
use crate::biquad::Biquad;
use crate::random::signed;
use oorandom::Rand32;
use std::f64::consts::TAU;

/// A stroke that sounds. All of it is chosen by ear.
#[derive(Clone, Copy, Debug)]
pub(super) struct StrokeVoice {
    stroke: Stroke,
    gain: f64,
    sample_s: f64,
    age: u64,
    filter: Biquad,
    random: Rand32,
}

/// Seconds after which a stroke is over, and of its rising and falling by a factor of e.
fn shape(stroke: Stroke) -> (f64, f64, f64) {
    match stroke {
        Stroke::Kick => (0.35, 0.003, 0.07),
        Stroke::Tap => (0.3, 0.003, 0.045),
        Stroke::Sweep => (0.4, 0.09, 0.09),
        Stroke::Cymbal => (0.4, 0.001, 0.06),
    }
}

/// The hiss of a stroke: its middle, hertz, the quality of the band and its level; that of the big drum is the felt of its beater.
fn hiss(stroke: Stroke) -> (f64, f64, f64) {
    match stroke {
        Stroke::Kick => (400.0, 0.7, 0.05),
        Stroke::Tap => (3_200.0, 0.4, 1.0),
        Stroke::Sweep => (4_500.0, 0.5, 0.6),
        Stroke::Cymbal => (8_500.0, 1.0, 0.8),
    }
}

impl StrokeVoice {
    pub(super) fn new(stroke: Stroke, gain: f64, sample_rate: f64, random: Rand32) -> Self {
        let (hz, q, _) = hiss(stroke);
        let filter = Biquad::band_pass(sample_rate, hz.min(0.4 * sample_rate), q);
        Self { stroke, gain, sample_s: sample_rate.recip(), age: 0, filter, random }
    }

    pub(super) fn is_over(&self) -> bool {
        self.age as f64 * self.sample_s >= shape(self.stroke).0
    }

    pub(super) fn next(&mut self) -> f64 {
        let t = self.age as f64 * self.sample_s;
        self.age += 1;
        let (length_s, rise_s, fall_s) = shape(self.stroke);
        // It ends at nought, whatever is left of it.
        let closing = 1.0 - t / length_s;
        let envelope = (t / rise_s).min(1.0) * (-(t - rise_s).max(0.0) / fall_s).exp() * closing;
        let noise = hiss(self.stroke).2 * self.filter.next(signed(&mut self.random));
        let drum = if self.stroke == Stroke::Kick { drum(t) } else { 0.0 };
        self.gain * envelope * (noise + drum)
    }
}

/// The skin of the big drum, which falls from 90 to 50 Hz as it is struck.
fn drum(t: f64) -> f64 {
    const FALL_S: f64 = 0.03;
    let cycles = 50.0 * t + 40.0 * FALL_S * (1.0 - (-t / FALL_S).exp());
    (TAU * cycles).sin()
}
