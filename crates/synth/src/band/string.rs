//! A plucked or struck note: harmonics that die away, the high ones first.

use crate::curve::Curve;
use crate::harmonics::Harmonics;
use crate::spectrum::BAND;
use std::f64::consts::TAU;

/// How an instrument sounds. All of it is chosen by ear.
#[derive(Clone, Copy, Debug)]
pub(super) struct Instrument {
    /// Amplitudes of the harmonics, the fundamental's first.
    pub(super) partials: &'static [f64],
    /// Seconds of rising.
    pub(super) attack_s: f64,
    /// Seconds in which the fundamental falls by a factor of e.
    pub(super) fall_s: f64,
    /// Seconds in which each harmonic loses another factor of e against the one below it.
    pub(super) dulling_s: f64,
    /// Seconds of fading once the note is let go.
    pub(super) release_s: f64,
}

/// A double bass, plucked: little above the second harmonic but what small loudspeakers need to tell its pitch.
pub(super) const BASS: Instrument = Instrument {
    partials: &[1.0, 0.55, 0.3, 0.16, 0.05, 0.03],
    attack_s: 0.006,
    fall_s: 0.9,
    dulling_s: 0.6,
    release_s: 0.03,
};

/// An electric piano, softly.
pub(super) const KEYS: Instrument = Instrument {
    partials: &[1.0, 0.28, 0.06, 0.03],
    attack_s: 0.008,
    fall_s: 1.1,
    dulling_s: 0.5,
    release_s: 0.09,
};

/// A note that sounds.
#[derive(Clone, Copy, Debug)]
pub(super) struct StringVoice {
    instrument: Instrument,
    partials: Harmonics,
    sample_s: f64,
    /// Cycles per sample.
    step: f64,
    /// Samples since it began.
    age: u64,
    /// Seconds until it is let go.
    length_s: f64,
}

impl StringVoice {
    pub(super) fn new(
        instrument: Instrument,
        hz: f64,
        (gain, length_s): (f64, f64),
        sample_rate: f64,
    ) -> Self {
        let mut partials = Harmonics::none();
        for (k, strength) in (1..).zip(instrument.partials) {
            if f64::from(k) * hz < BAND * sample_rate {
                partials.push(gain * strength, 0.0);
            }
        }
        Self { instrument, partials, sample_s: sample_rate.recip(), step: hz / sample_rate, age: 0, length_s }
    }

    /// Whether it is over.
    pub(super) fn is_over(&self) -> bool {
        self.age as f64 * self.sample_s >= self.length_s + self.instrument.release_s
    }

    /// Lets it go now, unless it has been let go already.
    pub(super) fn let_go(&mut self) {
        self.length_s = self.length_s.min(self.age as f64 * self.sample_s);
    }

    pub(super) fn next(&mut self) -> f64 {
        let t = self.age as f64 * self.sample_s;
        let Instrument { attack_s, fall_s, dulling_s, release_s, .. } = self.instrument;
        let rising = Curve::Smooth.at(t / attack_s);
        let falling = 1.0 - Curve::Smooth.at((t - self.length_s) / release_s);
        let phase = (self.age as f64 * self.step).fract();
        self.age += 1;
        rising * falling * (-t / fall_s).exp() * self.partials.sum(TAU * phase, (-t / dulling_s).exp())
    }
}
