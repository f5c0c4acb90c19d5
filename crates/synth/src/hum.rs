//! Mains hum.

use crate::harmonics::Harmonics;
use crate::level::rms;
use std::f64::consts::TAU;

/// Hum of the mains and its harmonics: the second the strongest, as from a transformer's core (our choice).
#[derive(Clone, Debug)]
pub struct Hum {
    step: f64,
    phase: f64,
    harmonics: Harmonics,
}

impl Hum {
    /// Hum of a mains frequency (50 or 60 Hz) at `dbfs` decibels relative to a full-scale sine.
    pub fn new(sample_rate: f64, mains_hz: f64, dbfs: f64) -> Self {
        let mut harmonics = Harmonics::none();
        for k in 1..=10 {
            // Each harmonic has a phase of its own, so that they do not add up to a spike.
            harmonics.push(if k == 2 { 1.4 } else { f64::from(k).recip() }, f64::from(k * k));
        }
        harmonics.scale(rms(dbfs) / harmonics.power(1.0).sqrt());
        Self { step: mains_hz / sample_rate, phase: 0.0, harmonics }
    }

    /// Adds the hum to some sound.
    pub fn add(&mut self, samples: &mut [f32]) {
        for sample in samples {
            *sample += self.harmonics.sum(TAU * self.phase, 1.0) as f32;
            self.phase = (self.phase + self.step).fract();
        }
    }
}
