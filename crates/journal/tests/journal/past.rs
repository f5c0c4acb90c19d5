//! What was practised day by day, worked out while it is written and anew from the rows.

use crate::{PATIENCE, harp, keeper, morning, place, told, tried};
use course::{Day, NoteDay, PaceDay, PlayedDay};
use journal::{By, Journal, Keeper, KeeperNews, Noted, When};
use practice::run::{Metre, Rhythm, RunName, Swing, Tempo, Value};
use practice::{Ending, Event, RunJudged, Started, Timebase};
use scoring::timed::{Breaths, RunVerdict, Whole};
use scoring::{Outcome, Tolerance};
use std::path::Path;

const DAY_MS: i64 = 86_400_000;

/// The day of [`morning`].
const TODAY: Day = Day(20_785);

fn at(ms: i64) -> When {
    When { unix_ms: morning().unix_ms + ms, ..morning() }
}

fn rhythm(bpm: f64) -> Rhythm {
    Rhythm::new(Tempo::new(bpm).unwrap(), Metre::COMMON, Value::EIGHTHS, Swing::STRAIGHT).unwrap()
}

/// A run of 12 notes.
fn run(bpm: f64, (right, clean, timed): (usize, bool, bool)) -> Event {
    let whole = Whole {
        asked: 12,
        masked: 0,
        played: 12,
        in_pitch: right,
        in_time: right,
        right,
        late_s: None,
        spread_s: None,
        rushing: None,
        uneven_s: None,
        drift: None,
        timed,
        clean,
    };
    let breaths = Breaths { blow_s: 0.0, draw_s: 0.0, longest_s: 0.0, longest: None, longest_from_bar: 0 };
    let name = RunName { title: "G blues, up".to_owned(), kept_as: "blues in 2nd position, up".to_owned() };
    Event::RunJudged(Box::new(RunJudged {
        name,
        harp: harp(),
        rhythm: rhythm(bpm),
        number: 1,
        tolerance: Tolerance::USUAL,
        ended: Timebase::new(48_000.0).moment(0),
        verdict: RunVerdict { notes: Vec::new(), extra: Vec::new(), whole, weakest: Vec::new(), breaths },
    }))
}

fn other_note() -> Outcome {
    Outcome::AnotherNote("E4".parse().unwrap(), None)
}

/// Two days: what was played, after how many milliseconds, by whom.
fn practised() -> Vec<(Event, i64, By)> {
    let began = Event::Started(Started::Free);
    let own = [
        (tried(1, Outcome::Landed), -DAY_MS),
        (tried(2, Outcome::Short(20.0)), -DAY_MS + 10_000),
        (tried(3, Outcome::Landed), 0),
        (tried(4, Outcome::Landed), 5_000),
        (tried(5, Outcome::Short(12.5)), 5_000 + 600_000),
        (tried(6, other_note()), 610_000),
        (tried(7, Outcome::NotHeard(-60.0)), 620_000),
        (tried(8, Outcome::CannotTell(scoring::Why::TooShort)), 630_000),
        (Event::Ended(Ending::Done), 631_000),
        (began, 700_000),
        (run(80.0, (12, true, true)), 710_000),
        (run(84.0, (6, false, true)), 720_000),
        (run(80.0, (11, true, true)), 730_000),
        (run(61.5, (9, true, false)), 740_000),
        // The clock was set back meanwhile.
        (Event::Ended(Ending::Left), 735_000),
    ];
    let built_in = [(tried(9, Outcome::Landed), 736_000), (run(80.0, (12, true, true)), 737_000)];
    let own = own.into_iter().map(|(event, ms)| (event, ms, By::Player));
    own.chain(built_in.into_iter().map(|(event, ms)| (event, ms, By::BuiltIn))).collect()
}

/// Writes what `practised` lists to a journal, under the name of this player.
pub(crate) fn practised_by(file: &Path, player: &str) {
    let keeper = Keeper::new(file.to_owned(), player, "test", morning);
    for (event, ms, by) in practised() {
        keeper.keep(Noted::of(&event, &harp(), by, at(ms)).unwrap());
    }
    assert_eq!(keeper.close(PATIENCE), 0);
}

#[test]
fn each_day_is_counted_as_it_is_written_and_the_same_anew() {
    let (_folder, file) = place();
    practised_by(&file, "anna");
    let (mut journal, _) = Journal::open(&file, morning()).unwrap();
    let past = journal.past("anna").unwrap();
    let way = past.notes[0].way;
    // Every try with figures was 12.5 cents flat; another note says nothing about the one that was asked.
    let note = |day, tries, landed, measured: u32| NoteDay {
        day,
        way,
        tries,
        landed,
        measured,
        cents: -12.5 * f64::from(measured),
        cents_squared: 156.25 * f64::from(measured),
    };
    assert_eq!(past.notes, [note(TODAY.plus(-1), 2, 1, 2), note(TODAY, 4, 2, 3)]);
    let drill = past.last("drill hole-3-depths").unwrap();
    assert_eq!((drill.day, drill.of, drill.good, drill.tempo), (TODAY, 4, 2, None));
    let name = "run blues in 2nd position, up";
    let last = past.last(name).unwrap();
    assert_eq!((last.day, last.of, last.good, last.tempo), (TODAY, 48, 38, Some(61.5)));
    let pace = |tempo, runs, clean| PaceDay { day: TODAY, name: name.to_owned(), tempo, runs, clean };
    assert_eq!(past.paces, [pace(80.0, 2, 2), pace(84.0, 1, 0)]);
    assert_eq!(past.clean_tempo(name), Some(80.0));
    // Yesterday 10 s. Today 2 min for the night, because a gap counts for 2 min at most; 5 s; 2 min for a gap of ten;
    // 5 + 10 + 10 + 1 s; and four runs of 10 s each.
    let seconds = [10, 120 + 5 + 120 + 5 + 10 + 10 + 1 + 40];
    let played = [TODAY.plus(-1), TODAY].into_iter().zip(seconds);
    assert_eq!(past.played, played.map(|(day, seconds)| PlayedDay { day, seconds }).collect::<Vec<_>>());

    assert_eq!(journal.check().unwrap().differing, 0);
    journal.rebuild().unwrap();
    assert_eq!(journal.past("anna").unwrap(), past);
}

/// A jam has no tries, and its minutes are counted chorus by chorus.
#[test]
fn a_jam_counts_as_long_as_its_choruses_are() {
    let chorus = |number| {
        Event::ChorusOver(Box::new(practice::jam::ChorusOver {
            number,
            tally: practice::jam::Tally::default(),
        }))
    };
    let (_folder, file) = place();
    let keeper = Keeper::new(file.clone(), "anna", "test", morning);
    let began = Event::Started(Started::Free);
    let events =
        [(began, 0), (chorus(1), 110_000), (chorus(2), 200_000), (Event::Ended(Ending::Left), 201_000)];
    for (event, ms) in events {
        keeper.keep(Noted::of(&event, &harp(), By::Player, at(ms)).unwrap());
    }
    assert_eq!(keeper.close(PATIENCE), 0);
    let (journal, _) = Journal::open(&file, morning()).unwrap();
    let past = journal.past("anna").unwrap();
    assert_eq!(past.played, [PlayedDay { day: TODAY, seconds: 201 }]);
    assert!(past.notes.is_empty() && past.paces.is_empty());
}

#[test]
fn what_does_not_fit_the_rows_is_found_and_mended() {
    let (_folder, file) = place();
    practised_by(&file, "anna");
    let hand = rusqlite::Connection::open(&file).unwrap();
    hand.execute_batch("UPDATE note_day SET landed = 7 WHERE tries = 2; DELETE FROM played_day;").unwrap();
    drop(hand);
    let (mut journal, _) = Journal::open(&file, morning()).unwrap();
    let checked = journal.check().unwrap();
    // A row that is wrong differs twice: it is there and should not be, and the other way round.
    assert_eq!((checked.differing, checked.faults), (2 + 2, Vec::new()));
    journal.rebuild().unwrap();
    assert_eq!(journal.check().unwrap().differing, 0);
    // A file that was worked out by another rule is worked out anew when it is opened.
    let hand = rusqlite::Connection::open(&file).unwrap();
    hand.execute_batch("UPDATE derived SET rule = 0; DELETE FROM thing_day;").unwrap();
    drop(hand);
    assert_eq!(Journal::read(&file, morning()).unwrap().check().unwrap().differing, 0);
}

/// After an end the player is told what came of it, together with what was there before.
#[test]
fn what_is_told_after_an_end_is_what_would_be_read() {
    let (_folder, file) = place();
    let keeper = keeper(&file);
    assert_eq!(told(&keeper), course::Past::default());
    for (event, ms, by) in practised() {
        keeper.keep(Noted::of(&event, &harp(), by, at(ms)).unwrap());
    }
    for days in [1, 2, 9] {
        for event in [tried(1, Outcome::Landed), Event::Ended(Ending::Done)] {
            keeper.keep(Noted::of(&event, &harp(), By::Player, at(days * DAY_MS)).unwrap());
        }
    }
    let mut last = None;
    while last.as_ref().is_none_or(|past: &course::Past| past.notes.last().unwrap().day != TODAY.plus(9)) {
        last = Some(told(&keeper));
    }
    assert_eq!(keeper.news(), None::<KeeperNews>);
    assert_eq!(keeper.close(PATIENCE), 0);
    let journal = Journal::read(&file, morning()).unwrap();
    assert_eq!(last, Some(journal.past("anna").unwrap()));
}
