//! Several players side by side.

use crate::gather::{days_played, stands};
use crate::words::{self, NONE, count, date};
use crate::{Request, Tries};
use course::{Day, Progress};
use layout::TabStyle;
use theory::Mastery;

/// A bend that was tried less often than this is not called the hardest.
const LEAST_TRIES: u32 = 4;

/// What is kept of one player: a few words, however long was practised.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// What stands in the columns, in their order; the first is the name.
    pub(crate) cells: [String; COLUMNS.len()],
}

/// The columns of the table.
pub(crate) const COLUMNS: [&str; 8] = [
    "Player",
    "Practised",
    "Bends landed",
    "Dependable",
    "Hardest",
    "Clean tempi",
    "Programme",
    "Practised last",
];

/// Players side by side.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Class {
    pub(crate) when: String,
    pub(crate) rows: Vec<Row>,
}

impl Class {
    /// The table of these players, over so many days up to `today`.
    pub fn new(rows: Vec<Row>, today: Day, days: u32) -> Self {
        let of = count(days as usize, "day", "days");
        let when = format!("The {of} to {}; in brackets the {of} before them", date(today));
        Self { when, rows }
    }
}

impl Row {
    pub(crate) fn new(request: &Request<'_>, progress: &Progress) -> Self {
        let bends = || progress.bends();
        let landed = |days: Vec<Tries>| {
            let (landed, of) = days.iter().fold((0, 0), |(landed, of), it| (landed + it.landed, of + it.of));
            (of > 0).then(|| words::percent(f64::from(landed) / f64::from(of)))
        };
        let now = landed(bends().filter_map(|note| note.now.as_ref()).map(Tries::of).collect());
        let then = landed(bends().filter_map(|note| note.then.as_ref()).map(Tries::of).collect());
        let sure = bends().filter(|note| note.skill.mastery() == Some(Mastery::Sure)).count();
        let tried = bends().filter_map(|note| Some((note, Tries::of(note.now.as_ref()?))));
        let hardest = tried
            .filter(|(_, tries)| tries.of >= LEAST_TRIES)
            .min_by(|(_, a), (_, b)| a.share().total_cmp(&b.share()));
        let hardest = hardest.map(|(note, tries)| {
            format!("{}: {} of {}", TabStyle::default().print(note.skill.way), tries.landed, tries.of)
        });
        let clean = progress.tempi.iter().filter(|it| it.clean.is_some()).count();
        let faster = progress.tempi.iter().filter(|it| it.clean > it.clean_then).count();
        let last = request.past.played.iter().rev().find(|it| it.seconds > 0);
        let none = || NONE.to_owned();
        Self {
            cells: [
                request.player.to_owned(),
                practised(request, progress),
                format!("{} ({})", now.unwrap_or_else(none), then.unwrap_or_else(none)),
                format!("{sure} of {}", count(bends().count(), "bend", "bends")),
                hardest.unwrap_or_else(none),
                format!("{clean} ({faster} faster)"),
                request
                    .programme
                    .zip(stands(request))
                    .map_or_else(none, |((programme, _), stands)| format!("{}: {stands}", programme.title)),
                last.map_or_else(none, |it| it.day.spoken(request.today)),
            ],
        }
    }
}

fn practised(request: &Request<'_>, progress: &Progress) -> String {
    let days = progress.days.cast_signed();
    let first = progress.begin();
    let now = days_played(request.past, (first, progress.today));
    let then = days_played(request.past, (first.plus(-days), first.plus(-1)));
    let (minutes, minutes_then) = progress.minutes;
    format!("{minutes} min on {} ({minutes_then} on {then})", count(now, "day", "days"))
}
