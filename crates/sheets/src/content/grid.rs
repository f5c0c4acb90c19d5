//! The grid: the holes from left to right, above their numbers what blowing sounds, below what drawing sounds.

use super::{Ground, technique};
use layout::{Breath, Technique, Way};

/// The holes of a harp as a table. The row next to the numbers is that of the reeds; bends lie outwards of it, the
/// deeper the further, and the overblows and overdraws lie outermost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Grid {
    /// The numbers of the holes, from the lowest up.
    pub holes: Vec<u8>,
    /// The rows above the numbers, from the top down; the last one holds the blow reeds.
    pub blow: Vec<GridRow>,
    /// The rows below the numbers, from the top down; the first one holds the draw reeds.
    pub draw: Vec<GridRow>,
}

/// What one breath and technique sound on each hole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GridRow {
    /// What the row is called where its place shows the breath: "blow", "half step", "overdraw".
    pub name: String,
    /// What the row is called where only words tell the breath: "blow, half step".
    pub words: String,
    /// One for each hole; `None` where the hole cannot do it.
    pub cells: Vec<Option<GridCell>>,
}

/// A note of the grid.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GridCell {
    /// Its written name, without its octave.
    pub name: String,
    /// Its degree, if the scale has it.
    pub degree: Option<String>,
    /// Whether it is the tonic.
    pub tonic: bool,
    /// Whether the player reaches it.
    pub reachable: bool,
}

impl Grid {
    pub(super) fn new(ground: &Ground<'_>) -> Self {
        let harp = ground.request.harp;
        let holes: Vec<u8> = (1..=harp.holes()).collect();
        let deepest = holes.iter().map(|hole| harp.deepest_bend(*hole)).max().unwrap_or(0);
        let techniques = std::iter::once(Technique::Natural)
            .chain((1..=deepest).map(Technique::Bend))
            .chain([Technique::Overbend]);
        let rows = |breath| {
            let rows = techniques.clone().map(|technique| row(ground, &holes, (breath, technique)));
            rows.filter(|row| row.cells.iter().any(Option::is_some)).collect::<Vec<_>>()
        };
        let mut blow = rows(Breath::Blow);
        blow.reverse();
        Self { draw: rows(Breath::Draw), blow, holes }
    }
}

fn row(ground: &Ground<'_>, holes: &[u8], (breath, by): (Breath, Technique)) -> GridRow {
    let breath_word = breath.word().to_owned();
    let (name, words) = match by {
        Technique::Natural => (breath_word.clone(), breath_word),
        Technique::Bend(_) => (technique(breath, by), format!("{breath_word}, {}", technique(breath, by))),
        Technique::Overbend => (technique(breath, by), technique(breath, by)),
    };
    let cells = holes.iter().map(|hole| cell(ground, Way::new(*hole, breath, by))).collect();
    GridRow { name, words, cells }
}

fn cell(ground: &Ground<'_>, way: Way) -> Option<GridCell> {
    let note = ground.request.harp.note(way)?;
    let own = ground.find(note);
    let name = own.map_or_else(|| ground.key.name_of(note.pitch_class()), |own| own.name);
    Some(GridCell {
        name: name.to_string(),
        degree: own.map(|own| ground.degree(note, own)),
        tonic: own.is_some_and(|own| own.step.semitones() == 0),
        reachable: ground.reaches(way),
    })
}
