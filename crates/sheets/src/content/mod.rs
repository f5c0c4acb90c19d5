//! What stands on a sheet, in words: the same for every form in which it is written.

mod chords;
mod grid;
mod intervals;
mod octaves;
mod stair;
mod words;

pub use chords::{ChordRow, PlaceRow};
pub use grid::{Grid, GridCell, GridRow};
pub use intervals::IntervalRow;
pub use octaves::{OctaveNote, OctaveTable};
pub use stair::{Column, Mark, MarkKind, Stair, StairRow};
pub use words::{CAUTIONS, LOG_COLUMNS};

use layout::{Breath, Harp, Note, TabStyle, Technique, Way};
use theory::{
    Ability, Direction, MapNote, NoteName, PlayerNote, Position, Scale, ScaleInKey, ScaleMap, ScaleNote,
    for_player,
};

/// What a sheet is to show.
#[derive(Clone, Copy, Debug)]
pub struct Request<'a> {
    /// The harp.
    pub harp: &'a Harp,
    /// Which of its notes is home.
    pub position: Position,
    /// The scale on that note.
    pub scale: &'a Scale,
    /// What the player commands; without it every note that the harp has counts as in reach.
    pub ability: Option<&'a Ability>,
    /// How tab is written.
    pub tab: &'a TabStyle,
}

/// The content of one sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// "C harp, 2nd position: G blues".
    pub title: String,
    /// Sentences under the title: tuning, notes, what the scale asks for.
    pub facts: Vec<String>,
    /// The picture.
    pub stair: Stair,
    /// The holes as a table.
    pub grid: Grid,
    /// The notes from tonic to tonic.
    pub octaves: Vec<OctaveTable>,
    /// The chords under the mouth.
    pub chords: Vec<ChordRow>,
    /// Where the three main chords of the key lie, whole or in part.
    pub places: Vec<PlaceRow>,
    /// Octaves, thirds, sixths and fifths.
    pub intervals: Vec<IntervalRow>,
    /// The signs of the tab and what they mean.
    pub signs: Vec<(String, String)>,
}

/// What every part of a sheet is made from.
struct Ground<'a> {
    request: &'a Request<'a>,
    key: ScaleInKey,
    /// Every note of the scale over the harp, up or down, from the lowest.
    map: Vec<MapNote>,
    /// The same notes as this player reaches them.
    notes: Vec<PlayerNote>,
}

impl Sheet {
    /// The sheet for a position and scale, its tonic written as the harp's key demands.
    pub fn new(request: &Request<'_>) -> Self {
        let key = ScaleInKey::in_position(request.scale.clone(), request.harp, request.position);
        Self::of(&Ground::new(request, key))
    }

    /// The same sheet with the tonic written as the player wrote it ([`ScaleInKey::new`]). `tonic` has to be the tonic
    /// of the request's position.
    pub fn written(request: &Request<'_>, tonic: NoteName) -> Self {
        Self::of(&Ground::new(request, ScaleInKey::new(request.scale.clone(), tonic)))
    }

    /// A name for its file, without the ending: the title in small letters and digits of ASCII, set apart by dashes,
    /// "c-harp-2nd-position-g-blues".
    pub fn file_stem(&self) -> String {
        let title = self.title.to_lowercase().replace('♭', " flat ").replace('♯', " sharp ");
        let words = title.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
        words.collect::<Vec<_>>().join("-")
    }

    fn of(ground: &Ground<'_>) -> Self {
        Self {
            title: words::title(ground),
            facts: words::facts(ground),
            stair: Stair::new(ground),
            grid: Grid::new(ground),
            octaves: octaves::tables(ground),
            chords: chords::rows(ground),
            places: chords::places(ground),
            intervals: intervals::rows(ground.request.harp),
            signs: words::signs(ground.request.tab),
        }
    }
}

impl<'a> Ground<'a> {
    fn new(request: &'a Request<'a>, key: ScaleInKey) -> Self {
        let map = ScaleMap::new(request.harp, &key).notes_either_way().to_vec();
        let notes = match request.ability {
            Some(ability) => for_player(request.harp, &map, ability),
            None => map.iter().map(everything_in_reach).collect(),
        };
        Self { request, key, map, notes }
    }

    /// The note of the scale that sounds like `note`, in either direction.
    fn find(&self, note: Note) -> Option<ScaleNote> {
        self.key.find_either(note).map(|(own, _)| own)
    }

    /// The degree of a note of the scale, with an arrow if the scale has it on the way up only or on the way down only.
    fn degree(&self, note: Note, is: ScaleNote) -> String {
        let arrow = match self.key.find_either(note) {
            Some((_, Direction::Up)) => "↑",
            Some((_, Direction::Down)) => "↓",
            _ => "",
        };
        format!("{}{arrow}", is.step.degree)
    }

    fn reaches(&self, way: Way) -> bool {
        self.request.ability.is_none_or(|ability| ability.reaches(way))
    }
}

/// A note with its simplest way, for a sheet without a player's ability.
fn everything_in_reach(note: &MapNote) -> PlayerNote {
    PlayerNote { way: note.simplest(), cost: 0, substitutes: Vec::new(), note: note.clone() }
}

/// What a technique asks for, short enough for a narrow column.
fn technique(breath: Breath, technique: Technique) -> String {
    match (technique, breath) {
        (Technique::Natural, _) => "plain".to_owned(),
        (Technique::Bend(1), _) => "half step".to_owned(),
        (Technique::Bend(2), _) => "whole step".to_owned(),
        (Technique::Bend(half_steps), _) => {
            format!("{}{} steps", half_steps / 2, if half_steps % 2 == 1 { "½" } else { "" })
        }
        (Technique::Overbend, Breath::Blow) => "overblow".to_owned(),
        (Technique::Overbend, Breath::Draw) => "overdraw".to_owned(),
    }
}
