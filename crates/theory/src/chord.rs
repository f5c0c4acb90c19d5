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
    /// Every name for these notes, those in root position first; empty if [`ChordKind::ALL`] has no such chord.
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
        format!("{}{}{over}", self.root_name(key), self.kind.symbol())
    }

    /// Its notes from the root upwards, each on the letter that its degree demands, or plainly where that would take a
    /// double sign.
    pub fn notes(&self, key: &ScaleInKey) -> impl Iterator<Item = NoteName> + use<> {
        let root = self.root_name(key);
        self.kind.degrees().map(move |degree| root.at(degree).plain())
    }

    /// What it does in a key.
    pub fn function(&self, key: &ScaleInKey) -> Function {
        Function { degree: self.root_degree(key), kind: self.kind }
    }

    /// The root on the letter of its degree in the key, unless the chord takes fewer double signs from the root's other
    /// name: the minor chord on the ♭6 of A♭ is E minor, not F♭ minor with an A♭♭.
    fn root_name(&self, key: &ScaleInKey) -> NoteName {
        let own = key.tonic().at(self.root_degree(key));
        let names = std::iter::once(own).chain(NoteName::plain_names(self.root));
        names.min_by_key(|name| self.doubles(*name)).unwrap_or(own)
    }

    /// The degree of the root. A root in the scale goes by the one or two names that the scale has for it, any other by
    /// the usual name or as the raised degree below. Of two names it is the one from which the chord takes fewer double
    /// signs: ♯4 under a diminished chord, ♭3 under a major one. These are counted with C as tonic, so that the name is
    /// the same in every key.
    fn root_degree(&self, key: &ScaleInKey) -> Degree {
        let above = key.tonic().pitch_class().semitones_to(self.root);
        let step = key.scale().degrees().iter().find(|step| step.semitones() == above);
        let (first, second) = match step {
            Some(step) => (step.degree, step.also),
            None => (Degree::usual(above.into()), raised(above)),
        };
        let doubles = |degree: &Degree| self.doubles(NoteName::usual(PitchClass::new(0)).at(*degree));
        std::iter::once(first).chain(second).min_by_key(doubles).unwrap_or(first)
    }

    /// How many notes of the chord take a double sign if its root is written as `root`.
    fn doubles(&self, root: NoteName) -> usize {
        self.kind.degrees().filter(|degree| root.at(*degree).alteration().abs() > 1).count()
    }
}

/// The raised degree `above` semitones above the tonic, where there is one: ♯1, ♯2, ♯4, ♯5, ♯6.
fn raised(above: u8) -> Option<Degree> {
    let usual = Degree::usual(above.into());
    let below = Degree::usual(i32::from(above) - 1);
    Degree::new(below.number(), 1).filter(|_| usual.alteration() != 0)
}

/// A set of pitch classes as semitones above `root`.
fn rotate_down(bits: u16, root: PitchClass) -> u16 {
    let down = u32::from(root.semitones());
    (bits >> down | bits << (12 - down)) & 0xFFF
}
