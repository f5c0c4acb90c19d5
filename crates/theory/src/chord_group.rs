//! All the places of one chord on a breath, gathered for charts.

use crate::{Chord, Grip, HarpChord};
use layout::{Breath, Harp, PitchClass};
use std::fmt;
use std::ops::RangeInclusive;

/// One chord on one breath with every grip that sounds it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChordGroup {
    /// Direction of the breath.
    pub breath: Breath,
    /// Its names, each in root position, in the order in which [`Chord::names`] gives them for the lowest grip.
    pub names: Vec<Chord>,
    /// Every grip that sounds exactly these notes, in any octave and inversion.
    pub grips: Vec<HarpChord>,
}

/// A row of holes of which any `at_least` neighbours, or more, sound the chord.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HoleRun {
    /// How many neighbouring holes are needed.
    pub at_least: u8,
    /// Lowest and highest hole of the row.
    pub holes: RangeInclusive<u8>,
}

impl HoleRun {
    /// Lowest and highest hole of the narrowest grips, from the lowest up: 1–3, 2–4 for any three of 1 to 4.
    pub fn narrowest(&self) -> impl Iterator<Item = (u8, u8)> {
        let width = self.at_least - 1;
        (*self.holes.start()..=*self.holes.end() - width).map(move |low| (low, low + width))
    }
}

impl fmt::Display for HoleRun {
    /// "2 to 5", "3 or more neighbours of 1 to 10".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (low, high) = (self.holes.start(), self.holes.end());
        let row = format!("{low} to {high}");
        f.pad(&match high - low + 1 {
            all if all == self.at_least => row,
            _ => format!("{} or more neighbours of {row}", self.at_least),
        })
    }
}

impl ChordGroup {
    /// Every chord of a harp that has a name, by breath: first blow, then draw, chords of few notes before those of
    /// many, from the lowest hole up.
    pub fn all(harp: &Harp) -> Vec<Self> {
        let mut groups: Vec<(Vec<PitchClass>, Self)> = Vec::new();
        for grip in HarpChord::all(harp) {
            let names = grip.names();
            if names.is_empty() {
                continue;
            }
            let mut classes = grip.pitch_classes();
            classes.sort();
            match groups.iter_mut().find(|(c, group)| *c == classes && group.breath == grip.breath) {
                Some((_, group)) => group.grips.push(grip),
                None => groups.push((classes, Self::begin(grip, names))),
            }
        }
        groups.sort_by_key(|(classes, group)| (group.breath, classes.len()));
        groups.into_iter().map(|(_, group)| group).collect()
    }

    fn begin(grip: HarpChord, names: Vec<Chord>) -> Self {
        let names = names.into_iter().map(|name| Chord { bass: name.root, ..name }).collect();
        Self { breath: grip.breath, names, grips: vec![grip] }
    }

    /// The grips of neighbouring holes as rows: "any three or more of 1 to 10" rather than 21 single grips.
    pub fn runs(&self) -> Vec<HoleRun> {
        let together = |low: u8, high: u8| {
            self.grips.iter().any(|g| g.grip == Grip::Together && g.low == low && g.high == high)
        };
        let mut narrow_first: Vec<&HarpChord> =
            self.grips.iter().filter(|g| g.grip == Grip::Together).collect();
        narrow_first.sort_by_key(|grip| (grip.high - grip.low, grip.low));
        let mut runs: Vec<HoleRun> = Vec::new();
        for grip in narrow_first {
            let covered =
                runs.iter().any(|run| run.holes.contains(&grip.low) && run.holes.contains(&grip.high));
            if covered {
                continue;
            }
            let width = grip.high - grip.low;
            let mut top = grip.high;
            while together(top + 1 - width, top + 1) {
                top += 1;
            }
            runs.push(HoleRun { at_least: width + 1, holes: grip.low..=top });
        }
        runs
    }

    /// The grips that need the tongue.
    pub fn splits(&self) -> impl Iterator<Item = &HarpChord> {
        self.grips.iter().filter(|grip| grip.grip == Grip::Outer)
    }
}
