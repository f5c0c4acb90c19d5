//! Tries at chords, and notes that were to sound alone, are kept; and a journal that knew nothing of either loses
//! nothing.
//!
//! `v2.sqlite` was written by the program of 29 November 2026 (commit a30fa56) while the built-in player played a drill
//! and four runs for Ida.

use crate::upgrade::{columns, rows};
use crate::{PATIENCE, harp, keeper, morning, place, try_of};
use journal::{By, Journal, Noted, When, export};
use layout::{Breath, Technique, Way};
use practice::{ChordAsked, ChordTried, DrillId, Event, Timebase, Tried};
use rusqlite::Connection;
use scoring::Outcome;
use scoring::reeds::{Clean, HeardReed, Holes, ReedsOutcome, ReedsTarget, ReedsVerdict, ReedsWhy};
use std::fs;

const V2: &[u8] = include_bytes!("v2.sqlite");

/// The tables of the second version that keep rows of practice.
const V2_TABLES: [&str; 9] =
    ["word", "session", "entry", "try", "run", "run_note", "remark", "delay", "thing_day"];

#[test]
fn a_journal_without_chords_keeps_every_row() {
    let (_folder, file) = place();
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    fs::write(&file, V2).unwrap();
    let connection = Connection::open(&file).unwrap();
    let columns = columns(&connection, &V2_TABLES);
    let before = rows(&connection, &columns);
    drop(connection);
    // Counted by Python's `sqlite3` when the fixture was made; what the built-in player played makes no row of
    // `thing_day`.
    assert_eq!(before.len(), 18 + 2 + 20 + 12 + 4 + 64);
    drop(Journal::open(&file, morning()).unwrap());
    assert_eq!(rows(&Connection::open(&file).unwrap(), &columns), before);
    let connection = Connection::open(&file).unwrap();
    let version = connection.pragma_query_value(None, "user_version", |row| row.get::<_, i64>(0)).unwrap();
    assert!(version > 2);
    let checked = Journal::read(&file, morning()).unwrap().check().unwrap();
    assert_eq!((checked.faults, checked.differing, checked.counts.tries), (Vec::new(), 0, 12));
}

fn chord(attempt: u32, outcome: ReedsOutcome) -> Event {
    let base = Timebase::new(48_000.0);
    let target = ReedsTarget { breath: Breath::Draw, holes: [1, 2, 3].into_iter().collect(), hold_s: 1.5 };
    let heard = |hole| HeardReed { way: Way::new(hole, Breath::Draw, Technique::Natural), below_db: 1.0 };
    Event::ChordJudged(Box::new(ChordTried {
        drill: DrillId { name: "splits".to_owned(), title: "Splits".to_owned() },
        harp: harp(),
        asked: ChordAsked { item: 2, attempt, target },
        began: base.moment(48_000),
        ended: base.moment(96_000),
        verdict: ReedsVerdict { outcome, heard: vec![heard(1), heard(2)], held_s: 1.25 },
    }))
}

fn note(clean: Clean) -> Event {
    let tried = try_of::tried(&harp(), ("-4", 3.0), (1, Outcome::Landed));
    Event::Judged(Box::new(Tried { clean: Some(clean), ..tried }))
}

#[test]
fn tries_at_chords_and_leaks_are_kept_and_come_out_and_in_again() {
    let (_folder, file) = place();
    let keeper = keeper(&file);
    let missing = ReedsOutcome::Off { missing: Holes::NONE.with(3), leaked: Holes::NONE };
    let events = [
        chord(1, missing),
        chord(2, ReedsOutcome::CannotTell(ReedsWhy::Flickers)),
        chord(2, ReedsOutcome::Right),
        note(Clean::Leaked(5, 16.25)),
        note(Clean::Alone),
        note(Clean::CannotTell),
    ];
    for (ms, event) in (0..).zip(&events) {
        let when = When { unix_ms: morning().unix_ms + ms, ..morning() };
        keeper.keep(Noted::of(event, &harp(), By::Player, when).unwrap());
    }
    assert_eq!(keeper.close(PATIENCE), 0);
    let journal = Journal::read(&file, morning()).unwrap();
    let past = journal.past("anna").unwrap();
    // A try that cannot be judged counts neither way. A note with a leak is not counted as good in its drill.
    let last = past.last("drill splits").unwrap();
    assert_eq!((last.good, last.of), (1, 2));
    let last = past.last("drill hole-3-depths").unwrap();
    assert_eq!((last.good, last.of), (2, 3));
    // Its pitch was right all the same.
    assert_eq!((past.notes[0].tries, past.notes[0].landed), (3, 3));

    let mut lines = Vec::new();
    export(&journal, None, &mut lines).unwrap();
    let text = String::from_utf8(lines.clone()).unwrap();
    assert!(text.contains("\"asked\":\"-1 -2 -3\"") && text.contains("\"heard\":\"-1 -2\""), "{text}");
    assert!(text.contains("\"outcome\":\"missing\"") && text.contains("\"below_db\":16.25"), "{text}");
    let (_other, copy) = place();
    let (mut second, _) = Journal::open(&copy, morning()).unwrap();
    second.import(lines.as_slice()).unwrap();
    let checked = second.check().unwrap();
    assert_eq!((checked.faults, checked.differing, checked.counts.tries), (Vec::new(), 0, 6));
    assert_eq!(second.past("anna").unwrap(), past);
}
