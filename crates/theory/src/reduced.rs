//! Reduced scales: what of one or two scales a player can already reach.

use crate::cost::cheapest;
use crate::{Ability, MapNote, ScaleInKey, ScaleMap};
use layout::{Harp, TabStyle, Way};
use serde::Serialize;

/// Which of the two scales a note comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Origin {
    /// The scale asked for.
    Scale,
    /// The scale that fills its gaps.
    Filling,
}

/// A note that the player reaches.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ReducedNote {
    /// The note, its degree and name, and every way to play it.
    pub note: MapNote,
    /// The cheapest way that the player reaches.
    pub way: Way,
    /// Which scale it comes from.
    pub origin: Origin,
}

/// The largest useful set of notes that a player reaches, from one or two scales of one tonic.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Reduced {
    /// Its notes from the lowest up.
    pub notes: Vec<ReducedNote>,
    /// The notes of the scale asked for that are out of reach, from the lowest up.
    pub left_out: Vec<MapNote>,
}

impl Reduced {
    /// Everything of `scale` that the player reaches, and what of `filling` goes with it: a note of the filling is
    /// taken unless the scale has its degree in that octave and the player reaches it. So a ♭3 out of reach lets the
    /// 3 of the parallel major in, and the 3 never stands beside a ♭3 (common practice, no source).
    pub fn new(harp: &Harp, scale: &ScaleInKey, filling: Option<&ScaleInKey>, ability: &Ability) -> Self {
        let reach = |map: &ScaleMap, origin| -> Vec<ReducedNote> {
            let reached = map.notes_either_way().iter().filter_map(|note| {
                let (way, _) = cheapest(harp, &note.ways, ability)?;
                Some(ReducedNote { note: note.clone(), way, origin })
            });
            reached.collect()
        };
        let map = ScaleMap::new(harp, scale);
        let mut notes = reach(&map, Origin::Scale);
        let left_out =
            map.notes_either_way().iter().filter(|note| !notes.iter().any(|own| own.note.note == note.note));
        let left_out = left_out.cloned().collect();
        if let Some(filling) = filling {
            let fills = reach(&ScaleMap::new(harp, filling), Origin::Filling);
            let new: Vec<ReducedNote> =
                fills.into_iter().filter(|fill| notes.iter().all(|own| goes_with(fill, own))).collect();
            notes.extend(new);
            notes.sort_by_key(|note| note.note.note);
        }
        Self { notes, left_out }
    }

    /// The degrees that occur, from the tonic upwards, each once: "1 3 4 5 6 ♭7".
    pub fn degrees(&self) -> String {
        let mut steps: Vec<_> = self.notes.iter().map(|note| note.note.is.step).collect();
        steps.sort_by_key(|step| step.semitones());
        steps.dedup_by_key(|step| step.semitones());
        joined(steps.iter().map(|step| step.degree.to_string()))
    }

    /// The written names with their octaves: "G4 B4 C5".
    pub fn names(&self) -> String {
        joined(self.notes.iter().map(|note| note.note.name()))
    }

    /// The line of tab from the lowest note up.
    pub fn tab(&self, style: &TabStyle) -> String {
        joined(self.notes.iter().map(|note| style.print(note.way)))
    }
}

/// Whether a filling note can stand beside a note of the scale. It cannot if both sound the same, or are the same
/// degree in the same octave: they then have the same number and lie less than a fourth apart.
fn goes_with(fill: &ReducedNote, own: &ReducedNote) -> bool {
    let same_degree = fill.note.is.step.degree.number() == own.note.is.step.degree.number();
    let distance = fill.note.note.midi().abs_diff(own.note.note.midi());
    distance != 0 && !(same_degree && distance < 5)
}

fn joined(words: impl Iterator<Item = String>) -> String {
    words.collect::<Vec<_>>().join(" ")
}
