//! A scale on its tonic: which notes it has, what they are called, which degree each is.

use crate::{Degree, NoteName, Position, Scale, ScaleDegree};
use layout::{Harp, Note, PitchClass};
use serde::Serialize;

/// A scale with its tonic.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ScaleInKey {
    scale: Scale,
    tonic: NoteName,
}

/// A note of a scale: its degree and how it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub struct ScaleNote {
    /// The degree, with a second name if texts differ; the first is the one by which the note is written.
    pub step: ScaleDegree,
    /// The written name.
    pub name: NoteName,
}

/// In which direction of a scale a note is played. In nearly every scale it is both for every note.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Direction {
    /// Upwards and downwards.
    #[default]
    Both,
    /// Upwards only, as the 6 and 7 of the melodic minor.
    Up,
    /// Downwards only, as the ♭6 and ♭7 of the melodic minor.
    Down,
}

impl ScaleInKey {
    /// A scale on a tonic, which stays as it is written.
    pub fn new(scale: Scale, tonic: NoteName) -> Self {
        Self { scale, tonic }
    }

    /// A scale in a position of a harp, its tonic written as the harp's key demands ([`Position::tonic_name`]).
    pub fn in_position(scale: Scale, harp: &Harp, position: Position) -> Self {
        Self::new(scale, position.tonic_name(harp))
    }

    /// The scale.
    pub fn scale(&self) -> &Scale {
        &self.scale
    }

    /// The tonic as it is written.
    pub fn tonic(&self) -> NoteName {
        self.tonic
    }

    /// "G blues", "F♯ natural minor".
    pub fn title(&self) -> String {
        format!("{} {}", self.tonic, self.scale.name())
    }

    /// The title without a key, by the position that the tonic makes on `harp`: "blues in 2nd position".
    pub fn title_in_any_key(&self, harp: &Harp) -> String {
        format!("{} in {}", self.scale.name(), Position::of(harp, self.tonic.pitch_class()))
    }

    /// Its notes from the tonic upwards, without the octave.
    pub fn notes(&self) -> impl Iterator<Item = ScaleNote> + '_ {
        self.named(self.scale.degrees())
    }

    /// Its notes on the way down, written upwards.
    pub fn falling_notes(&self) -> impl Iterator<Item = ScaleNote> + '_ {
        self.named(self.scale.falling_degrees())
    }

    /// The note of the rising scale that sounds like `note`, if there is one.
    pub fn find(&self, note: Note) -> Option<ScaleNote> {
        self.notes().find(|own| own.name.pitch_class() == note.pitch_class())
    }

    /// The note of the falling scale that sounds like `note`, if there is one.
    pub fn find_falling(&self, note: Note) -> Option<ScaleNote> {
        self.falling_notes().find(|own| own.name.pitch_class() == note.pitch_class())
    }

    /// The note of the scale that sounds like `note`, and the direction in which it is played: as the rising scale has
    /// it, or else as the falling one does.
    pub fn find_either(&self, note: Note) -> Option<(ScaleNote, Direction)> {
        match (self.find(note), self.find_falling(note)) {
            (Some(own), Some(_)) => Some((own, Direction::Both)),
            (Some(own), None) => Some((own, Direction::Up)),
            (None, Some(own)) => Some((own, Direction::Down)),
            (None, None) => None,
        }
    }

    /// How any pitch class is written in this key: as the scale has it, or else as it is written around the tonic
    /// ([`NoteName::around`]).
    pub fn name_of(&self, class: PitchClass) -> NoteName {
        let own = self.notes().chain(self.falling_notes()).find(|own| own.name.pitch_class() == class);
        own.map_or_else(|| self.tonic.around(class), |own| own.name)
    }

    /// How a note is written in this key, with its octave: [`ScaleInKey::name_of`], [`NoteName::with_octave`].
    pub fn written(&self, note: Note) -> String {
        self.name_of(note.pitch_class()).with_octave(note)
    }

    /// The degree of any pitch class in this key: as the scale has it, or else the usual one ([`Degree::usual`]).
    pub fn degree_of(&self, class: PitchClass) -> Degree {
        let own = self.notes().chain(self.falling_notes()).find(|own| own.name.pitch_class() == class);
        let above = i32::from(self.tonic.pitch_class().semitones_to(class));
        own.map_or_else(|| Degree::usual(above), |own| own.step.degree)
    }

    fn named<'a>(&self, steps: &'a [ScaleDegree]) -> impl Iterator<Item = ScaleNote> + use<'a> {
        let tonic = self.tonic;
        steps.iter().map(move |step| ScaleNote::on(tonic, *step))
    }
}

impl ScaleNote {
    /// A step of a scale on a tonic. Its second name goes first where only the second takes no double sign: the ♭5 of G
    /// is D♭, but above A♭ the note is the ♯4, D. Where every name takes a double sign, the note is written plainly.
    fn on(tonic: NoteName, step: ScaleDegree) -> Self {
        let is_plain = |degree: &Degree| tonic.at(*degree).alteration().abs() <= 1;
        match step.also.filter(is_plain) {
            Some(also) if !is_plain(&step.degree) => {
                let step = ScaleDegree { degree: also, also: Some(step.degree) };
                Self { step, name: tonic.at(also) }
            }
            _ => Self { step, name: tonic.at(step.degree).plain() },
        }
    }
}
