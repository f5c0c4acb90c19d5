//! A scale on its tonic: which notes it has, what they are called, which degree each is.

use crate::{Degree, NoteName, Scale, ScaleDegree};
use layout::{Note, PitchClass};
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
    /// The degree, with a second name if texts differ.
    pub step: ScaleDegree,
    /// The written name.
    pub name: NoteName,
}

impl ScaleInKey {
    /// A scale on a tonic that is written with the fewest accidentals.
    pub fn new(scale: Scale, tonic: PitchClass) -> Self {
        Self { tonic: scale.tonic_name(tonic), scale }
    }

    /// A scale on a tonic written as the player wrote it, unless that would need double accidentals
    /// ([`Scale::kept_tonic`]).
    pub fn written(scale: Scale, tonic: NoteName) -> Self {
        Self { tonic: scale.kept_tonic(tonic), scale }
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

    /// How any pitch class is written in this key: as the scale has it, or else by the usual degree above the
    /// tonic, with a plain name where that degree would take a double accidental.
    pub fn name_of(&self, class: PitchClass) -> NoteName {
        if let Some(own) = self.notes().find(|own| own.name.pitch_class() == class) {
            return own.name;
        }
        let name = self.tonic.at(self.degree_of(class));
        if name.alteration().abs() > 1 { NoteName::usual(class) } else { name }
    }

    /// The degree of any pitch class in this key: as the scale has it, or else the usual one
    /// ([`Degree::usual`]).
    pub fn degree_of(&self, class: PitchClass) -> Degree {
        let tonic = self.tonic.pitch_class();
        match self.scale.degree_of(tonic, class) {
            Some(step) => step.degree,
            None => Degree::usual(i32::from(tonic.semitones_to(class))),
        }
    }

    fn named<'a>(&self, steps: &'a [ScaleDegree]) -> impl Iterator<Item = ScaleNote> + use<'a> {
        let tonic = self.tonic;
        steps.iter().map(move |step| ScaleNote { step: *step, name: tonic.at(step.degree) })
    }
}
