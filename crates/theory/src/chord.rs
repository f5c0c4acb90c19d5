//! Which chord some notes are: every name that fits, and what it does in a key.

use crate::{ChordKind, Degree, Function, NoteName, ScaleInKey};
use layout::{Note, PitchClass};

/// One name of a chord: B half-diminished seventh and D minor sixth are two names of the same notes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Chord {
    /// The note it is built on.
    pub root: PitchClass,
    /// Which notes stand above the root.
    pub kind: &'static ChordKind,
    /// The lowest note that sounds; not the root in an inversion.
    pub bass: PitchClass,
}

impl Chord {
    /// Every name for these notes, those in root position first; none if they are no chord that has a name here.
    pub fn names(notes: &[Note]) -> Vec<Self> {
        let Some(bass) = notes.iter().min().map(|note| note.pitch_class()) else { return Vec::new() };
        let bits = notes.iter().fold(0_u16, |bits, note| bits | 1 << note.pitch_class().semitones());
        // Roots are tried from the bass upwards, so names in root position come first.
        (0..12)
            .map(|up| bass.up(up))
            .filter(|root| bits & 1 << root.semitones() != 0)
            .flat_map(|root| {
                let above_root = rotate_down(bits, root);
                ChordKind::ALL
                    .iter()
                    .filter(move |kind| kind.bits() == above_root)
                    .map(move |kind| (root, kind))
            })
            .filter(|(root, kind)| *root == bass || !kind.is_even())
            .map(|(root, kind)| Self { root, kind, bass })
            .collect()
    }

    /// The number of the inversion: 0 with the root in the bass, 1 with the next note of the chord, and so on.
    pub fn inversion(&self) -> usize {
        let above = self.root.semitones_to(self.bass);
        self.kind.degrees().position(|degree| degree.in_octave() == above).unwrap_or(0)
    }

    /// The symbol spelled for a key: `Bø7`, `Dm6/B`.
    pub fn symbol(&self, key: &ScaleInKey) -> String {
        let over = if self.root == self.bass {
            String::new()
        } else {
            let spelled = self.notes(key).find(|name| name.pitch_class() == self.bass);
            format!("/{}", spelled.unwrap_or_else(|| key.name_of(self.bass)))
        };
        format!("{}{}{over}", key.name_of(self.root), self.kind.symbol())
    }

    /// Its notes from the root upwards, each on the letter that its degree demands.
    pub fn notes(&self, key: &ScaleInKey) -> impl Iterator<Item = NoteName> + use<> {
        let root = key.name_of(self.root);
        self.kind.degrees().map(move |degree| root.at(degree))
    }

    /// What it does in a key.
    pub fn function(&self, key: &ScaleInKey) -> Function {
        Function { degree: root_degree(self, key), kind: self.kind }
    }
}

/// The degree of the root: as the scale has it, or else the usual one, but ♯4 rather than ♭5 under a diminished chord,
/// which leads up to the fifth.
fn root_degree(chord: &Chord, key: &ScaleInKey) -> Degree {
    let usual = key.degree_of(chord.root);
    let in_scale = key.scale().degree_of(key.tonic().pitch_class(), chord.root).is_some();
    match Degree::new(4, 1) {
        Some(sharp_4) if !in_scale && chord.kind.is_diminished() && usual.in_octave() == 6 => sharp_4,
        _ => usual,
    }
}

/// A set of pitch classes as semitones above `root`.
fn rotate_down(bits: u16, root: PitchClass) -> u16 {
    let down = u32::from(root.semitones());
    (bits >> down | bits << (12 - down)) & 0xFFF
}
