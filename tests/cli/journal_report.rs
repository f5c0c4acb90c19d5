//! `journal report`: a page of one player, or of several side by side, from journals and from exports.

use crate::kept::{TenTries, file, fill};
use crate::{NO_HOME, Run, text};
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

fn report(data: &Path, arguments: &[&str]) -> Run {
    journal(data, &[&["report"], arguments].concat())
}

fn journal(data: &Path, arguments: &[&str]) -> Run {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bendwright"));
    command.arg("journal").args(arguments).env_clear().env("HOME", NO_HOME).env("XDG_DATA_HOME", data);
    let Output { stdout, stderr, status } = command.output().unwrap();
    let read = |bytes| String::from_utf8(bytes).unwrap();
    Run { out: read(stdout), err: read(stderr), code: status.code().unwrap_or(-1) }
}

fn tries(days_ago: i64, tab: &'static str, landed: u32) -> TenTries {
    TenTries { days_ago, tab, landed, cents: 18.0 }
}

#[test]
fn a_month_is_told_as_markdown_and_as_a_page() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    let nothing = report(data, &[]);
    assert!(nothing.code == 0 && nothing.out.starts_with("Nothing is kept yet."), "{}", nothing.err);
    fill(data, "me", &[tries(40, "-3'", 2), tries(3, "-3'", 7), tries(2, "-3'", 8), tries(1, "-4", 10)]);
    let told = report(data, &[]);
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    assert!(told.out.starts_with("# Practice of me\n"), "{}", told.out);
    assert!(told.out.contains("| 15 of 20, 75\u{a0}% | 2 of 10, 20\u{a0}% | 18 short"), "{}", told.out);
    let page = data.join("me.html");
    let written = report(data, &["--html", text(&page)]);
    assert_eq!((written.code, written.err.as_str()), (0, ""));
    let html = fs::read_to_string(&page).unwrap();
    assert!(html.starts_with("<!DOCTYPE html>") && html.contains("<td>15 of 20, 75\u{a0}%</td>"), "{html}");
    assert!(!html.contains("http"), "it needs nothing else");
    // Another while.
    let short = report(data, &["--days", "3"]);
    assert!(short.out.contains("| 8 of 10, 80\u{a0}% | 7 of 10, 70\u{a0}% |"), "{}", short.out);
    // What is there is not lost.
    let again = report(data, &["--html", text(&page)]);
    assert!(again.code == 2 && again.err.contains("is there already"), "{}", again.err);
    assert_eq!(report(data, &["--html", text(&page), "--force"]).code, 0);
    let nowhere = report(data, &["--html", text(&data.join("no/such/folder.html"))]);
    assert!(nowhere.code == 1 && nowhere.err.contains("cannot be written"), "{}", nowhere.err);
}

#[test]
fn several_players_stand_side_by_side_from_journals_and_exports() {
    let folder = tempfile::tempdir().unwrap();
    let place = |name: &str| folder.path().join(name);
    fill(&place("one"), "me", &[tries(3, "-3'", 7)]);
    fill(&place("two"), "Ida", &[tries(5, "-4'", 9)]);
    fill(&place("two"), "Jo", &[tries(4, "6o", 1)]);
    let anna = place("anna.sqlite");
    fs::copy(file(&place("one")), &anna).unwrap();
    let export = journal(&place("two"), &["export"]);
    assert_eq!(export.code, 0, "{}", export.err);
    let class = place("class.jsonl");
    fs::write(&class, export.out).unwrap();
    let before = fs::read(&anna).unwrap();
    let told = report(&place("nobody"), &[text(&anna), text(&class)]);
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    let rows: Vec<&str> = told.out.lines().filter(|line| line.contains(" min on ")).collect();
    assert_eq!(rows.len(), 3, "{}", told.out);
    for (row, words) in rows.iter().zip(["| anna | 0 min on 1 day ", "| Ida | ", "| Jo | "]) {
        assert!(row.starts_with(words), "{row}");
    }
    assert!(rows[2].contains("6o: 1 of 10"), "{}", rows[2]);
    assert_eq!(fs::read(&anna).unwrap(), before, "a student's journal is only read");
    // One file of one player is that player's page; a name that comes twice tells its file.
    let one = report(&place("nobody"), &[text(&anna)]);
    assert!(one.out.starts_with("# Practice of anna\n"), "{}", one.out);
    let twice = report(&place("nobody"), &[text(&class), text(&class)]);
    assert!(twice.out.contains("| Jo (class) |"), "{}", twice.out);
}

#[test]
fn what_is_no_journal_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path();
    fs::write(data.join("table.csv"), "day,note\n1,2\n").unwrap();
    fs::write(data.join("other.sqlite"), [b"SQLite format 3\0".as_slice(), &[7; 4096]].concat()).unwrap();
    for (name, code, words) in [
        ("nothing.jsonl", 2, "no such file"),
        (".", 2, "this is no file"),
        ("table.csv", 2, "table.csv:1:"),
        ("other.sqlite", 1, "other.sqlite"),
    ] {
        let run = report(data, &[text(&data.join(name))]);
        assert_eq!((run.code, run.out.as_str()), (code, ""), "{name}: {}", run.err);
        assert!(run.err.contains(words), "{name}: {}", run.err);
    }
}
