//! The small unsteadiness of anything that a living being holds.

use crate::random::{between, generator};
use std::f64::consts::TAU;

/// Number of sinusoids in a wobble.
const PARTS: usize = 3;

/// A slow, aimless movement around 0 that can be evaluated at any time: a few sinusoids of 0.6 to 9 Hz with
/// random phases. It comes in two unrelated halves (jitter of the pitch, shimmer of the loudness), which have
/// the same cost as one. Both have an RMS of 1 over a long time. That it is small and slow is our choice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Wobble {
    /// Radians per second and the phase at time 0.
    parts: [(f64, f64); PARTS],
}

impl Wobble {
    pub(crate) fn new(seed: u64, purpose: u64) -> Self {
        let mut random = generator(seed, purpose);
        // One sinusoid per band, so that no two share a frequency and beat.
        let bands = [(0.6, 1.4), (2.0, 4.0), (5.0, 9.0)];
        Self {
            parts: bands
                .map(|(low, high)| (TAU * between(&mut random, low, high), between(&mut random, 0.0, TAU))),
        }
    }

    /// Jitter and shimmer `t` seconds after the start.
    pub(crate) fn at(&self, t: f64) -> (f64, f64) {
        // Each of the sinusoids has a power of one half.
        let scale = (2.0 / PARTS as f64).sqrt();
        let sum = self.parts.iter().map(|(w, phase)| (w * t + phase).sin_cos());
        let (sin, cos) = sum.fold((0.0, 0.0), |(s, c), (sin, cos)| (s + sin, c + cos));
        (scale * sin, scale * cos)
    }
}
