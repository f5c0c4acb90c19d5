//! The notes from tonic to tonic: degree, name, tab, technique.

use super::{Ground, technique};
use layout::{Technique, Way};
use theory::{MapNote, Octave, PlayerNote};

/// One octave as a table, one column to the note, low notes left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OctaveTable {
    /// "G4 to G5", or "below G4" where the harp ends first.
    pub name: String,
    /// The notes from the lowest up.
    pub notes: Vec<OctaveNote>,
}

/// One column of the table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OctaveNote {
    /// Degree, such as `♭3`.
    pub degree: String,
    /// Name with octave, such as `B♭4`.
    pub name: String,
    /// The way to play it and other simple ones; in brackets if out of reach, `–` if the harp does not have it.
    pub tab: String,
    /// What the first way asks for, in a word or two.
    pub technique: String,
    /// The first way as players say it: "half step on 3 draw".
    pub words: String,
    /// Whether the player reaches it.
    pub reachable: bool,
}

pub(super) fn tables(ground: &Ground<'_>) -> Vec<OctaveTable> {
    let octaves = Octave::all(&ground.map);
    let last = octaves.len().saturating_sub(1);
    octaves
        .iter()
        .enumerate()
        .map(|(index, octave)| OctaveTable {
            name: name(octave.notes, octave.whole, index == 0, index == last),
            notes: octave.notes.iter().map(|note| column(ground, note)).collect(),
        })
        .collect()
}

fn name(notes: &[MapNote], whole: bool, is_first: bool, is_last: bool) -> String {
    let (Some(low), Some(high)) = (notes.first(), notes.last()) else { return String::new() };
    match (whole, is_first, is_last) {
        (false, true, false) => format!("below {}", high.name()),
        (false, false, true) => format!("above {}", low.name()),
        _ => format!("{} to {}", low.name(), high.name()),
    }
}

fn column(ground: &Ground<'_>, note: &MapNote) -> OctaveNote {
    let player = ground.notes.iter().find(|own| own.note.note == note.note);
    let way = player.and_then(|own| own.way);
    OctaveNote {
        degree: ground.degree(note.note, note.is),
        name: note.name(),
        tab: tab(ground, note, player),
        words: way.or(note.simplest()).map_or("not on this harp".to_owned(), |way| way.to_string()),
        technique: way
            .or(note.simplest())
            .map_or("not there".to_owned(), |way| technique(way.breath, way.technique)),
        reachable: way.is_some(),
    }
}

/// The way for this player, then the other ways in reach without the overbends: an overbend is never the easier choice.
fn tab(ground: &Ground<'_>, note: &MapNote, player: Option<&PlayerNote>) -> String {
    let print = |way: Way| ground.request.tab.print(way);
    let Some(way) = player.and_then(|own| own.way) else {
        return note.simplest().map_or("–".to_owned(), |way| format!("[{}]", print(way)));
    };
    let others = note
        .ways
        .iter()
        .filter(|other| **other != way && other.technique != Technique::Overbend && ground.reaches(**other));
    std::iter::once(print(way)).chain(others.map(|other| print(*other))).collect::<Vec<_>>().join(" or ")
}
