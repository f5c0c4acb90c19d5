//! Positions: which note of the harp is home.

use crate::{NoteName, Scale, Scales};
use layout::{Breath, Harp, Note, PitchClass, Technique, Way};
use serde::Serialize;
use std::collections::BTreeSet;
use std::fmt;

/// A position, 1 to 12: the tonic of position n lies n − 1 fifths above the tonic of the first position.
///
/// ```
/// use layout::Harp;
/// use theory::Position;
///
/// let harp = Harp::richter("C".parse().unwrap());
/// let second = Position::new(2).unwrap();
/// assert_eq!(second.tonic(&harp).to_string(), "G");
/// assert_eq!(second.to_string(), "2nd position");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Position(u8);

/// A number or a text that names no position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PositionError(pub String);

impl Position {
    /// The first position, whose tonic is the harp's own.
    pub const FIRST: Self = Self(1);

    /// The position with this number, 1 to 12.
    pub fn new(number: u8) -> Option<Self> {
        (1..=12).contains(&number).then_some(Self(number))
    }

    /// All twelve, the first one first.
    pub fn all() -> impl Iterator<Item = Self> {
        (1..=12).map(Self)
    }

    /// The position in which a harp plays on `tonic`.
    pub fn of(harp: &Harp, tonic: PitchClass) -> Self {
        // Seven is its own inverse modulo twelve: seven fifths make a half step.
        Self(harp.home().semitones_to(tonic) * 7 % 12 + 1)
    }

    /// Its number.
    pub fn number(self) -> u8 {
        self.0
    }

    /// Its tonic on a harp.
    pub fn tonic(self, harp: &Harp) -> PitchClass {
        harp.home().up(7 * (i32::from(self.0) - 1))
    }

    /// Its tonic on a harp as it is written. A black key that is a note of the major scale of the harp's own key takes
    /// the letter of that scale: the second position of a D♭ harp is A♭. Every other tonic has its usual name
    /// ([`NoteName::usual`]).
    pub fn tonic_name(self, harp: &Harp) -> NoteName {
        let tonic = self.tonic(harp);
        let own = NoteName::on(harp, tonic);
        let usual = NoteName::usual(tonic);
        // The positions of the major scale's notes: five fifths up from the first one, and the one a fifth below it.
        let in_major = matches!(self.0, 1..=6 | 12);
        if in_major && usual.alteration() != 0 { own } else { usual }
    }

    /// The customary name of the first three (folk forum, 2006); the others have none that everybody uses.
    pub fn customary_name(self) -> Option<&'static str> {
        ["straight", "cross", "slant"].get(usize::from(self.0) - 1).copied()
    }

    /// Every way to play the tonic, from the lowest up, at each pitch the simplest technique first.
    pub fn tonic_ways(self, harp: &Harp) -> Vec<(Note, Way)> {
        let tonic = self.tonic(harp);
        let mut ways: Vec<(Note, Way)> = harp
            .ways()
            .filter_map(|way| harp.note(way).map(|note| (note, way)))
            .filter(|(note, _)| note.pitch_class() == tonic)
            .collect();
        ways.sort_by_key(|(note, way)| (*note, way.technique));
        ways
    }

    /// The reeds that sound the tonic, from the lowest up.
    pub fn tonic_reeds(self, harp: &Harp) -> Vec<(Note, Way)> {
        let is_reed = |way: &Way| way.technique == Technique::Natural;
        self.tonic_ways(harp).into_iter().filter(|(_, way)| is_reed(way)).collect()
    }

    /// The scale among `scales` that the plain notes of the harp form from this position's tonic; `None` if the tonic
    /// is not a plain note or no scale has just these notes.
    pub fn mode<'a>(self, harp: &Harp, scales: &'a Scales) -> Option<&'a Scale> {
        let tonic = self.tonic(harp);
        let plain: BTreeSet<u8> =
            plain_notes(harp).map(|note| tonic.semitones_to(note.pitch_class())).collect();
        scales.iter().find(|scale| {
            let steps: BTreeSet<u8> = scale.degrees().iter().map(|step| step.semitones()).collect();
            plain.contains(&0) && steps == plain
        })
    }

    /// The tonics from which a scale climbs a whole octave on plain notes, from the lowest up.
    pub fn plain_octaves(self, harp: &Harp, scale: &Scale) -> Vec<Note> {
        let plain: BTreeSet<Note> = plain_notes(harp).collect();
        let climbs = |from: &Note| {
            let steps = scale.degrees().iter().map(|step| i32::from(step.semitones()));
            steps.chain([12]).all(|up| from.up(up).is_some_and(|note| plain.contains(&note)))
        };
        let tonic = self.tonic(harp);
        plain.iter().copied().filter(|note| note.pitch_class() == tonic).filter(climbs).collect()
    }
}

/// The notes of the reeds.
fn plain_notes(harp: &Harp) -> impl Iterator<Item = Note> + '_ {
    let breaths = [Breath::Blow, Breath::Draw];
    (1..=harp.holes())
        .flat_map(move |hole| breaths.into_iter().filter_map(move |breath| harp.reed(hole, breath)))
}

/// A number with its ending: 1st, 2nd, 3rd, 4th.
fn ordinal(number: u8) -> String {
    let ending = match (number % 10, number % 100) {
        (1, n) if n != 11 => "st",
        (2, n) if n != 12 => "nd",
        (3, n) if n != 13 => "rd",
        _ => "th",
    };
    format!("{number}{ending}")
}

impl Default for Position {
    /// The second, in which most blues is played (common practice, no source).
    fn default() -> Self {
        Self(2)
    }
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} position", ordinal(self.0)))
    }
}

impl std::str::FromStr for Position {
    type Err = PositionError;

    /// Reads `2`, `2nd`, `2nd position`, and the customary names: `cross`.
    fn from_str(text: &str) -> Result<Self, PositionError> {
        let wanted = text.trim().to_lowercase();
        let is_called = |position: &Self| {
            wanted == position.0.to_string()
                || wanted == ordinal(position.0)
                || wanted == position.to_string()
                || position.customary_name() == Some(&wanted)
        };
        Self::all().find(is_called).ok_or_else(|| PositionError(text.to_owned()))
    }
}

impl fmt::Display for PositionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{:?} is no position; there are 1 to 12, and straight, cross and slant for 1, 2 and 3",
            self.0
        )
    }
}

impl std::error::Error for PositionError {}
