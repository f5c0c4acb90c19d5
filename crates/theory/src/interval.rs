//! Two notes together: intervals by their names.

use layout::Note;
use std::fmt;

/// The distance between two notes that sound together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Interval(u8);

impl Interval {
    /// The interval between two notes, whichever is higher.
    pub fn between(a: Note, b: Note) -> Self {
        Self(a.midi().abs_diff(b.midi()))
    }

    /// Its size in semitones.
    pub fn semitones(self) -> u8 {
        self.0
    }

    /// Whether both notes share their name: unison, octave, two octaves.
    pub fn is_octave(self) -> bool {
        self.0.is_multiple_of(12)
    }
}

impl fmt::Display for Interval {
    /// The name by size alone ("minor third", "octave", "tenth" as "octave and major third").
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const NAMES: [&str; 12] = [
            "unison",
            "minor second",
            "major second",
            "minor third",
            "major third",
            "fourth",
            "tritone",
            "fifth",
            "minor sixth",
            "major sixth",
            "minor seventh",
            "major seventh",
        ];
        let rest = NAMES[usize::from(self.0 % 12)];
        f.pad(&match (self.0 / 12, self.0 % 12) {
            (0, _) => rest.to_owned(),
            (1, 0) => "octave".to_owned(),
            (1, _) => format!("octave and {rest}"),
            (octaves, 0) => format!("{octaves} octaves"),
            (octaves, _) => format!("{octaves} octaves and {rest}"),
        })
    }
}
