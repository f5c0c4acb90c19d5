//! A journal of an earlier program: it becomes what a new one is, and nothing in it is lost.
//!
//! `v1.sqlite` was written by the program of 28 November 2026 (commit 2138814) while the built-in player played three
//! drills and runs under two names in three time zones; for this fixture its notes were kept as the player's own.
//! `v1.sql` holds the tables of `v1.sqlite`.

use crate::{PATIENCE, harp, keeper, morning, noted, place, try_of};
use journal::{By, ImportError, Journal, Noted, TABLES, export, export_csv};
use practice::{Event, Feedback, Tried};
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

/// Tables, each with its columns as they stand in a query.
type Columns = Vec<(String, String)>;

/// The columns that these tables have now.
pub(crate) fn columns(connection: &Connection, tables: &[&str]) -> Columns {
    let of = |table: &str| {
        let query = "SELECT group_concat(name, ', ') FROM pragma_table_info(?1)";
        connection.query_row(query, [table], |row| row.get(0)).unwrap()
    };
    tables.iter().map(|table| ((*table).to_owned(), of(table))).collect()
}

/// Every row of these columns, as `SQLite` writes them: what a later version adds is no difference.
pub(crate) fn rows(connection: &Connection, columns: &Columns) -> Vec<String> {
    let mut all = Vec::new();
    for (table, columns) in columns {
        let mut query = connection.prepare(&format!("SELECT {columns} FROM {table}")).unwrap();
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
    let connection = Connection::open(&file).unwrap();
    let columns = columns(&connection, &V1_TABLES);
    let before = rows(&connection, &columns);
    drop(connection);
    // Counted by the tool `sqlite3` when the fixture was made.
    assert_eq!(before.len(), 22 + 4 + 35 + 22 + 5 + 65);
    drop(Journal::open(&file, morning()).unwrap());
    assert_eq!(rows(&Connection::open(&file).unwrap(), &columns), before);

    let (_other, fresh) = place();
    drop(Journal::open(&fresh, morning()).unwrap());
    assert_eq!(schema(&file), schema(&fresh));

    // The copy is the old journal.
    let copy = PathBuf::from(format!("{}.copies/2026-11-28-version-1.sqlite", file.display()));
    let copy = Connection::open(copy).unwrap();
    assert_eq!(rows(&copy, &columns), before);
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

/// The tables of version 4 are those of the first four steps; with them, one try.
const VERSION_4: [&str; 5] = [
    include_str!("../../src/schema/version_1.sql"),
    include_str!("../../src/schema/version_2.sql"),
    include_str!("../../src/schema/chords.sql"),
    include_str!("../../src/schema/answers.sql"),
    "INSERT INTO word VALUES (1, 'drill hole-3-depths'), (2, 'C Richter'), (3, '-3'''), (4, 'landed');
     INSERT INTO session VALUES (1, 'before', 'anna', 1795852800000, 3600, 'an earlier program');
     INSERT INTO entry VALUES (1, 1, 1795852800000, 3600, 'player', 'try', 1, 2);
     INSERT INTO try VALUES (1, 1, 0, 0, 1, 3, 0.0, 800, 25.0, 4, -3.5, 1.0, 200, 900, 2.0, 0.0, 0.0, 0.4, 0.5, 30.0, NULL, NULL);
     PRAGMA user_version = 4;",
];

/// A journal of version 4 with one try, to which one try with each kind of feedback was added.
fn with_feedback(file: &Path) -> Journal {
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    let before = Connection::open(file).unwrap();
    for step in VERSION_4 {
        before.execute_batch(step).unwrap();
    }
    drop(before);
    let keeper = keeper(file);
    for (number, feedback) in (1..).zip(Feedback::ALL) {
        let tried = try_of::tried(&harp(), ("-3'", -12.5), (number, Outcome::Landed));
        let event = Event::Judged(Box::new(Tried { feedback, ..tried }));
        keeper.keep(Noted::of(&event, &harp(), By::Player, morning()).unwrap());
    }
    assert_eq!(keeper.close(PATIENCE), 0);
    Journal::read(file, morning()).unwrap()
}

fn exported(journal: &Journal) -> String {
    let mut lines = Vec::new();
    export(journal, None, &mut lines).unwrap();
    String::from_utf8(lines).unwrap()
}

/// Nobody knows with which feedback the tries of version 4 were played.
#[test]
fn a_journal_of_the_version_before_takes_the_feedback_of_each_try() {
    let (_folder, file) = place();
    let journal = with_feedback(&file);
    assert_eq!(journal.check().unwrap().faults, Vec::<String>::new());
    let text = exported(&journal);
    let lines = text.lines().map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap());
    let mut told: Vec<(bool, Option<String>)> = lines
        .filter(|line| line["kind"] == "try")
        .map(|line| (line["session"] == "before", line["feedback"].as_str().map(str::to_owned)))
        .collect();
    told.sort_unstable();
    let word = |word: &str| (false, Some(word.to_owned()));
    assert_eq!(told, [word("after"), word("always"), word("fading"), (true, None)]);

    let mut table = Vec::new();
    let of_tries = TABLES.iter().find(|table| table.name == "try").unwrap();
    assert_eq!(export_csv(&journal, of_tries, None, &mut table).unwrap(), 4);
    let table = String::from_utf8(table).unwrap();
    assert!(table.lines().next().unwrap().ends_with(",feedback"), "{table}");
    assert_eq!(table.lines().filter(|line| line.ends_with(",fading")).count(), 1, "{table}");
}

#[test]
fn the_feedback_of_a_try_comes_in_again_and_nothing_else_in_its_place() {
    let (_folder, file) = place();
    let text = exported(&with_feedback(&file));
    let import = |text: &str| {
        let (folder, copy) = place();
        let (mut other, _) = Journal::open(&copy, morning()).unwrap();
        let imported = other.import(text.as_bytes()).map(|_| exported(&other));
        drop(folder);
        imported
    };
    assert_eq!(import(&text).unwrap(), text);
    // What an earlier program exported has no such column.
    let earlier = text.replace("\"feedback\":\"fading\",", "");
    assert_ne!(earlier, text);
    assert_eq!(import(&earlier).unwrap(), text.replace("\"feedback\":\"fading\"", "\"feedback\":null"));
    let wrong = import(&text.replace("\"fading\"", "\"sometimes\""));
    assert!(
        matches!(&wrong, Err(ImportError::Line(_, _, what)) if what.contains("always, fading, after")),
        "{wrong:?}"
    );
}
