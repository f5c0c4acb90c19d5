//! The stair: pitch from left to right and a row to the hole, with its reeds, the bends between them and the overbend
//! beyond.

use super::Ground;
use layout::{Breath, Note, Technique, Way};

/// The picture of a harp with the marks of a scale.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stair {
    /// The lowest pitch that is drawn.
    pub low: Note,
    /// The highest pitch that is drawn.
    pub high: Note,
    /// The pitches of the scale, from the lowest up.
    pub columns: Vec<Column>,
    /// The holes, from the lowest up.
    pub rows: Vec<StairRow>,
}

/// A pitch of the scale, named at the head of the picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// The pitch.
    pub note: Note,
    /// The written name; the tonic with its octave.
    pub name: String,
    /// Whether it is the tonic.
    pub tonic: bool,
}

/// One hole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StairRow {
    /// Its number.
    pub hole: u8,
    /// Its marks, from the lowest pitch up.
    pub marks: Vec<Mark>,
}

/// One way to play, as a mark at its pitch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Where it stands.
    pub note: Note,
    /// What it is.
    pub kind: MarkKind,
    /// Its degree, if the scale has the note.
    pub degree: Option<String>,
    /// Whether it is the tonic.
    pub tonic: bool,
    /// Whether the player reaches it.
    pub reachable: bool,
}

/// What a mark stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkKind {
    /// A blow reed.
    Blow,
    /// A draw reed.
    Draw,
    /// A bend.
    Bend,
    /// An overblow or overdraw.
    Overbend,
}

impl Stair {
    pub(super) fn new(ground: &Ground<'_>) -> Self {
        let harp = ground.request.harp;
        let rows: Vec<StairRow> = (1..=harp.holes()).map(|hole| row(ground, hole)).collect();
        let notes = || rows.iter().flat_map(|row| &row.marks).map(|mark| mark.note);
        // A harp whose reeds all lie outside MIDI has no marks; its key then stands in for the range.
        let home = harp.key().blow_1();
        let (low, high) = (notes().min().unwrap_or(home), notes().max().unwrap_or(home));
        let columns = ground.map.iter().map(|note| Column {
            note: note.note,
            tonic: note.is.step.semitones() == 0,
            name: if note.is.step.semitones() == 0 { note.name() } else { note.is.name.to_string() },
        });
        Self { low, high, columns: columns.collect(), rows }
    }

    /// How many semitones wide it is, both ends included.
    pub fn semitones(&self) -> u8 {
        self.high.midi() - self.low.midi() + 1
    }

    /// Whether it shows marks that are out of reach.
    pub fn has_gaps(&self) -> bool {
        self.rows.iter().flat_map(|row| &row.marks).any(|mark| !mark.reachable)
    }

    /// The picture in a sentence or two, for those who cannot see it.
    pub fn in_words(&self) -> String {
        let marked = self.rows.iter().flat_map(|row| &row.marks).filter(|mark| mark.degree.is_some()).count();
        format!(
            "Pitch runs from left to right, from {} to {}; each of the {} holes is a row with its two reeds, the bends \
             between them and the overbend beyond. {marked} marks carry a degree of the scale. The tables say the same \
             in words.",
            self.low,
            self.high,
            self.rows.len()
        )
    }
}

fn row(ground: &Ground<'_>, hole: u8) -> StairRow {
    let harp = ground.request.harp;
    let mut marks: Vec<Mark> = harp
        .ways_of_hole(hole)
        .filter_map(|way| {
            let note = harp.note(way)?;
            let own = ground.find(note);
            Some(Mark {
                note,
                kind: kind(way),
                tonic: own.is_some_and(|own| own.step.semitones() == 0),
                degree: own.map(|own| ground.degree(note, own)),
                reachable: ground.reaches(way),
            })
        })
        .collect();
    marks.sort_by_key(|mark| mark.note);
    StairRow { hole, marks }
}

fn kind(way: Way) -> MarkKind {
    match (way.technique, way.breath) {
        (Technique::Natural, Breath::Blow) => MarkKind::Blow,
        (Technique::Natural, Breath::Draw) => MarkKind::Draw,
        (Technique::Bend(_), _) => MarkKind::Bend,
        (Technique::Overbend, _) => MarkKind::Overbend,
    }
}
