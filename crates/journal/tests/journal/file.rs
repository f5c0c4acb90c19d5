//! The file: what is kept can be read again, whatever happens to it.

use crate::{PATIENCE, harp, keeper, morning, news, noted, place, told, tries};
use course::Past;
use journal::{By, Found, Journal, JournalError, KeeperNews, Noted, When, export};
use practice::{Ending, Event};
use scoring::Outcome;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

#[test]
fn what_is_kept_is_read_again_and_only_the_players_own_counts() {
    let (_folder, file) = place();
    let keeper = keeper(&file);
    for (number, outcome, by) in [
        (1, Outcome::Landed, By::Player),
        (2, Outcome::Short(20.0), By::Player),
        (3, Outcome::NotHeard(-60.0), By::Player),
        (4, Outcome::Landed, By::BuiltIn),
        (5, Outcome::Landed, By::Recording),
    ] {
        keeper.keep(noted(number, outcome, by));
    }
    let end = Noted::of(&Event::Ended(Ending::Done), &harp(), By::Player, morning()).unwrap();
    keeper.keep(end);
    assert!(Noted::of(&Event::Paused, &harp(), By::Player, morning()).is_none());
    assert_eq!(keeper.close(PATIENCE), 0);

    // Whoever comes next is told what came of it.
    let journal = Journal::read(&file, morning()).unwrap();
    let past = journal.past("anna").unwrap();
    assert_eq!(told(&crate::keeper(&file)), past);
    let last = past.last("drill hole-3-depths").unwrap();
    // Of three tries of the player's own one was not heard, and does not count.
    assert_eq!((last.day.to_string().as_str(), last.of, last.good, last.tempo), ("2026-11-28", 2, 1, None));
    assert_eq!(journal.past("somebody else").unwrap(), Past::default());
    let counts = journal.counts().unwrap();
    assert_eq!((counts.sessions, counts.tries, counts.runs), (1, 5, 0));
    assert_eq!(journal.check().unwrap().faults, Vec::<String>::new());

    let mut lines = Vec::new();
    assert_eq!(export(&journal, None, &mut lines).unwrap(), 1 + 6 + 5);
    let lines = String::from_utf8(lines).unwrap();
    let lines: Vec<serde_json::Value> =
        lines.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let of = |kind: &str| lines.iter().filter(|line| line["kind"] == kind).cloned().collect::<Vec<_>>();
    assert_eq!(of("session")[0]["player"], "anna");
    let second = &of("try")[1];
    assert_eq!((second["way"].as_str(), second["outcome"].as_str()), (Some("-3'"), Some("short")));
    assert_eq!((second["off_cents"].as_f64(), second["held_ms"].as_i64()), (Some(-12.5), Some(1_100)));
    assert_eq!(second["feedback"].as_str(), Some("always"));
    assert_eq!(
        (of("entry")[3]["by"].as_str(), of("entry")[5]["what"].as_str()),
        (Some("built-in"), Some("done"))
    );
}

#[test]
fn two_programs_write_at_once_and_lose_nothing() {
    let (_folder, file) = place();
    let keepers = [keeper(&file), keeper(&file)];
    for number in 1..=150 {
        for keeper in &keepers {
            keeper.keep(noted(number, Outcome::Landed, By::Player));
        }
    }
    for keeper in keepers {
        assert_eq!(keeper.close(PATIENCE), 0);
    }
    assert_eq!(tries(&file), 300);
}

#[test]
fn a_file_that_is_no_journal_is_set_aside_as_it_was() {
    let (folder, file) = place();
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    let notes = b"lunch with Ida on Sunday\n".repeat(400);
    fs::write(&file, &notes).unwrap();
    let keeper = keeper(&file);
    keeper.keep(noted(1, Outcome::Landed, By::Player));
    let KeeperNews::SetAside(aside, None) = news(&keeper) else { panic!("it is no journal") };
    assert_eq!(keeper.close(PATIENCE), 0);
    assert_eq!(fs::read(&aside).unwrap(), notes);
    assert!(aside.display().to_string().contains("damaged-2026-11-28"), "{}", aside.display());
    assert_eq!(tries(&file), 1);
    drop(folder);
}

#[test]
fn a_database_of_somebody_else_is_set_aside_too() {
    let (_folder, file) = place();
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    let other = rusqlite::Connection::open(&file).unwrap();
    other.execute_batch("CREATE TABLE recipe (name TEXT); PRAGMA user_version = 1;").unwrap();
    drop(other);
    let (journal, found) = Journal::open(&file, morning()).unwrap();
    assert!(matches!(found, Found::Damaged { .. }), "{found:?}");
    assert_eq!(journal.counts().unwrap().sessions, 0);
}

/// Pages in the middle are garbage: what is held is written to a new file, and the copy of the day before is offered.
#[test]
fn damaged_pages_cost_nothing_that_is_still_in_memory() {
    let (_folder, file) = place();
    let first = keeper(&file);
    for number in 1..=400 {
        first.keep(noted(number, Outcome::Landed, By::Player));
    }
    assert_eq!(first.close(PATIENCE), 0);
    let copy = Journal::read(&file, morning()).unwrap().back_up(morning()).unwrap();
    let mut bytes = fs::read(&file).unwrap();
    for byte in &mut bytes[4_096..] {
        *byte = !*byte;
    }
    fs::write(&file, &bytes).unwrap();
    let second = keeper(&file);
    second.keep(noted(1, Outcome::Landed, By::Player));
    let mut said = news(&second);
    while !matches!(said, KeeperNews::SetAside(..)) {
        said = news(&second);
    }
    assert_eq!(said, KeeperNews::SetAside(aside(&file), Some(copy)));
    assert_eq!(second.close(PATIENCE), 0);
    assert_eq!(tries(&file), 1);
    assert_eq!(fs::read(aside(&file)).unwrap(), bytes);
}

fn aside(file: &Path) -> PathBuf {
    PathBuf::from(format!("{}.damaged-2026-11-28", file.display()))
}

#[test]
fn a_journal_of_a_later_program_is_left_alone() {
    let (_folder, file) = place();
    drop(Journal::open(&file, morning()).unwrap());
    let later = rusqlite::Connection::open(&file).unwrap();
    later.pragma_update(None, "user_version", 99).unwrap();
    drop(later);
    let before = fs::read(&file).unwrap();
    let keeper = keeper(&file);
    keeper.keep(noted(1, Outcome::Landed, By::Player));
    let KeeperNews::Given(why) = news(&keeper) else { panic!("it is of a later version") };
    assert!(why.contains("version 99") && why.contains("understands 5"), "{why}");
    assert_eq!((keeper.close(PATIENCE), fs::read(&file).unwrap() == before), (0, true));
    assert!(matches!(Journal::read(&file, morning()), Err(JournalError::Newer(_, 99, 5))));
}

#[test]
fn a_folder_in_its_place_is_told() {
    let (_folder, file) = place();
    fs::create_dir_all(&file).unwrap();
    let keeper = keeper(&file);
    let KeeperNews::Given(why) = news(&keeper) else { panic!("it is a folder") };
    assert!(why.contains("no regular file"), "{why}");
}

#[test]
fn what_cannot_be_written_is_held_and_written_when_it_can_be() {
    let (_folder, file) = place();
    let blocked = file.parent().unwrap();
    fs::write(blocked, "in the way").unwrap();
    let keeper = keeper(&file);
    for number in 1..=40 {
        keeper.keep(noted(number, Outcome::Landed, By::BuiltIn));
    }
    std::thread::sleep(Duration::from_millis(50));
    assert_eq!(keeper.news(), None, "the built-in player needs no journal");
    keeper.keep(noted(41, Outcome::Landed, By::Player));
    assert!(matches!(news(&keeper), KeeperNews::Held(_)));
    fs::remove_file(blocked).unwrap();
    keeper.keep(noted(42, Outcome::Landed, By::Player));
    assert_eq!(news(&keeper), KeeperNews::Written, "it is told once, and then that it is written");
    assert_eq!(keeper.close(PATIENCE), 0);
    assert_eq!(tries(&file), 42);
}

#[test]
fn what_is_lost_at_the_end_is_counted() {
    let (_folder, file) = place();
    fs::write(file.parent().unwrap(), "in the way").unwrap();
    let keeper = keeper(&file);
    for number in 1..=3 {
        keeper.keep(noted(number, Outcome::Landed, By::Player));
    }
    assert_eq!(keeper.close(PATIENCE), 3);
}

#[test]
fn seven_copies_are_kept_and_a_broken_one_is_not_offered() {
    let (_folder, file) = place();
    let (journal, _) = Journal::open(&file, morning()).unwrap();
    let copies: Vec<PathBuf> = (0..9)
        .map(|day| {
            journal.back_up(When { unix_ms: morning().unix_ms + day * 86_400_000, ..morning() }).unwrap()
        })
        .collect();
    assert_eq!(copies.iter().filter(|copy| copy.exists()).count(), 7);
    assert!(!copies[1].exists() && copies[2].exists());
    fs::write(&copies[8], "").unwrap();
    drop(journal);
    fs::write(&file, b"no journal any more, and long enough to be read as one".repeat(40)).unwrap();
    let (_, found) = Journal::open(&file, morning()).unwrap();
    let Found::Damaged { backup, .. } = found else { panic!("it is damaged") };
    assert_eq!(backup.as_ref(), Some(&copies[7]));
}

#[test]
fn a_hole_among_the_numbers_is_found() {
    let (_folder, file) = place();
    let keeper = keeper(&file);
    for number in 1..=5 {
        keeper.keep(noted(number, Outcome::Landed, By::Player));
    }
    assert_eq!(keeper.close(PATIENCE), 0);
    let hand = rusqlite::Connection::open(&file).unwrap();
    hand.execute_batch(
        "PRAGMA foreign_keys = off; DELETE FROM try WHERE number = 3; DELETE FROM entry WHERE number = 3;",
    )
    .unwrap();
    drop(hand);
    let faults = Journal::read(&file, morning()).unwrap().check().unwrap().faults;
    assert!(faults.len() == 1 && faults[0].contains("4 entries, the last of them number 5"), "{faults:?}");
}
