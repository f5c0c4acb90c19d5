//! Note names as they are written: a letter and its accidentals.

use crate::Degree;
use crate::degree::{accidental_signs, split_accidentals};
use layout::{Harp, Note, NoteError, PitchClass};
use serde::{Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

const LETTERS: [char; 7] = ['C', 'D', 'E', 'F', 'G', 'A', 'B'];
/// Semitones of the letters above C.
const NATURALS: [i8; 7] = [0, 2, 4, 5, 7, 9, 11];

/// A written note name such as `G♭`: unlike a [`PitchClass`], it tells `G♭` from `F♯`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NoteName {
    /// Steps above C, 0 to 6.
    letter: u8,
    /// Semitones by which the accidentals move the letter.
    alteration: i8,
}

impl NoteName {
    /// The usual name of a pitch class where no scale decides: as harps are labelled, F♯ but otherwise flats
    /// (common practice, no source).
    pub fn usual(class: PitchClass) -> Self {
        match class.semitones() {
            6 => Self { letter: 3, alteration: 1 },
            semitones => {
                // The letter at or above the note: a black key is the flat of its upper neighbour.
                let letter = NATURALS.partition_point(|n| *n < semitones.cast_signed()) as u8;
                Self::with_letter(letter, class)
            }
        }
    }

    /// The name of `class` on a given letter (0 = C … 6 = B), whatever accidentals it takes (at most six).
    fn with_letter(letter: u8, class: PitchClass) -> Self {
        let natural = NATURALS[usize::from(letter % 7)];
        let up = (class.semitones().cast_signed() - natural).rem_euclid(12);
        Self { letter: letter % 7, alteration: if up > 6 { up - 12 } else { up } }
    }

    /// Every name of a pitch class with at most one accidental, flats first.
    pub(crate) fn plain_names(class: PitchClass) -> impl Iterator<Item = Self> {
        let mut names: Vec<Self> = (0..7).map(|letter| Self::with_letter(letter, class)).collect();
        names.sort_by_key(|name| name.alteration);
        names.into_iter().filter(|name| name.alteration.abs() <= 1)
    }

    /// The name of a pitch class on a harp, in the letters of the harp's own key: F♯, not G♭, is 1 blow of an F♯ harp,
    /// and A♭, not G♯, is 2 draw of a D♭ harp.
    pub fn on(harp: &Harp, class: PitchClass) -> Self {
        Self::usual(harp.home()).around(class)
    }

    /// The name of a pitch class around this tonic: on the letters of its major scale, and between those by the usual
    /// degree ([`Degree::usual`]). Between them a white key keeps its own letter: around D♭, E is E and not F♭.
    #[must_use]
    pub fn around(self, class: PitchClass) -> Self {
        let degree = Degree::usual(i32::from(self.pitch_class().semitones_to(class)));
        let name = self.at(degree).plain();
        let is_white = NATURALS.contains(&class.semitones().cast_signed());
        if degree.alteration() != 0 && is_white { Self::usual(class) } else { name }
    }

    /// The same note with one sign at most: the natural where the double sign leads to a white key, or else the sign on
    /// the next letter (A for B♭♭, B♭ for C♭♭).
    #[must_use]
    pub fn plain(self) -> Self {
        if self.alteration.abs() <= 1 {
            return self;
        }
        let side = self.alteration.signum();
        let names = Self::plain_names(self.pitch_class());
        names.min_by_key(|name| (name.alteration.abs(), name.alteration != side)).unwrap_or(self)
    }

    /// The pitch class it sounds.
    pub fn pitch_class(self) -> PitchClass {
        PitchClass::new(i32::from(NATURALS[usize::from(self.letter)] + self.alteration))
    }

    /// The letter, `A` to `G`.
    pub fn letter(self) -> char {
        LETTERS[usize::from(self.letter)]
    }

    /// Semitones by which the accidentals move the letter: −1 for `G♭`.
    pub fn alteration(self) -> i8 {
        self.alteration
    }

    /// The note at a degree above this tonic, on the letter that the degree's number demands: the ♭3 of G♭ is B♭♭.
    #[must_use]
    pub fn at(self, degree: Degree) -> Self {
        let class = self.pitch_class().up(i32::from(degree.semitones()));
        Self::with_letter((self.letter + degree.number() - 1) % 7, class)
    }

    /// The name with the octave of a sounding note, counted by the letter as scientific pitch notation does: the
    /// note below C5 written as C♭ is `C♭5`.
    pub fn with_octave(self, note: Note) -> String {
        let octave = (i32::from(note.midi()) - i32::from(self.alteration)).div_euclid(12) - 1;
        format!("{self}{octave}")
    }
}

impl fmt::Display for NoteName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}{}", self.letter(), accidental_signs(self.alteration)))
    }
}

impl Serialize for NoteName {
    /// As it is printed: `B♭`.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl FromStr for NoteName {
    type Err = NoteError;

    /// Reads a letter in either case with up to two accidentals: `C`, `gb`, `F♯`, `Bbb`.
    fn from_str(text: &str) -> Result<Self, NoteError> {
        let fail = || NoteError(text.to_owned());
        let mut chars = text.trim().chars();
        let letter = chars.next().map(|c| c.to_ascii_uppercase());
        let letter = LETTERS.iter().position(|l| Some(*l) == letter).ok_or_else(fail)?;
        match split_accidentals(chars.as_str()) {
            (alteration @ -2..=2, "") => Ok(Self { letter: letter as u8, alteration }),
            _ => Err(fail()),
        }
    }
}
