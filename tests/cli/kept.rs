//! A journal of what somebody played into a microphone, which no test has.

use journal::{By, Journal, Keeper, Noted, When};
use layout::{Harp, TabStyle};
use practice::{Asked, DrillId, Event, Timebase, Tried};
use scoring::{Figures, Outcome, Target, Tolerance, Verdict};
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
            let event = Event::Judged(Box::new(tried(&harp, it, (number, outcome))));
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

fn tried(harp: &Harp, it: &TenTries, (number, outcome): (u32, Outcome)) -> Tried {
    let base = Timebase::new(48_000.0);
    let way = TabStyle::default().read_for(harp, it.tab).unwrap();
    let figures = Figures {
        cents_off: it.cents,
        depth_semitones: 0.9,
        reach_s: 0.2,
        held_s: 1.1,
        spread_cents: 3.0,
        drift_cents_per_s: -1.0,
        overshoot_cents: 0.0,
        sigma_cents: 0.4,
        level_spread_db: 0.5,
        hnr_db: 30.0,
        vibrato: None,
    };
    let began = u64::from(number) * 48_000;
    Tried {
        drill: DrillId { name: "hole-3-depths".to_owned(), title: "Hole 3".to_owned() },
        harp: harp.clone(),
        asked: Asked { item: 0, note: 0, attempt: number, target: Target { way, cents: 0.0, hold_s: 0.8 } },
        tolerance: Tolerance::USUAL,
        began: base.moment(began),
        ended: base.moment(began + 40_000),
        verdict: Verdict { outcome, figures: Some(figures), between: None },
        trace: scoring::Trace::default(),
    }
}
