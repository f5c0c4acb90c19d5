//! What a chord does in a key: roman numerals.

use crate::degree::split_accidentals;
use crate::{Chord, ChordKind, Degree, NoteName, ScaleInKey};
use layout::PitchClass;
use std::fmt;
use std::str::FromStr;

const NUMERALS: [&str; 7] = ["I", "II", "III", "IV", "V", "VI", "VII"];

/// What a chord does in a key, as a roman numeral against the major scale of the tonic: `V7`, `♭VII`, `iiø7`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Function {
    /// The degree of the root above the tonic.
    pub degree: Degree,
    /// The kind of chord on it.
    pub kind: &'static ChordKind,
}

/// A text that is no roman numeral with a chord kind known here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FunctionError(pub String);

impl Function {
    /// The root in a key, on the letter that the degree demands.
    pub fn root(&self, key: &ScaleInKey) -> NoteName {
        key.tonic().at(self.degree)
    }

    /// The pitch classes of the chord in a key, the root first.
    pub fn pitch_classes(&self, key: &ScaleInKey) -> impl Iterator<Item = PitchClass> + use<> {
        let root = self.root(key);
        self.kind.degrees().map(move |degree| root.at(degree).pitch_class())
    }

    /// The chord in a key, in root position.
    pub fn chord(&self, key: &ScaleInKey) -> Chord {
        let root = self.root(key).pitch_class();
        Chord { root, kind: self.kind, bass: root }
    }
}

impl fmt::Display for Function {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let numeral = NUMERALS[usize::from((self.degree.number() - 1) % 7)];
        let numeral = if self.kind.is_minor() { numeral.to_lowercase() } else { numeral.to_owned() };
        f.pad(&format!("{}{numeral}{}", self.degree.accidentals(), self.kind.suffix()))
    }
}

impl FromStr for Function {
    type Err = FunctionError;

    /// Reads what [`Function`] prints, and what a plain keyboard offers for it: `bVII`, `viio`, `iim7b5`, `I6`.
    fn from_str(text: &str) -> Result<Self, FunctionError> {
        let fail = || FunctionError(text.to_owned());
        let (alteration, rest) = split_accidentals(text.trim());
        let end = rest.find(|c: char| !"IViv".contains(c)).unwrap_or(rest.len());
        let (numeral, suffix) = rest.split_at(end);
        let number = NUMERALS.iter().position(|n| *n == numeral.to_uppercase()).ok_or_else(fail)?;
        let small = numeral == numeral.to_lowercase();
        if !small && numeral != numeral.to_uppercase() {
            return Err(fail());
        }
        let degree = Degree::new(number as u8 + 1, alteration).ok_or_else(fail)?;
        let suffix = plain_suffix(suffix);
        let kind = ChordKind::ALL.iter().find(|kind| kind.is_minor() == small && kind.suffix() == suffix);
        Ok(Self { degree, kind: kind.ok_or_else(fail)? })
    }
}

/// The suffix as this crate prints it, for the ways a plain keyboard writes it.
fn plain_suffix(typed: &str) -> &str {
    match typed {
        "o" | "dim" => "°",
        "o7" | "dim7" => "°7",
        "m7b5" | "m7♭5" => "ø7",
        "7b5" => "7♭5",
        "7b9" => "7♭9",
        "6" => "add6",
        "6/9" => "add6/9",
        "aug" => "+",
        other => other,
    }
}

impl fmt::Display for FunctionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{:?} is no chord in a key; write a roman numeral, large for major and small for minor, with b or # \
             before it and the kind after it, like I7, IV, bVII, ii7, viio, iim7b5, Vsus4",
            self.0
        )
    }
}

impl std::error::Error for FunctionError {}
