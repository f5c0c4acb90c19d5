//! A journal as if somebody had played into a microphone, which no test has.

use crate::tried::tried;
use journal::{By, Journal, Keeper, Noted, When};
use layout::Harp;
use practice::Event;
use scoring::Outcome;
use std::path::{Path, PathBuf};
use std::time::Duration;

const DAY_MS: i64 = 86_400_000;

/// Ten tries at a note on a day.
pub(crate) struct TenTries {
    pub(crate) days_ago: i64,
    pub(crate) tab: &'static str,
    pub(crate) landed: u32,
    pub(crate) cents: f64,
}

/// Where the program looks for the journal in a data folder.
pub(crate) fn file(data: &Path) -> PathBuf {
    data.join("bendwright/journal.sqlite")
}

/// Writes the tries of a player into the journal of a data folder.
pub(crate) fn fill(data: &Path, player: &str, days: &[TenTries]) {
    let harp = Harp::richter("C".parse().unwrap());
    let keeper = Keeper::new(file(data), player, "test", When::now);
    for it in days {
        for number in 1..=10 {
            let outcome = if number <= it.landed { Outcome::Landed } else { Outcome::Short(it.cents) };
            let event = Event::Judged(Box::new(tried(&harp, (it.tab, it.cents), (number, outcome))));
            let now = When::now();
            let unix_ms = now.unix_ms - it.days_ago * DAY_MS + i64::from(number) * 1000 - 20_000;
            let noted = Noted::of(&event, &harp, By::Player, When { unix_ms, ..now }).unwrap();
            keeper.keep(noted);
        }
    }
    assert_eq!(keeper.close(Duration::from_secs(30)), 0);
    let checked = Journal::read(&file(data), When::now()).unwrap().check().unwrap();
    assert_eq!(checked.faults, Vec::<String>::new());
}
