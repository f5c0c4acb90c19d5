//! Notes of the twelve-tone system and their names.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// One of the twelve pitch classes, C = 0 … B = 11.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct PitchClass(u8);

/// A note by its MIDI key number: 60 is middle C (C4), 69 is A4.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Note(u8);

/// A text that names no note.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoteError(pub String);

/// The names of the pitch classes where no key decides: as harps are labelled, F♯ but otherwise flats (common
/// practice, no source).
const LABELS: [&str; 12] = ["C", "D♭", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B"];

impl PitchClass {
    /// The pitch class `semitones` above C, wrapped into the octave.
    pub fn new(semitones: i32) -> Self {
        Self(semitones.rem_euclid(12) as u8)
    }

    /// Semitones above C, 0 to 11.
    pub fn semitones(self) -> u8 {
        self.0
    }

    /// All twelve, from C up.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..12).map(Self)
    }

    /// The pitch class `semitones` higher (lower if negative).
    #[must_use]
    pub fn up(self, semitones: i32) -> Self {
        Self::new(i32::from(self.0) + semitones.rem_euclid(12))
    }

    /// Semitones from this pitch class up to `other`, 0 to 11.
    pub fn semitones_to(self, other: Self) -> u8 {
        (other.0 + 12 - self.0) % 12
    }
}

impl fmt::Display for PitchClass {
    /// As harps are labelled: F♯, but otherwise flats.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(LABELS[usize::from(self.0)])
    }
}

impl Note {
    /// Middle C, C4.
    pub const MIDDLE_C: Self = Self(60);

    /// The note with this MIDI key number, 0 to 127.
    pub fn new(midi: i32) -> Option<Self> {
        u8::try_from(midi).ok().filter(|m| *m < 128).map(Self)
    }

    /// Hole 1 blow of the usual harp of a key: the one note of that pitch class from G3 (55) to F♯4 (66).
    pub(crate) fn usual_blow_1(key: PitchClass) -> Self {
        Self(55 + key.up(-7).0)
    }

    /// The MIDI key number.
    pub fn midi(self) -> u8 {
        self.0
    }

    /// The pitch class.
    pub fn pitch_class(self) -> PitchClass {
        PitchClass(self.0 % 12)
    }

    /// The octave number of scientific pitch notation, −1 to 9: middle C begins octave 4.
    pub fn octave(self) -> i32 {
        i32::from(self.0) / 12 - 1
    }

    /// The note `semitones` higher (lower if negative), if MIDI has a number for it.
    pub fn up(self, semitones: i32) -> Option<Self> {
        Self::new(i32::from(self.0).saturating_add(semitones))
    }
}

impl fmt::Display for Note {
    /// The pitch class as harps are labelled, and the octave: `B♭4`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}{}", self.pitch_class(), self.octave()))
    }
}

impl fmt::Display for NoteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} is no note; write a letter A to G, then # or b if needed", self.0)
    }
}

impl std::error::Error for NoteError {}

/// Splits a leading note letter with its accidentals off `text`: semitones above C (−1 for C♭) and the rest.
pub(crate) fn split_letter(text: &str) -> Option<(i32, &str)> {
    let mut chars = text.chars();
    let mut semitones = match chars.next()?.to_ascii_uppercase() {
        'C' => 0,
        'D' => 2,
        'E' => 4,
        'F' => 5,
        'G' => 7,
        'A' => 9,
        'B' => 11,
        _ => return None,
    };
    let mut rest = chars.as_str();
    while let Some(c) = rest.chars().next() {
        semitones += match c {
            '#' | '♯' => 1,
            'b' | '♭' => -1,
            _ => break,
        };
        rest = &rest[c.len_utf8()..];
    }
    Some((semitones, rest))
}

impl FromStr for PitchClass {
    type Err = NoteError;

    fn from_str(text: &str) -> Result<Self, NoteError> {
        match split_letter(text.trim()) {
            Some((semitones, "")) => Ok(Self::new(semitones)),
            _ => Err(NoteError(text.to_owned())),
        }
    }
}

impl FromStr for Note {
    type Err = NoteError;

    /// Reads scientific pitch notation: `C4`, `Bb3`, `F♯5`, `C-1`.
    fn from_str(text: &str) -> Result<Self, NoteError> {
        let fail = || NoteError(text.to_owned());
        let (semitones, octave) = split_letter(text.trim()).ok_or_else(fail)?;
        let octave: i32 = octave.parse().map_err(|_| fail())?;
        Self::new(octave.saturating_add(1).saturating_mul(12).saturating_add(semitones)).ok_or_else(fail)
    }
}

impl TryFrom<String> for PitchClass {
    type Error = NoteError;

    fn try_from(text: String) -> Result<Self, NoteError> {
        text.parse()
    }
}

impl From<PitchClass> for String {
    fn from(class: PitchClass) -> Self {
        class.to_string()
    }
}

impl TryFrom<String> for Note {
    type Error = NoteError;

    fn try_from(text: String) -> Result<Self, NoteError> {
        text.parse()
    }
}

impl From<Note> for String {
    fn from(note: Note) -> Self {
        note.to_string()
    }
}
