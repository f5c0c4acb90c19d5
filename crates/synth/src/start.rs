//! What else is heard when a note begins.

use std::f64::consts::{PI, TAU};

/// How a note speaks.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) enum Start {
    /// At once.
    #[default]
    Clean,
    /// The natural reed sounds for this many seconds, then the note jumps with a pop.
    Pop(f64),
    /// A thin falling whistle of this many seconds lies over the attack.
    Squeak(f64),
}

/// Seconds in which a popping note jumps from the natural reed to its pitch (our choice).
pub(crate) const FLIP_S: f64 = 0.010;

impl Start {
    /// Gain of the reed `t` seconds after the start: it dips where a pop flips from one mode to the other.
    pub(crate) fn reed_gain(self, t: f64) -> f64 {
        match self {
            Self::Pop(seconds) => 1.0 - 0.7 * near(t, seconds + FLIP_S / 2.0, 0.006),
            Self::Clean | Self::Squeak(_) => 1.0,
        }
    }

    /// Gain of the breath noise `t` seconds after the start: a pop is a burst of it.
    pub(crate) fn breath_gain(self, t: f64) -> f64 {
        match self {
            Self::Pop(seconds) => 1.0 + 30.0 * near(t, seconds + FLIP_S / 2.0, 0.008),
            Self::Clean | Self::Squeak(_) => 1.0,
        }
    }

    /// The whistle of a squeak `t` seconds after the start, relative to a note of amplitude 1 at `hz`.
    pub(crate) fn whistle(self, t: f64, hz: f64, limit_hz: f64) -> f64 {
        let Self::Squeak(seconds) = self else { return 0.0 };
        // A multiple that lies between the harmonics sounds foreign to the note; it falls by 0.4 on its way.
        let fitting = [5.3, 3.3, 2.3].into_iter().find(|multiple| multiple * hz < limit_hz);
        let (Some(multiple), true) = (fitting, t < seconds) else { return 0.0 };
        let loudness = 0.35 * (PI * t / seconds).sin().powi(2);
        loudness * (TAU * hz * t * (multiple - 0.2 * t / seconds)).sin()
    }
}

/// A bump of height 1 around `centre`, dying away over `width` to either side.
fn near(t: f64, centre: f64, width: f64) -> f64 {
    (-((t - centre) / width).powi(2)).exp()
}
