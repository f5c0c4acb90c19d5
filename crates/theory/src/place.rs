//! Where a chord of a progression lies on a harp: whole, or its best part.

use crate::{Degree, Direction, Function, Grip, HarpChord, MapNote, ScaleDegree, ScaleInKey, ScaleNote};
use layout::Harp;
use std::cmp::Reverse;

/// Some holes that sound nothing but notes of a chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The holes.
    pub holes: HarpChord,
    /// The chord's degrees above its root that sound.
    pub covers: Vec<Degree>,
    /// The chord's degrees that do not.
    pub missing: Vec<Degree>,
}

impl Place {
    /// Whether the whole chord sounds.
    pub fn is_whole(&self) -> bool {
        self.missing.is_empty()
    }

    /// Every place of a chord on a harp, the best first: those where the whole chord sounds, then those that have
    /// most of what makes it known: the third before the root and the seventh, and the fifth last. The second or fourth
    /// of a suspended chord counts as its third. What has neither the root nor the third, or one note only, is no place
    /// of the chord (common practice, no source).
    pub fn all(harp: &Harp, key: &ScaleInKey, chord: Function) -> Vec<Self> {
        let mut places: Vec<Self> =
            HarpChord::all(harp).filter_map(|holes| Self::of(holes, key, chord)).collect();
        places.sort_by_cached_key(|place| Reverse(place.merit(key, chord)));
        places
    }

    fn of(holes: HarpChord, key: &ScaleInKey, chord: Function) -> Option<Self> {
        let root = chord.root(key);
        let classes = holes.pitch_classes();
        let (covers, missing): (Vec<Degree>, Vec<Degree>) =
            chord.kind.degrees().partition(|degree| classes.contains(&root.at(*degree).pitch_class()));
        let is_known = covers.len() > 1 && covers.iter().any(|degree| matches!(degree.number(), 1..=4));
        (is_known && covers.len() == classes.len()).then_some(Self { holes, covers, missing })
    }

    /// What makes one place better than another, the weightiest first.
    fn merit(&self, key: &ScaleInKey, chord: Function) -> (u32, bool, Grip, Reverse<u8>, Reverse<u8>) {
        let weight = self.covers.iter().map(|degree| weight(*degree)).sum();
        let bass = self.holes.notes.first().map(|note| note.pitch_class());
        let root_position = bass == Some(chord.root(key).pitch_class());
        let grip = match self.holes.grip {
            Grip::Together => Grip::Outer,
            Grip::Outer => Grip::Together,
        };
        (weight, root_position, grip, Reverse(self.holes.high - self.holes.low), Reverse(self.holes.low))
    }
}

/// How much a degree says about which chord it is.
fn weight(degree: Degree) -> u32 {
    match degree.number() {
        2..=4 => 4,
        7 | 6 | 1 => 3,
        5 if degree.alteration() == 0 => 1,
        _ => 2,
    }
}

/// The notes of a chord over the range of a harp with all the ways to play them, for the chords that no grip has.
/// The degrees are those above the chord's root.
pub fn chord_tones(harp: &Harp, key: &ScaleInKey, chord: Function) -> Vec<MapNote> {
    let named = || chord.kind.degrees().zip(chord.chord(key).notes(key));
    crate::scale_map::notes_on(harp, |note| {
        let (degree, name) = named().find(|(_, name)| name.pitch_class() == note.pitch_class())?;
        Some((ScaleNote { step: ScaleDegree { degree, also: None }, name }, Direction::Both))
    })
}
