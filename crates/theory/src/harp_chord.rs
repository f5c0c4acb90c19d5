//! Chords under the mouth: which holes sound together on one breath.

use crate::{Chord, Interval};
use layout::{Breath, Harp, Note, PitchClass};
use std::fmt;

/// The most neighbouring holes taken at once: five hold the ninth chord of the draw reeds.
pub const MOST_HOLES: u8 = 5;

/// How the mouth picks the holes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grip {
    /// Every hole from the lowest to the highest.
    Together,
    /// Only the two outer holes: the tongue covers those between.
    Outer,
}

/// Some holes on one breath, without technique.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct HarpChord {
    /// Direction of the breath.
    pub breath: Breath,
    /// Lowest hole.
    pub low: u8,
    /// Highest hole.
    pub high: u8,
    /// Whether the holes between them sound.
    pub grip: Grip,
    /// What sounds, hole by hole.
    pub notes: Vec<Note>,
}

impl HarpChord {
    /// The holes on this breath, or `None` if the harp does not have them.
    pub fn new(harp: &Harp, breath: Breath, (low, high): (u8, u8), grip: Grip) -> Option<Self> {
        let holes = sounding(low, high, grip);
        let notes: Vec<Note> = holes.map(|hole| harp.reed(hole, breath)).collect::<Option<_>>()?;
        (low < high).then_some(Self { breath, low, high, grip, notes })
    }

    /// Every chord and split of a harp: two to five neighbouring holes, and the outer notes of three to five holes;
    /// blow before draw, from the lowest hole up, small before large.
    pub fn all(harp: &Harp) -> impl Iterator<Item = Self> + '_ {
        let spans = (1..=harp.holes())
            .flat_map(|low| (low + 1..low + MOST_HOLES).map(move |high| (low, high)))
            .filter(|(_, high)| *high <= harp.holes());
        let spans: Vec<(u8, u8)> = spans.collect();
        [Breath::Blow, Breath::Draw].into_iter().flat_map(move |breath| {
            let grips = |(low, high): (u8, u8)| {
                let outer = (high - low >= 2).then_some(Grip::Outer);
                std::iter::once(Grip::Together).chain(outer).map(move |grip| ((low, high), grip))
            };
            spans
                .clone()
                .into_iter()
                .flat_map(grips)
                .filter_map(move |(span, grip)| Self::new(harp, breath, span, grip))
        })
    }

    /// The holes that sound, from the lowest up.
    pub fn holes(&self) -> impl Iterator<Item = u8> {
        sounding(self.low, self.high, self.grip)
    }

    /// Every name that fits the notes, root positions first ([`Chord::names`]).
    pub fn names(&self) -> Vec<Chord> {
        Chord::names(&self.notes)
    }

    /// The interval, if two notes sound.
    pub fn interval(&self) -> Option<Interval> {
        match self.notes[..] {
            [low, high] => Some(Interval::between(low, high)),
            _ => None,
        }
    }

    /// The pitch classes that sound, without repeats, from the lowest note up.
    pub fn pitch_classes(&self) -> Vec<PitchClass> {
        let mut classes = Vec::new();
        for class in self.notes.iter().map(|note| note.pitch_class()) {
            if !classes.contains(&class) {
                classes.push(class);
            }
        }
        classes
    }
}

fn sounding(low: u8, high: u8, grip: Grip) -> impl Iterator<Item = u8> {
    (low..=high).filter(move |hole| grip == Grip::Together || *hole == low || *hole == high)
}

impl fmt::Display for HarpChord {
    /// "draw 2 to 5", "blow 1 and 4, tongue on 2 and 3".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (breath, low, high) = (self.breath.word(), self.low, self.high);
        let between: Vec<String> = (low + 1..high).map(|hole| hole.to_string()).collect();
        f.pad(&match (self.grip, &between[..]) {
            (_, []) => format!("{breath} {low} and {high}"),
            (Grip::Together, _) => format!("{breath} {low} to {high}"),
            (Grip::Outer, [one]) => format!("{breath} {low} and {high}, tongue on {one}"),
            (Grip::Outer, [first, .., last]) => {
                let joint = if between.len() == 2 { "and" } else { "to" };
                format!("{breath} {low} and {high}, tongue on {first} {joint} {last}")
            }
        })
    }
}
