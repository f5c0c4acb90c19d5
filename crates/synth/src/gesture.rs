//! What a player does with one note or one chord.

use crate::curve::Curve;
use crate::start::{FLIP_S, Start};
use layout::Way;

/// Where a note starts on its way to its pitch.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) enum Begins {
    /// At its pitch.
    #[default]
    Pitch,
    /// At the natural reed of its hole and breath.
    Natural,
    /// This many cents below its pitch.
    Below(f64),
}

/// A way that is reached without a new attack.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Turned {
    pub(crate) way: Way,
    /// When the pitch is midway, seconds after the beginning, and how long the way there takes.
    pub(crate) at_s: f64,
    pub(crate) glide_s: f64,
}

/// One note or chord as a player plays it. Built step by step, starting from [`Gesture::new`]; every step has
/// a sane default, and numbers are checked when the gesture is queued
/// ([`SimulatedPlayer::play`](crate::SimulatedPlayer::play)).
///
/// Its time line: the rest before it, the start of the sound, the way to the pitch (dwelling at the natural
/// reed, sliding, putting an over- or undershoot right), the time held, the release.
#[derive(Clone, Debug, PartialEq)]
pub struct Gesture {
    pub(crate) ways: Vec<Way>,
    pub(crate) cents_off: f64,
    pub(crate) rest_s: f64,
    pub(crate) held_s: f64,
    pub(crate) level_dbfs: f64,
    pub(crate) from: Begins,
    pub(crate) dwell_s: f64,
    pub(crate) glide_s: f64,
    pub(crate) curve: Curve,
    pub(crate) miss_cents: f64,
    pub(crate) settle_s: f64,
    pub(crate) drift_cents_per_s: f64,
    pub(crate) vibrato: (f64, f64),
    /// Seconds to go back to the natural reed at the end, and to stay there.
    pub(crate) back_s: (f64, f64),
    /// The ways that it goes on to without a new attack.
    pub(crate) turns: Vec<Turned>,
    pub(crate) start: Start,
    pub(crate) leak: Option<(u8, f64)>,
    pub(crate) breath_db: f64,
    pub(crate) breath_in_dbfs: f64,
    pub(crate) jitter_cents: f64,
    pub(crate) shimmer_db: f64,
}

impl Gesture {
    /// A plain note: in tune, directly at its pitch, held for 1.5 s after a rest of 0.4 s, at −18 dBFS, with
    /// the small unsteadiness of a good player (0.4 cents, 0.15 dB) and a little breath noise (−45 dB).
    pub fn new(way: Way) -> Self {
        Self::chord(&[way])
    }

    /// Several ways at once: up to six holes of one breath, within six holes of each other. The first is the
    /// one that [`truth`](crate::SimulatedPlayer::truth) tells; the level is that of all together.
    pub fn chord(ways: &[Way]) -> Self {
        Self {
            ways: ways.to_vec(),
            cents_off: 0.0,
            rest_s: 0.4,
            held_s: 1.5,
            level_dbfs: -18.0,
            from: Begins::Pitch,
            dwell_s: 0.0,
            glide_s: 0.0,
            curve: Curve::Smooth,
            miss_cents: 0.0,
            settle_s: 0.0,
            drift_cents_per_s: 0.0,
            vibrato: (5.0, 0.0),
            back_s: (0.0, 0.0),
            turns: Vec::new(),
            start: Start::Clean,
            leak: None,
            breath_db: -45.0,
            breath_in_dbfs: f64::NEG_INFINITY,
            jitter_cents: 0.4,
            shimmer_db: 0.15,
        }
    }

    /// The same with these ways at once, as in [`Gesture::chord`].
    #[must_use]
    pub fn together(self, ways: &[Way]) -> Self {
        Self { ways: ways.to_vec(), ..self }
    }

    /// The ways that it sounds; the first is the leading one.
    pub fn ways(&self) -> &[Way] {
        &self.ways
    }

    /// Cents from the pitch at which the way is in tune; negative is flat. −600 to 600.
    #[must_use]
    pub fn cents_off(self, cents: f64) -> Self {
        Self { cents_off: cents, ..self }
    }

    /// Seconds from the arrival at the pitch until the release begins. 0 to 3600.
    #[must_use]
    pub fn seconds(self, held_s: f64) -> Self {
        Self { held_s, ..self }
    }

    /// Seconds of silence before it. 0 to 3600.
    #[must_use]
    pub fn rest(self, rest_s: f64) -> Self {
        Self { rest_s, ..self }
    }

    /// Level when held, decibels relative to a full-scale sine. −90 to −6; louder is also brighter.
    #[must_use]
    pub fn level(self, level_dbfs: f64) -> Self {
        Self { level_dbfs, ..self }
    }

    /// Slides in from the natural reed of the same hole and breath in this many seconds. 0 to 60.
    #[must_use]
    pub fn glide(self, glide_s: f64) -> Self {
        Self { from: Begins::Natural, glide_s, ..self }
    }

    /// Starts this many cents below the pitch and rises to it in `rise_s` seconds.
    #[must_use]
    pub fn scoop(self, cents: f64, rise_s: f64) -> Self {
        Self { from: Begins::Below(cents), glide_s: rise_s, ..self }
    }

    /// Stays where it starts for this many seconds before it slides. 0 to 60.
    #[must_use]
    pub fn dwell(self, dwell_s: f64) -> Self {
        Self { dwell_s, ..self }
    }

    /// Goes this many cents beyond the pitch (in the direction it comes from the natural reed; flat for a
    /// natural note), then settles in `settle_s` seconds.
    #[must_use]
    pub fn overshoot(self, cents: f64, settle_s: f64) -> Self {
        Self { miss_cents: cents, settle_s, ..self }
    }

    /// Stops this many cents before the pitch, then creeps the rest of the way in `settle_s` seconds.
    #[must_use]
    pub fn undershoot(self, cents: f64, settle_s: f64) -> Self {
        self.overshoot(-cents, settle_s)
    }

    /// Slope of the pitch once it is reached, cents per second; negative sags.
    #[must_use]
    pub fn drift(self, cents_per_s: f64) -> Self {
        Self { drift_cents_per_s: cents_per_s, ..self }
    }

    /// Lets the pitch go back to the natural reed of the hole in `rise_s` seconds once the note was held, and sound
    /// there for `stay_s` seconds more: a bend that is let go, or a slur back.
    #[must_use]
    pub fn back(self, rise_s: f64, stay_s: f64) -> Self {
        Self { back_s: (rise_s, stay_s), ..self }
    }

    /// Goes on to another way of the same breath without a new attack, up to seven times in a gesture, in the order of
    /// time. The slide takes `glide_s` seconds and is midway `at_s` seconds after the sound began. It does not lengthen
    /// the time for which the gesture is held.
    #[must_use]
    pub fn then(mut self, way: Way, at_s: f64, glide_s: f64) -> Self {
        self.turns.push(Turned { way, at_s, glide_s });
        self
    }

    /// Vibrato once the pitch is reached: rate in hertz (0 to 20), depth in cents to either side (0 to 200).
    #[must_use]
    pub fn vibrato(self, rate_hz: f64, depth_cents: f64) -> Self {
        Self { vibrato: (rate_hz, depth_cents), ..self }
    }

    /// The natural reed speaks for this many seconds, then the note pops to its pitch within 10 ms, as an
    /// overblow does that is forced out.
    #[must_use]
    pub fn pop(self, natural_s: f64) -> Self {
        Self {
            from: Begins::Natural,
            dwell_s: natural_s,
            glide_s: FLIP_S,
            curve: Curve::Linear,
            start: Start::Pop(natural_s),
            ..self
        }
    }

    /// A thin falling whistle of this many seconds lies over the start. The truth stays that of the note.
    #[must_use]
    pub fn squeak(self, seconds: f64) -> Self {
        Self { start: Start::Squeak(seconds), ..self }
    }

    /// The natural reed of another hole, same breath, sounds along at this level relative to the note, −80 to
    /// 0 dB.
    #[must_use]
    pub fn leak(self, hole: u8, level_db: f64) -> Self {
        Self { leak: Some((hole, level_db)), ..self }
    }

    /// Breath noise while the note sounds, decibels relative to the note; −∞ for none, at most 20.
    #[must_use]
    pub fn breath(self, level_db: f64) -> Self {
        Self { breath_db: level_db, ..self }
    }

    /// The player is heard breathing in the rest before the note, at this peak level in dBFS; −∞ (the
    /// default) for not.
    #[must_use]
    pub fn breath_before(self, level_dbfs: f64) -> Self {
        Self { breath_in_dbfs: level_dbfs, ..self }
    }

    /// RMS of the aimless movement of the pitch, cents. 0 to 50.
    #[must_use]
    pub fn jitter(self, cents: f64) -> Self {
        Self { jitter_cents: cents, ..self }
    }

    /// RMS of the aimless movement of the loudness, decibels. 0 to 3.
    #[must_use]
    pub fn shimmer(self, decibels: f64) -> Self {
        Self { shimmer_db: decibels, ..self }
    }

    /// Without jitter, shimmer and breath noise: the pitch is one number.
    #[must_use]
    pub fn pure(self) -> Self {
        self.jitter(0.0).shimmer(0.0).breath(f64::NEG_INFINITY)
    }
}
