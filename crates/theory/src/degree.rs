//! Scale degrees: how far a note stands above the tonic, and by which letter it is written.

use serde::{Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// Semitones of the degrees 1 to 7 of the major scale above its tonic.
const MAJOR: [i8; 7] = [0, 2, 4, 5, 7, 9, 11];

/// A degree against the major scale of the same tonic: `1`, `♭3`, `♯4`; up to 13 for the notes of a chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Degree {
    number: u8,
    alteration: i8,
}

/// A text that names no degree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DegreeError(pub String);

impl Degree {
    /// The tonic itself.
    pub const TONIC: Self = Self { number: 1, alteration: 0 };

    /// The degree `number` (1 to 13) altered by `alteration` semitones (−2 to 2).
    pub fn new(number: u8, alteration: i8) -> Option<Self> {
        ((1..=13).contains(&number) && (-2..=2).contains(&alteration)).then_some(Self { number, alteration })
    }

    /// The usual degree of a note so many semitones above the tonic where no scale decides: 1 ♭2 2 ♭3 3 4 ♭5 5 ♭6 6
    /// ♭7 7 (common practice, no source).
    pub fn usual(semitones: i32) -> Self {
        const USUAL: [(u8, i8); 12] = [
            (1, 0),
            (2, -1),
            (2, 0),
            (3, -1),
            (3, 0),
            (4, 0),
            (5, -1),
            (5, 0),
            (6, -1),
            (6, 0),
            (7, -1),
            (7, 0),
        ];
        let (number, alteration) = USUAL[semitones.rem_euclid(12) as usize];
        Self { number, alteration }
    }

    /// The number, 1 to 13; it decides the letter of the note.
    pub fn number(self) -> u8 {
        self.number
    }

    /// Semitones away from the degree of the major scale: −1 for `♭3`.
    pub fn alteration(self) -> i8 {
        self.alteration
    }

    /// The signs before the number: `♭`, `♯♯`, or nothing.
    pub fn accidentals(self) -> String {
        accidental_signs(self.alteration)
    }

    /// Semitones above the tonic; −1 for `♭1`, 14 for `9`.
    pub fn semitones(self) -> i8 {
        semitones(self.number, self.alteration)
    }

    /// Semitones above the tonic, wrapped into the octave, 0 to 11.
    pub fn in_octave(self) -> u8 {
        self.semitones().rem_euclid(12) as u8
    }
}

/// Semitones above the tonic of the degree `number` (1 to 13) altered by `alteration`.
pub(crate) const fn semitones(number: u8, alteration: i8) -> i8 {
    let step = number - 1;
    let octave = if step >= 7 { 12 } else { 0 };
    MAJOR[(step % 7) as usize] + octave + alteration
}

/// Splits leading accidentals off a text: their sum in semitones, and the rest.
pub(crate) fn split_accidentals(text: &str) -> (i8, &str) {
    let mut alteration: i8 = 0;
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        alteration = alteration.saturating_add(match c {
            '#' | '♯' => 1,
            'b' | '♭' => -1,
            _ => break,
        });
        rest = &rest[c.len_utf8()..];
    }
    (alteration, rest)
}

/// The signs for an alteration in semitones: `♭♭`, `♭`, nothing, `♯`, `♯♯`.
///
/// The one-character signs for double accidentals are missing from most terminal fonts, so the simple one is doubled.
pub(crate) fn accidental_signs(alteration: i8) -> String {
    let sign = if alteration < 0 { "♭" } else { "♯" };
    sign.repeat(usize::from(alteration.unsigned_abs()))
}

impl FromStr for Degree {
    type Err = DegreeError;

    /// Reads `1`, `b3`, `♭3`, `#4`, `bb7`, `9`.
    fn from_str(text: &str) -> Result<Self, DegreeError> {
        let fail = || DegreeError(text.to_owned());
        let (alteration, number) = split_accidentals(text.trim());
        if !number.bytes().all(|b| b.is_ascii_digit()) {
            return Err(fail());
        }
        Self::new(number.parse().map_err(|_| fail())?, alteration).ok_or_else(fail)
    }
}

impl fmt::Display for Degree {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}{}", accidental_signs(self.alteration), self.number))
    }
}

impl Serialize for Degree {
    /// As it is printed: `♭3`.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl fmt::Display for DegreeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} is no degree; write a number, after b or # if needed, like 1, b3, #4", self.0)
    }
}

impl std::error::Error for DegreeError {}
