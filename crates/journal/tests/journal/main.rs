//! The journal as others use it.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used)]

mod answers;
mod chords;
mod file;
mod moving;
mod past;
mod remarks;
#[path = "../../../../tests/support/tried.rs"]
mod try_of;
mod upgrade;

use course::Past;
use journal::{By, Journal, Keeper, KeeperNews, Noted, When};
use layout::Harp;
use practice::{Event, Tried};
use scoring::{Outcome, Trace};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use tempfile::TempDir;

const PATIENCE: Duration = Duration::from_secs(30);

/// A morning in autumn, an hour ahead of UTC.
fn morning() -> When {
    When { unix_ms: 1_795_852_800_000, offset_s: 3_600 }
}

fn harp() -> Harp {
    Harp::richter("C".parse().unwrap())
}

fn tried(number: u32, outcome: Outcome) -> Event {
    let trace = Trace { tenths: vec![Some(-300), None, Some(-125 - number as i16)] };
    Event::Judged(Box::new(Tried { trace, ..try_of::tried(&harp(), ("-3'", -12.5), (number, outcome)) }))
}

fn noted(number: u32, outcome: Outcome, by: By) -> Noted {
    let when = When { unix_ms: morning().unix_ms + i64::from(number), ..morning() };
    Noted::of(&tried(number, outcome), &harp(), by, when).unwrap()
}

fn place() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sub").join("journal.sqlite");
    (folder, file)
}

fn keeper(file: &Path) -> Keeper {
    Keeper::new(file.to_owned(), "anna", "test", morning)
}

/// The next news about the file; a failure if none comes.
fn news(keeper: &Keeper) -> KeeperNews {
    let until = Instant::now() + PATIENCE;
    loop {
        if let Some(news) = keeper.news().filter(|news| !matches!(news, KeeperNews::Past(_))) {
            return news;
        }
        assert!(Instant::now() < until, "no news came");
        std::thread::sleep(Duration::from_millis(1));
    }
}

fn tries(file: &Path) -> i64 {
    let checked = Journal::read(file, morning()).unwrap().check().unwrap();
    assert_eq!(checked.faults, Vec::<String>::new());
    checked.counts.tries
}

/// The next news of what was practised; a failure if none comes.
fn told(keeper: &Keeper) -> Past {
    let until = Instant::now() + PATIENCE;
    loop {
        if let Some(KeeperNews::Past(past)) = keeper.news() {
            return *past;
        }
        assert!(Instant::now() < until, "nothing was told");
        std::thread::sleep(Duration::from_millis(1));
    }
}
