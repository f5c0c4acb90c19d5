//! A journal of an earlier program: it becomes what a new one is, and nothing in it is lost.
//!
//! `v1.sqlite` was written by the program of 28 November 2026 (commit 2138814) while the built-in player played three drills and
//! runs under two names in three time zones; for the fixture the program took it for the player. `v1.sql` are its tables.

use crate::{PATIENCE, keeper, morning, noted, place};
use journal::{By, Journal, export};
use rusqlite::Connection;
use scoring::Outcome;
use std::fs;
use std::path::{Path, PathBuf};

const V1: &[u8] = include_bytes!("v1.sqlite");

fn old() -> (tempfile::TempDir, PathBuf) {
    let (folder, file) = place();
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    fs::write(&file, V1).unwrap();
    (folder, file)
}

/// The texts of all tables and indices.
fn schema(file: &Path) -> Vec<String> {
    let connection = Connection::open(file).unwrap();
    let mut query = connection
        .prepare("SELECT name || ': ' || ifnull(sql, '') FROM sqlite_master ORDER BY name")
        .unwrap();
    query.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect()
}

/// The tables of the first version.
const V1_TABLES: [&str; 6] = ["word", "session", "entry", "try", "run", "run_note"];

/// Every row of these tables, as `SQLite` writes them.
pub(crate) fn rows(connection: &Connection, tables: &[&str]) -> Vec<String> {
    let mut all = Vec::new();
    for table in tables {
        let mut query = connection.prepare(&format!("SELECT * FROM {table}")).unwrap();
        let columns = query.column_count();
        let mut rows = query.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            let cells: Vec<_> = (0..columns).map(|column| row.get_ref(column).unwrap()).collect();
            all.push(format!("{table} {cells:?}"));
        }
    }
    all
}

#[test]
fn an_old_journal_becomes_a_new_one_and_keeps_every_row() {
    let (_folder, file) = old();
    let before = rows(&Connection::open(&file).unwrap(), &V1_TABLES);
    // Counted by the tool `sqlite3` when the fixture was made.
    assert_eq!(before.len(), 22 + 4 + 35 + 22 + 5 + 65);
    drop(Journal::open(&file, morning()).unwrap());
    assert_eq!(rows(&Connection::open(&file).unwrap(), &V1_TABLES), before);

    let (_other, fresh) = place();
    drop(Journal::open(&fresh, morning()).unwrap());
    assert_eq!(schema(&file), schema(&fresh));

    // The copy is the old journal.
    let copy = PathBuf::from(format!("{}.copies/2026-11-28-version-1.sqlite", file.display()));
    let copy = Connection::open(copy).unwrap();
    assert_eq!(rows(&copy, &V1_TABLES), before);
    assert_eq!(copy.pragma_query_value(None, "user_version", |row| row.get::<_, i64>(0)), Ok(1));
}

#[test]
fn what_an_old_journal_tells_is_worked_out_when_it_is_upgraded() {
    let (_folder, file) = old();
    // Whoever only reads upgrades as well.
    let journal = Journal::read(&file, morning()).unwrap();
    let checked = journal.check().unwrap();
    assert_eq!((checked.faults, checked.differing), (Vec::new(), 0));
    let ida = journal.past("Ida").unwrap();
    // What the program said at the end of its drills; its three runs were of 13 notes each.
    let first = ida.last("drill holes-1-4-6").unwrap();
    assert_eq!((first.good, first.of, first.day.to_string().as_str()), (9, 12, "2026-11-28"));
    let second = ida.last("drill hole-3-depths").unwrap();
    // It was Sunday already in Kiritimati.
    assert_eq!((second.good, second.of, second.day.to_string().as_str()), (7, 10, "2026-11-29"));
    assert_eq!(ida.paces.iter().map(|pace| pace.runs).sum::<u32>(), 3);
    let me = journal.past("me").unwrap();
    assert_eq!((me.things.len(), me.notes.len(), me.paces[0].runs), (1, 0, 2));
}

#[test]
fn an_old_journal_goes_on() {
    let (_folder, file) = old();
    let keeper = keeper(&file);
    keeper.keep(noted(1, Outcome::Landed, By::Player));
    assert_eq!(keeper.close(PATIENCE), 0);
    let journal = Journal::read(&file, morning()).unwrap();
    assert_eq!(journal.counts().unwrap().tries, 23);
    let mut lines = Vec::new();
    export(&journal, None, &mut lines).unwrap();
    assert!(String::from_utf8(lines).unwrap().contains("\"player\":\"anna\""));
}

/// Without a copy the old journal stays as it is.
#[test]
fn nothing_is_upgraded_without_a_copy() {
    let (_folder, file) = old();
    fs::write(format!("{}.copies", file.display()), "in the way").unwrap();
    assert!(Journal::open(&file, morning()).is_err());
    assert_eq!(fs::read(&file).unwrap(), V1);
}

#[test]
fn two_programs_upgrade_at_once() {
    let (_folder, file) = old();
    std::thread::scope(|scope| {
        let all: Vec<_> = (0..4).map(|_| scope.spawn(|| Journal::open(&file, morning()).map(drop))).collect();
        for one in all {
            one.join().unwrap().unwrap();
        }
    });
    assert_eq!(Journal::read(&file, morning()).unwrap().counts().unwrap().tries, 22);
}
