//! What changed in a month, for a player or a teacher.
//!
//! [`Report::new`] gathers what a page says of one player; [`Report::to_html`] and [`Report::to_markdown`] write it
//! down. Several players side by side are a [`Class`], which keeps of each only a [`Row`]. The HTML needs nothing else:
//! its pictures are in it, each with the same in words or as a table, and one player's page prints on one sheet of A4.
//!
//! This crate does no I/O and reads no clock: the same request gives the same text.

mod class;
mod gather;
mod heat;
mod html;
mod markdown;
mod pictures;
mod words;

pub use class::{Class, Row};

use course::{Day, Past, PlayedDay, Programme, Standing};
use layout::Harp;
use theory::Ability;

/// What a report is made from.
#[derive(Clone, Debug)]
pub struct Request<'a> {
    /// Who played.
    pub player: &'a str,
    /// The harp whose stair is drawn; what was played on any other harp counts too.
    pub harp: &'a Harp,
    /// What was practised.
    pub past: &'a Past,
    /// What the player claims to command.
    pub claimed: &'a Ability,
    /// Today.
    pub today: Day,
    /// How many days are looked at, and set against as many before them.
    pub days: u32,
    /// The programme that is followed, and where the player stands in it.
    pub programme: Option<(&'a Programme, &'a Standing<'a>)>,
    /// What was remarked, the latest last.
    pub remarks: &'a [Remark],
}

/// Something that was remarked on a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// The day.
    pub day: Day,
    /// The words.
    pub text: String,
}

/// What the page of one player says.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    title: String,
    /// Which days.
    when: String,
    /// What there is to say in sentences.
    said: Vec<String>,
    stair: Vec<Step>,
    bends: Vec<NoteRow>,
    plain: Vec<NoteRow>,
    tempi: Vec<TempoRow>,
    /// Each day, from the first.
    played: Vec<PlayedDay>,
    programme: Option<Followed>,
    remarks: Vec<(String, String)>,
    row: Row,
}

/// A way to play as it stands in the stair.
#[derive(Clone, Debug, PartialEq)]
struct Step {
    hole: u8,
    /// Half steps above the lowest note.
    column: u8,
    tab: String,
    words: String,
    /// Whether the mouth has to bend.
    bent: bool,
    /// The tries of the days that are looked at.
    tries: Option<Tries>,
}

/// The tries at a way to play in some days.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Tries {
    landed: u32,
    of: u32,
    /// The mean distance from the note, cents; sharp is positive.
    cents: Option<f64>,
    /// The standard deviation of the distances, cents.
    spread: Option<f64>,
}

/// A way to play in a table.
#[derive(Clone, Debug, PartialEq)]
struct NoteRow {
    tab: String,
    words: String,
    now: Option<Tries>,
    then: Option<Tries>,
    /// The side of the note on which the mean of `now` lies, in a word.
    side: &'static str,
    /// The side on which the mean of `then` lies.
    side_then: &'static str,
    /// The chance of landing as it is believed today, and the two bounds of its interval of 90 %.
    chance: (f64, f64, f64),
    /// Day by day: days since the first day of the earlier stretch, the mean distance and its spread in cents.
    trend: Vec<(u32, f64, f64)>,
}

/// A scale or a phrase in a table.
#[derive(Clone, Debug, PartialEq)]
struct TempoRow {
    name: String,
    clean: Option<f64>,
    clean_then: Option<f64>,
    last: String,
}

/// A programme that is followed.
#[derive(Clone, Debug, PartialEq)]
struct Followed {
    title: String,
    /// Which week it is, and how many goals are reached.
    stands: String,
    /// Goals that are open, each with how it stands.
    open: Vec<(String, String)>,
}
