//! The key stamped on a harp, with its octave.

use crate::note::split_letter;
use crate::{Note, PitchClass, nearest_name};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A harp's key: which note hole 1 blow sounds. `C` is C4; `low F` is F3; `high G` is G4.
///
/// G to B start below middle C, D♭ to F♯ above it; "low" takes an octave off the upper keys, "high" adds one to the
/// lower ones (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct HarpKey(Note);

/// Hole 1 blow of every key, as MIDI key numbers: low low F to high G.
const KEYS: std::ops::RangeInclusive<u8> = 41..=67;

/// A text that names no harp key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyError(pub String);

impl HarpKey {
    /// The key of a harp whose hole 1 blow is `blow_1`.
    pub fn from_blow_1(blow_1: Note) -> Self {
        Self(blow_1)
    }

    /// Every key from low low F (F2) to high G (G4), from the lowest up.
    pub fn all() -> impl Iterator<Item = Self> {
        KEYS.map(i32::from).filter_map(Note::new).map(Self)
    }

    /// The usual harp of a key, neither low nor high: hole 1 blow from G3 to F♯4.
    pub fn usual(class: PitchClass) -> Self {
        Self(Note::usual_blow_1(class))
    }

    /// The twelve usual keys, from G up to F♯.
    pub fn usual_keys() -> impl Iterator<Item = Self> {
        (7..19).map(|semitones| Self::usual(PitchClass::new(semitones)))
    }

    /// What hole 1 blow sounds.
    pub fn blow_1(self) -> Note {
        self.0
    }

    /// The pitch class the harp is named after.
    pub fn pitch_class(self) -> PitchClass {
        self.0.pitch_class()
    }

    /// How many octaves the harp lies above the usual one of its key (−1 for "low").
    fn octaves_from_usual(self) -> i32 {
        let usual = Note::usual_blow_1(self.pitch_class());
        (i32::from(self.0.midi()) - i32::from(usual.midi())).div_euclid(12)
    }
}

impl Default for HarpKey {
    /// The harp most players own: C, with hole 1 blow at middle C (common practice, no source).
    fn default() -> Self {
        Self(Note::MIDDLE_C)
    }
}

impl fmt::Display for HarpKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let octaves = self.octaves_from_usual();
        let word = if octaves < 0 { "low " } else { "high " }.repeat(octaves.unsigned_abs() as usize);
        f.pad(&format!("{word}{}", self.pitch_class()))
    }
}

impl FromStr for HarpKey {
    type Err = KeyError;

    /// Reads `C`, `Bb`, `F♯`, `low F`, `low low F`, `high G`, in any case.
    fn from_str(text: &str) -> Result<Self, KeyError> {
        let fail = || KeyError(text.to_owned());
        let mut octaves = 0;
        let mut rest = text.trim();
        while let Some((word, tail)) = rest.split_once(|c: char| c.is_whitespace() || c == '-') {
            octaves += match word.to_ascii_lowercase().as_str() {
                "low" => -1,
                "high" => 1,
                _ => return Err(fail()),
            };
            rest = tail.trim_start();
        }
        let (semitones, "") = split_letter(rest).ok_or_else(fail)? else { return Err(fail()) };
        let usual = Note::usual_blow_1(PitchClass::new(semitones));
        let key = usual.up(12_i32.saturating_mul(octaves)).ok_or_else(fail)?;
        if KEYS.contains(&key.midi()) { Ok(Self(key)) } else { Err(fail()) }
    }
}

impl fmt::Display for KeyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let known: Vec<String> = HarpKey::all().map(|key| key.to_string()).collect();
        let nearest = nearest_name(&self.0, known.iter().map(String::as_str));
        write!(f, "{:?} is no harp key; ", self.0)?;
        if let Some(nearest) = nearest {
            write!(f, "did you mean {nearest:?}? ")?;
        }
        f.write_str("Write one like C, Bb, F#, \"low F\", from \"low low F\" to \"high G\"")
    }
}

impl std::error::Error for KeyError {}

impl TryFrom<String> for HarpKey {
    type Error = KeyError;

    fn try_from(text: String) -> Result<Self, KeyError> {
        text.parse()
    }
}

impl From<HarpKey> for String {
    fn from(key: HarpKey) -> Self {
        key.to_string()
    }
}
