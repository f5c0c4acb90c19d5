//! The reference tone: what a note should sound like.

use crate::curve::Curve;
use crate::error::{SynthError, within};
use crate::harmonics::Harmonics;
use crate::level::rms;
use crate::spectrum::BAND;
use std::f64::consts::TAU;

/// Strengths of the first partials: soft but with enough above the fundamental to be heard on small
/// loudspeakers.
const PARTIALS: [f64; 6] = [1.0, 0.5, 0.3, 0.12, 0.06, 0.03];

/// Seconds of fading in and out.
const ATTACK_S: f64 = 0.03;
const RELEASE_S: f64 = 0.12;

/// A steady tone with a soft beginning and end.
///
/// It is never louder than −12 dBFS, and −20 unless asked otherwise: what that is at the ear depends on the
/// player's volume setting, so the usual caution about headphones (WHO-ITU H.870: 80 dB for 40 hours a week)
/// still has to be shown.
#[derive(Clone, Debug)]
pub struct Tone {
    /// Cycles per sample.
    step: f64,
    phase: f64,
    partials: Harmonics,
    /// Seconds per sample.
    sample_s: f64,
    /// Samples rendered.
    position: u64,
    /// Sample at which it begins to fade, once known.
    release: Option<u64>,
}

impl Tone {
    /// The loudest level, dBFS.
    pub const LOUDEST_DBFS: f64 = -12.0;
    /// The usual level, dBFS.
    pub const DEFAULT_DBFS: f64 = -20.0;

    /// A tone of `hz` at the usual level that sounds until [`finish`](Self::finish) is called.
    ///
    /// # Errors
    /// If the pitch is below 20 Hz or more than the sample rate (8 to 192 kHz) can carry.
    pub fn new(hz: f64, sample_rate: f64) -> Result<Self, SynthError> {
        within("a sample rate in hertz", sample_rate, 8_000.0, 192_000.0)?;
        within("a pitch in hertz", hz, 20.0, BAND * sample_rate)?;
        let mut partials = Harmonics::none();
        for (k, strength) in (1..).zip(PARTIALS) {
            if f64::from(k) * hz < BAND * sample_rate {
                partials.push(strength, 0.0);
            }
        }
        let silent = Self {
            step: hz / sample_rate,
            phase: 0.0,
            partials,
            sample_s: sample_rate.recip(),
            position: 0,
            release: None,
        };
        silent.level(Self::DEFAULT_DBFS)
    }

    /// The same tone at another level, −60 to −12 dBFS.
    ///
    /// # Errors
    /// If the level is out of range.
    pub fn level(mut self, dbfs: f64) -> Result<Self, SynthError> {
        within("a level in dBFS", dbfs, -60.0, Self::LOUDEST_DBFS)?;
        self.partials.scale(rms(dbfs) / self.partials.power(1.0).sqrt());
        Ok(self)
    }

    /// The same tone, ending by itself: it begins to fade after this many seconds.
    #[must_use]
    pub fn lasting(self, seconds: f64) -> Self {
        Self { release: Some((seconds.max(0.0) / self.sample_s).round() as u64), ..self }
    }

    /// Lets it fade out from here.
    pub fn finish(&mut self) {
        let now = self.position;
        self.release = Some(self.release.map_or(now, |planned| planned.min(now)));
    }

    /// True when it has faded out.
    pub fn is_done(&self) -> bool {
        self.release
            .is_some_and(|at| self.position as f64 * self.sample_s >= at as f64 * self.sample_s + RELEASE_S)
    }

    /// Renders the next samples; silence once it is done.
    pub fn fill(&mut self, out: &mut [f32]) {
        for sample in out {
            *sample = self.next() as f32;
        }
    }

    fn next(&mut self) -> f64 {
        let rising = Curve::Smooth.at(self.position as f64 * self.sample_s / ATTACK_S);
        let since = self.release.map_or(0, |at| self.position.saturating_sub(at)) as f64 * self.sample_s;
        let gain = rising * (1.0 - Curve::Smooth.at(since / RELEASE_S));
        let cycle = self.partials.sum(TAU * self.phase, 1.0);
        self.phase = (self.phase + self.step).fract();
        self.position += 1;
        gain * cycle
    }
}
