//! Reference pitch: from note numbers to hertz and back.

use crate::Note;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The frequency of A4 (MIDI key 69) in hertz, 400 to 480; 440 by ISO 16:1975.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct ConcertPitch(f64);

/// A reference pitch outside 400 to 480 Hz.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConcertPitchError(pub f64);

impl ConcertPitch {
    /// ISO 16:1975: A4 = 440 Hz.
    pub const ISO: Self = Self(440.0);

    /// A reference of `a4_hz`.
    ///
    /// # Errors
    /// If the value is outside 400 to 480 Hz or not a number.
    pub fn new(a4_hz: f64) -> Result<Self, ConcertPitchError> {
        if (400.0..=480.0).contains(&a4_hz) { Ok(Self(a4_hz)) } else { Err(ConcertPitchError(a4_hz)) }
    }

    /// A4 in hertz.
    pub fn a4_hz(self) -> f64 {
        self.0
    }

    /// Frequency of `note` raised by `cents`, equal temperament: `f = A4 · 2^((d − 69)/12)` (MIDI Tuning Standard).
    pub fn hz(self, note: Note, cents: f64) -> f64 {
        self.0 * ((f64::from(note.midi()) - 69.0) / 12.0 + cents / 1200.0).exp2()
    }

    /// Fractional MIDI key number of a frequency: `d = 69 + 12·log2(f / A4)`.
    pub fn key_number(self, hz: f64) -> f64 {
        69.0 + 12.0 * (hz / self.0).log2()
    }

    /// The nearest note of equal temperament and the cents by which `hz` lies above it (−50 to +50); `None` if `hz` is
    /// zero, negative or not finite, or if that note lies outside MIDI.
    pub fn nearest(self, hz: f64) -> Option<(Note, f64)> {
        let number = Some(self.key_number(hz)).filter(|number| number.is_finite())?;
        let note = Note::new(number.round() as i32)?;
        Some((note, (number - f64::from(note.midi())) * 100.0))
    }
}

impl Default for ConcertPitch {
    fn default() -> Self {
        Self::ISO
    }
}

impl fmt::Display for ConcertPitchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "A4 = {} Hz is out of range; use 400 to 480", self.0)
    }
}

impl std::error::Error for ConcertPitchError {}

impl TryFrom<f64> for ConcertPitch {
    type Error = ConcertPitchError;

    fn try_from(a4_hz: f64) -> Result<Self, ConcertPitchError> {
        Self::new(a4_hz)
    }
}

impl From<ConcertPitch> for f64 {
    fn from(concert: ConcertPitch) -> Self {
        concert.a4_hz()
    }
}

/// Cents from `from_hz` up to `to_hz`: `1200·log2(to/from)` (Ellis).
pub fn cents_between(from_hz: f64, to_hz: f64) -> f64 {
    1200.0 * (to_hz / from_hz).log2()
}
