//! One reed (or the two of a bent hole, which sound as one) while it speaks.

use crate::envelope::Envelope;
use crate::path::Path;
use crate::random::{between, generator};
use crate::spectrum::{Spectrum, Timbre};
use layout::Way;
use std::f64::consts::TAU;

/// Everything that is fixed about a voice when its gesture is queued.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Plan {
    pub(crate) way: Way,
    pub(crate) path: Path,
    pub(crate) envelope: Envelope,
    pub(crate) timbre: Timbre,
    /// Level when held, decibels relative to a full-scale sine.
    pub(crate) level_dbfs: f64,
    /// RMS of the aimless movement of that level, decibels.
    pub(crate) shimmer_db: f64,
    /// Decides the phase at which it starts.
    pub(crate) seed: u64,
}

/// A voice that is sounding.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Voice {
    path: Path,
    envelope: Envelope,
    spectrum: Spectrum,
    gain: f64,
    /// RMS of the shimmer as a share of the amplitude.
    shimmer: f64,
    /// Phase of the fundamental in cycles, 0 to 1, accumulated in double precision: after an hour the pitch is still exact
    /// to a billionth of a cent.
    phase: f64,
}

impl Voice {
    pub(crate) fn new(plan: &Plan, sample_rate: f64) -> Self {
        Self {
            path: plan.path,
            envelope: plan.envelope,
            spectrum: Spectrum::new(&plan.timbre, sample_rate),
            gain: crate::level::amplitude(plan.level_dbfs),
            // For such small movements a decibel is this share of the amplitude.
            shimmer: plan.shimmer_db * std::f64::consts::LN_10 / 20.0,
            phase: between(&mut generator(plan.seed, 0x7068_6173), 0.0, 1.0),
        }
    }

    /// The sample `t` seconds after the start, and the step on to the next one (`step_s` later).
    pub(crate) fn next(&mut self, t: f64, step_s: f64) -> f64 {
        let envelope = self.envelope.at(t);
        let (jitter, shimmer) = self.path.wobble.at(t);
        let hz = self.path.hz_with(t, jitter);
        // Partials build up after the fundamental and die away before it (our choice).
        let speaking = 0.7 + 0.3 * envelope;
        let depth = 1.0 - (1.0 - self.spectrum.darkness) * self.path.share(t);
        let loudness = self.gain * envelope * (1.0 + self.shimmer * shimmer);
        let sample = loudness * self.spectrum.sum(TAU * self.phase, speaking * depth);
        self.phase = (self.phase + hz * step_s).fract();
        sample
    }
}
