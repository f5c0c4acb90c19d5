//! A plucked or struck note: harmonics that die away, the high ones first.

use crate::curve::Curve;
use crate::harmonics::{Harmonics, times};
use crate::spectrum::BAND;
use std::f64::consts::TAU;

/// How an instrument sounds. All of it is chosen by ear, with the bands of a General MIDI bass and electric piano
/// beside it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Instrument {
    /// Amplitudes of the harmonics, the fundamental's first.
    partials: &'static [f64],
    /// Seconds of rising.
    attack_s: f64,
    /// Seconds in which the fundamental falls by a factor of e.
    fall_s: f64,
    /// Seconds in which each harmonic loses another factor of e against the one below it.
    dulling_s: f64,
    /// Seconds of fading once the note is let go.
    release_s: f64,
}

/// A double bass, plucked. Small loudspeakers sound nothing below 200 Hz; the harmonics above tell its pitch.
pub(super) const BASS: Instrument = Instrument {
    partials: &[1.0, 0.6, 0.14, 0.1, 0.03, 0.02],
    attack_s: 0.006,
    fall_s: 0.9,
    dulling_s: 0.6,
    release_s: 0.03,
};

/// An electric piano, softly.
pub(super) const KEYS: Instrument = Instrument {
    partials: &[1.0, 0.75, 0.12, 0.1, 0.04, 0.02],
    attack_s: 0.008,
    fall_s: 1.1,
    dulling_s: 0.7,
    release_s: 0.09,
};

/// A note that sounds.
#[derive(Clone, Copy, Debug)]
pub(super) struct StringVoice {
    instrument: Instrument,
    partials: Harmonics,
    /// The fundamental as a complex number, whose length is what the dulling has left, and the factor that turns it by
    /// one sample.
    at: [f64; 2],
    turn: [f64; 2],
    /// How loud it is still, and what it keeps of that from sample to sample.
    left: f64,
    keeps: f64,
    sample_s: f64,
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
                partials.push(*strength, 0.0);
            }
        }
        let sample_s = sample_rate.recip();
        let (sin, cos) = (TAU * hz * sample_s).sin_cos();
        let dulled = (-sample_s / instrument.dulling_s).exp();
        Self {
            instrument,
            partials,
            at: [1.0, 0.0],
            turn: [dulled * cos, dulled * sin],
            left: gain,
            keeps: (-sample_s / instrument.fall_s).exp(),
            sample_s,
            age: 0,
            length_s,
        }
    }

    /// Whether it is over.
    pub(super) fn is_over(&self) -> bool {
        self.age as f64 * self.sample_s >= self.length_s + self.instrument.release_s
    }

    pub(super) fn next(&mut self) -> f64 {
        let t = self.age as f64 * self.sample_s;
        let Instrument { attack_s, release_s, .. } = self.instrument;
        let mut gain = self.left;
        if t < attack_s {
            gain *= Curve::Smooth.at(t / attack_s);
        }
        if t > self.length_s {
            gain *= 1.0 - Curve::Smooth.at((t - self.length_s) / release_s);
        }
        let sum = self.partials.sum_of(self.at);
        self.at = times(self.at, self.turn);
        self.left *= self.keeps;
        self.age += 1;
        gain * sum
    }
}
