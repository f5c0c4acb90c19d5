//! Mains hum.

use crate::level::rms;
use std::f64::consts::TAU;

/// Number of harmonics of the mains.
const HARMONICS: usize = 10;

/// Hum of the mains and its harmonics: the second the strongest, as from a transformer's core (our choice).
#[derive(Clone, Debug)]
pub struct Hum {
    step: f64,
    phase: f64,
    amplitudes: [f64; HARMONICS],
}

impl Hum {
    /// Hum of a mains frequency (50 or 60 Hz) at `dbfs` decibels relative to a full-scale sine.
    pub fn new(sample_rate: f64, mains_hz: f64, dbfs: f64) -> Self {
        let strength: [f64; HARMONICS] =
            std::array::from_fn(|i| if i == 1 { 1.4 } else { 1.0 / (i + 1) as f64 });
        let power: f64 = strength.iter().map(|a| a * a / 2.0).sum();
        let gain = rms(dbfs) / power.sqrt();
        Self { step: mains_hz / sample_rate, phase: 0.0, amplitudes: strength.map(|a| a * gain) }
    }

    /// Adds the hum to some sound.
    pub fn add(&mut self, samples: &mut [f32]) {
        for sample in samples {
            // Each harmonic has a phase of its own, so that they do not add up to a spike.
            let sum: f64 = (1..)
                .zip(&self.amplitudes)
                .map(|(k, a)| a * (TAU * f64::from(k) * self.phase + f64::from(k * k)).sin())
                .sum();
            *sample += sum as f32;
            self.phase = (self.phase + self.step).fract();
        }
    }
}
