//! What goes out comes in again, once; what is forgotten is gone; a copy comes back.

use crate::past::practised_by;
use crate::{PATIENCE, harp, keeper, morning, noted, place, tries};
use journal::{By, ImportError, Imported, Journal, JournalError, Noted, Sitting, When, export};
use proptest::prelude::*;
use scoring::Outcome;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

fn lines(file: &Path, who: Option<&str>) -> String {
    let mut lines = Vec::new();
    export(&Journal::read(file, morning()).unwrap(), who, &mut lines).unwrap();
    String::from_utf8(lines).unwrap()
}

fn empty() -> (tempfile::TempDir, PathBuf, Journal) {
    let (folder, file) = place();
    let (journal, _) = Journal::open(&file, morning()).unwrap();
    (folder, file, journal)
}

/// A journal in which two players practised.
fn full() -> (tempfile::TempDir, PathBuf) {
    let (folder, file) = place();
    practised_by(&file, "anna");
    practised_by(&file, "Ida, \"the second\"");
    (folder, file)
}

#[test]
fn an_export_of_what_was_imported_is_the_same_and_nothing_is_doubled() {
    let (_folder, file) = full();
    let first = lines(&file, None);
    let (_other, copy, mut journal) = empty();
    let entries = first.lines().filter(|line| line.contains("\"kind\":\"entry\"")).count() as u64;
    assert_eq!(journal.import(first.as_bytes()).unwrap(), Imported { new: entries, known: 0 });
    assert_eq!(lines(&copy, None), first);
    assert_eq!(journal.import(first.as_bytes()).unwrap(), Imported { new: 0, known: entries });
    // Windows ends lines otherwise, and two exports may stand in one file.
    let twice = format!("{}{first}", first.replace('\n', "\r\n"));
    assert_eq!(journal.import(twice.as_bytes()).unwrap(), Imported { new: 0, known: 2 * entries });
    assert_eq!(lines(&copy, None), first);
    let checked = journal.check().unwrap();
    assert_eq!((checked.faults, checked.differing), (Vec::new(), 0));
    let there = Journal::read(&file, morning()).unwrap();
    assert_eq!(journal.past("anna").unwrap(), there.past("anna").unwrap());
}

/// Exports of one player each, as the students of a teacher bring them, make up the whole journal.
#[test]
fn the_parts_of_the_players_make_the_whole() {
    let (_folder, file) = full();
    let (_other, copy, mut journal) = empty();
    for who in ["Ida, \"the second\"", "anna"] {
        let part = lines(&file, Some(who));
        assert!(part.lines().filter(|line| line.contains("\"kind\":\"session\"")).count() == 1);
        journal.import(part.as_bytes()).unwrap();
    }
    assert_eq!(lines(&copy, None), lines(&file, None));
}

#[test]
fn what_no_export_wrote_is_refused_with_its_place_and_leaves_nothing() {
    let (_folder, file) = full();
    let good = lines(&file, None);
    let with = |from: &str, to: &str| good.replacen(from, to, 1);
    let (_other, copy, mut journal) = empty();
    let untouched = lines(&copy, None);
    let mut refused = |text: String| match journal.import(text.as_bytes()) {
        Err(ImportError::Line(line, column, what)) => format!("{line}:{column}: {what}"),
        Err(other) => other.to_string(),
        Ok(imported) => panic!("{imported:?}"),
    };
    for (text, said) in [
        ("Date,Song,Minutes\n2026-11-01,Slow blues,20\n".to_owned(), "1:1: this is no line of an export"),
        (with("\"kind\":\"entry\"", "\"kind\":\"song\""), "kind has to be one of session, entry, try"),
        (with("\"way\":\"-3'\"", "\"way\":\"three\""), "way has to be a way as tab"),
        (with("\"by\":\"player\"", "\"by\":\"me\""), "by has to be one of player, built-in"),
        (with("\"attempt\":1,", "\"attempt\":-1,"), "attempt has to be a whole number from 0"),
        (with("\"attempt\":1,", ""), "attempt is missing"),
        (with("\"attempt\":1,", "\"attempt\":1,\"mood\":3,"), "a try has no \"mood\""),
        (with("\"at_ms\":17", "\"at_ms\":999999999999917"), "at_ms"),
        (with("\"off_cents\":-12.5", "\"off_cents\":1e9"), "off_cents has to be a number up to"),
        // A line that is missing, and a file that broke off.
        (good.replacen(good.lines().nth(5).unwrap(), "", 1), "this is no line of an export"),
        (good.split_inclusive('\n').skip(1).collect(), "session is no session of a line before"),
        (good.split_inclusive('\n').take(20).collect(), "it is not whole: its end is missing"),
        (String::new(), "its end is missing"),
    ] {
        assert_ne!(text, good);
        let refusal = refused(text);
        assert!(refusal.contains(said), "{refusal} against {said}");
    }
    let lost = good.split_inclusive('\n').filter(|line| !line.contains("\"kind\":\"run\"")).collect();
    assert!(refused(lost).contains("lines before it; some are missing or doubled"));
    assert!(matches!(journal.import(&[0x50, 0xff][..]), Err(ImportError::Line(1, 2, _))));
    assert_eq!(lines(&copy, None), untouched);
}

#[test]
fn an_entry_that_is_another_one_here_is_refused() {
    let (_folder, file) = full();
    let good = lines(&file, None);
    let (_other, copy, mut journal) = empty();
    journal.import(good.as_bytes()).unwrap();
    let other = good.replacen("\"what\":\"drill hole-3-depths\"", "\"what\":\"drill other\"", 1);
    let Err(ImportError::Line(_, 1, what)) = journal.import(other.as_bytes()) else {
        panic!("it is another one")
    };
    assert!(what.contains("is here already, and another one"), "{what}");
    let other = good.replacen("\"player\":\"anna\"", "\"player\":\"Anna\"", 1);
    assert!(journal.import(other.as_bytes()).is_err());
    assert_eq!(lines(&copy, None), good);
}

static FULL: LazyLock<String> = LazyLock::new(|| {
    let (_folder, file) = full();
    lines(&file, None)
});

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Bytes that are lost or changed never end in a panic, and never in half a file.
    #[test]
    fn a_file_with_other_bytes_is_taken_whole_or_not_at_all(place in 0.0..1.0_f64, byte: u8, cut: bool) {
        let mut bytes = FULL.clone().into_bytes();
        let at = (place * bytes.len() as f64) as usize;
        if cut { bytes.truncate(at) } else { bytes[at] = byte }
        let (_other, copy, mut journal) = empty();
        let before = lines(&copy, None);
        if journal.import(&bytes[..]).is_err() {
            prop_assert_eq!(lines(&copy, None), before);
        } else {
            prop_assert_eq!(journal.check().unwrap().faults, Vec::<String>::new());
        }
    }
}

#[test]
fn what_is_forgotten_is_gone_and_the_rest_is_whole() {
    let (_folder, file) = place();
    for (day, player) in [(0, "anna"), (1, "anna"), (1, "ida"), (5, "anna")] {
        let now = When { unix_ms: morning().unix_ms + day * 86_400_000, ..morning() };
        let (mut journal, _) = Journal::open(&file, now).unwrap();
        let event = crate::tried(1, Outcome::Landed);
        let entries: Vec<Noted> = (0..3)
            .map(|n| When { unix_ms: now.unix_ms + n, ..now })
            .filter_map(|when| Noted::of(&event, &harp(), By::Player, when))
            .collect();
        journal.add(&Sitting::new(player, "test-of-forgetting", now), 1, &entries).unwrap();
    }
    let (mut journal, _) = Journal::open(&file, morning()).unwrap();
    let before = "2026-11-30".parse().unwrap();
    let older = journal.older(None, before).unwrap();
    assert_eq!((older.sessions, older.entries), (3, 9));
    assert_eq!(journal.older(None, "2026-11-28".parse().unwrap()).unwrap().sessions, 0);
    assert_eq!(journal.forget(Some("ida"), before).unwrap().sessions, 1);
    assert_eq!(journal.past("ida").unwrap(), course::Past::default());
    assert_eq!(journal.forget(None, before).unwrap().sessions, 2);
    assert_eq!((journal.counts().unwrap().tries, journal.past("anna").unwrap().notes.len()), (3, 1));
    let checked = journal.check().unwrap();
    assert_eq!((checked.faults, checked.differing), (Vec::new(), 0));
    // Nothing of it is left in a free page.
    drop(journal);
    let bytes = fs::read(&file).unwrap();
    let left = bytes.windows(18).filter(|some| some == b"test-of-forgetting").count();
    assert_eq!(left, 1, "one session remains");
}

#[test]
fn a_copy_comes_back_and_what_stood_there_is_set_aside_with_its_log() {
    let (_folder, file) = place();
    let first = keeper(&file);
    first.keep(noted(1, Outcome::Landed, By::Player));
    assert_eq!(first.close(PATIENCE), 0);
    let copy = Journal::read(&file, morning()).unwrap().back_up(morning()).unwrap();
    let second = keeper(&file);
    for number in 1..=5 {
        second.keep(noted(number, Outcome::Landed, By::Player));
    }
    // Whoever has it open now would write into what is set aside.
    while tries(&file) < 6 {}
    let refused = Journal::restore(&file, &copy, morning()).unwrap_err();
    assert!(refused.to_string().contains("another program holds it"), "{refused}");
    assert_eq!(second.close(PATIENCE), 0);
    assert_eq!(tries(&file), 6);
    // A log that was left behind must not be played into the copy.
    let aside = Journal::restore(&file, &copy, morning()).unwrap().unwrap();
    assert_eq!((tries(&file), tries(&aside)), (1, 6));
    assert!(matches!(
        Journal::restore(&file, &file.with_extension("none"), morning()),
        Err(JournalError::Folder(..))
    ));
    fs::write(file.with_extension("text"), "no journal").unwrap();
    assert!(Journal::restore(&file, &file.with_extension("text"), morning()).is_err());
    assert_eq!(tries(&file), 1);
    // Where there is none yet.
    let (_other, fresh) = place();
    fs::create_dir_all(fresh.parent().unwrap()).unwrap();
    assert_eq!(Journal::restore(&fresh, &aside, morning()).unwrap(), None);
    assert_eq!(tries(&fresh), 6);
}
