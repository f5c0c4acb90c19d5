//! One reed (or the two of a bent hole, which sound as one) while it speaks.

use crate::envelope::Envelope;
use crate::level::amplitude;
use crate::path::{KNOT, Path, between_knots};
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

/// What changes slowly enough to be worked out once in [`KNOT`] samples.
#[derive(Clone, Copy, Debug, Default)]
struct Slow {
    /// Fundamental, hertz.
    hz: f64,
    /// Loudness, 1 on average.
    loudness: f64,
    /// What each partial loses against the one below it.
    darkness: f64,
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
    /// The knots before and after the current sample.
    knots: [Slow; 2],
    /// Phase of the fundamental in cycles, 0 to 1, accumulated in double precision: after an hour the pitch
    /// is still exact to a billionth of a cent.
    phase: f64,
}

impl Voice {
    pub(crate) fn new(plan: &Plan, sample_rate: f64) -> Self {
        let mut voice = Self {
            path: plan.path,
            envelope: plan.envelope,
            spectrum: Spectrum::new(&plan.timbre, sample_rate),
            gain: amplitude(plan.level_dbfs),
            // For such small movements a decibel is this share of the amplitude.
            shimmer: plan.shimmer_db * std::f64::consts::LN_10 / 20.0,
            knots: [Slow::default(); 2],
            phase: between(&mut generator(plan.seed, 0x7068_6173), 0.0, 1.0),
        };
        voice.knots[1] = voice.slow(0.0);
        voice
    }

    /// The sample number `n` from the start (called for each in turn), `step_s` seconds apart.
    pub(crate) fn next(&mut self, n: u64, step_s: f64) -> f64 {
        let into = n % KNOT;
        if into == 0 {
            self.knots = [self.knots[1], self.slow((n + KNOT) as f64 * step_s)];
        }
        let [before, after] = self.knots;
        let share = into as f64 / KNOT as f64;
        let envelope = self.envelope.at(n as f64 * step_s);
        // Partials build up after the fundamental and die away before it (our choice).
        let ratio = (0.7 + 0.3 * envelope) * between_knots(before.darkness, after.darkness, share);
        let loudness = self.gain * envelope * between_knots(before.loudness, after.loudness, share);
        let sample = loudness * self.spectrum.partials.sum(TAU * self.phase, ratio);
        self.phase = (self.phase + between_knots(before.hz, after.hz, share) * step_s).fract();
        sample
    }

    /// Begins the release this many seconds after the start.
    pub(crate) fn release_at(&mut self, held_until_s: f64) {
        self.envelope.held_until = held_until_s;
    }

    fn slow(&self, t: f64) -> Slow {
        let (jitter, shimmer) = self.path.wobble.at(t);
        Slow {
            hz: self.path.hz_with(t, jitter),
            loudness: 1.0 + self.shimmer * shimmer,
            darkness: 1.0 - (1.0 - self.spectrum.darkness) * self.path.share(t),
        }
    }
}
