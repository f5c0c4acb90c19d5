//! What can be wrong with a request for sound.

use layout::CannotPlay;
use std::fmt;

/// A request that can't be played. Nothing has been queued when one is returned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SynthError {
    /// The harp has no such way; why it hasn't.
    Unplayable(CannotPlay),
    /// A number outside its range.
    Range {
        /// What the number is, with its unit.
        what: &'static str,
        /// The number.
        value: f64,
        /// Smallest allowed.
        low: f64,
        /// Largest allowed.
        high: f64,
    },
    /// A form without a bar, or with a bar that has no chord.
    EmptyForm,
    /// The ways of a chord do not lie under one mouth: two breaths, a hole twice, or holes too far apart.
    Chord,
    /// Joined notes that are chords, or of both breaths.
    Slur,
    /// A hole that should leak while it is played.
    Leak(u8),
    /// A pitch that this sample rate can't carry.
    TooHigh {
        /// The pitch, hertz.
        hz: f64,
        /// The highest that can be rendered, hertz.
        limit_hz: f64,
    },
}

/// `value` if it lies between `low` and `high`, else the error that says so.
pub(crate) fn within(what: &'static str, value: f64, low: f64, high: f64) -> Result<f64, SynthError> {
    if (low..=high).contains(&value) { Ok(value) } else { Err(SynthError::Range { what, value, low, high }) }
}

/// `value` brought between `low` and `high`; what is no number becomes `low`.
pub(crate) fn brought_within(value: f64, low: f64, high: f64) -> f64 {
    if value.is_nan() { low } else { value.clamp(low, high) }
}

impl fmt::Display for SynthError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unplayable(why) => why.fmt(f),
            Self::Range { what, value, low, high } => {
                write!(f, "{what} of {value} is out of range; use {low} to {high}")
            }
            Self::EmptyForm => f.write_str("a form needs at least one bar, and each bar a chord"),
            Self::Chord => f.write_str(
                "a chord needs one breath and up to six different holes that lie within six of each other",
            ),
            Self::Slur => f.write_str("joined notes are single notes of one breath"),
            Self::Leak(hole) => {
                write!(f, "hole {hole} is played, so it can't leak as well; name another hole")
            }
            Self::TooHigh { hz, limit_hz } => {
                write!(f, "{hz:.1} Hz is too high for this sample rate; it carries up to {limit_hz:.1} Hz")
            }
        }
    }
}

impl std::error::Error for SynthError {}
