//! What goes out of the journal and comes into it, through the built binary.

#![allow(clippy::print_stderr, reason = "which program is missing is for whoever reads the output")]

use crate::journal::{folder, said};
use crate::text;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

/// A data folder in which two players practised: twelve tries of a recording, and two runs of the built-in player.
fn practised() -> tempfile::TempDir {
    let (folder, data) = (folder(), tempfile::tempdir().unwrap());
    let (drill, wav) = (folder.path().join("drill.toml"), folder.path().join("take.wav"));
    for arguments in [
        &["drill", text(&drill), "--from", text(&wav), "--plain", "--who", "Ida, \"the second\""][..],
        &["scale", "--from", "player", "--runs", "2", "--plain"],
    ] {
        assert_eq!(said(data.path(), arguments).0, 0);
    }
    data
}

fn exported(data: &Path, more: &[&str]) -> String {
    let (code, out, err) = said(data, &[&["journal", "export"], more].concat());
    assert_eq!(code, 0, "{err}");
    out
}

#[test]
fn an_export_that_is_imported_is_the_same_export() {
    let (data, other) = (practised(), tempfile::tempdir().unwrap());
    let (data, other) = (data.path(), other.path());
    let all = exported(data, &[]);
    let ida = exported(data, &["--who", "Ida, \"the second\""]);
    assert!(ida.len() < all.len() && !ida.contains("built-in"), "{ida}");
    let (part, whole) = (data.join("ida.jsonl"), data.join("all.jsonl"));
    fs::write(&part, ida).unwrap();
    fs::write(&whole, &all).unwrap();
    let (code, out, err) = said(other, &["journal", "import", text(&part), text(&whole)]);
    assert_eq!(code, 0, "{err}");
    // The beginning and the end of a drill, and of runs, are entries too: 12 + 2 and 2 + 2.
    assert!(out.contains("ida.jsonl: 14 entries are new, 0 were here already"), "{out}");
    assert!(out.contains("all.jsonl: 4 entries are new, 14 were here already"), "{out}");
    assert_eq!(exported(other, &[]), all);
    assert_eq!(said(other, &["journal", "check"]).1.trim(), "All is well: 12 tries and 2 runs.");
}

#[test]
fn what_is_no_export_is_refused_with_its_place() {
    let data = practised();
    let data = data.path();
    let before = exported(data, &[]);
    let file = data.join("somebody.csv");
    fs::write(&file, "Date,Song,Minutes\n2026-11-01,Slow blues,20\n").unwrap();
    let (code, _, err) = said(data, &["journal", "import", text(&file)]);
    assert!(code == 2 && err.contains("somebody.csv:1:1: this is no line of an export"), "{code}: {err}");
    fs::write(&file, before.replacen("\"way\":\"", "\"way\":\"?", 1)).unwrap();
    let line = before.lines().position(|line| line.contains("\"way\"")).unwrap() + 1;
    let (code, _, err) = said(data, &["journal", "import", text(&file)]);
    assert!(
        code == 2 && err.contains(&format!("somebody.csv:{line}:")) && err.contains("way has to be"),
        "{err}"
    );
    for absent in ["not-there.jsonl", "."] {
        let (code, _, err) = said(data, &["journal", "import", text(&data.join(absent))]);
        assert!(code == 2 && err.contains(absent), "{code}: {err}");
    }
    assert_eq!(exported(data, &[]), before);
}

/// Rows of each table, counted by a program of somebody else's; `None` where it is not installed, which is said.
fn counted_by(program: &mut Command, what: &str) -> Option<String> {
    match program.output() {
        Ok(output) => {
            assert!(output.status.success(), "{what}: {}", String::from_utf8_lossy(&output.stderr));
            Some(String::from_utf8(output.stdout).unwrap())
        }
        Err(error) => {
            eprintln!("{what} cannot be asked: {error}");
            assert!(std::env::var_os("BENDWRIGHT_CHECK_ALL").is_none(), "{what} is not installed");
            None
        }
    }
}

/// The tables are read by Python's module `csv` and by the import of the tool `sqlite3`, and have as many rows as there
/// are lines.
#[test]
fn tables_have_the_same_rows_for_other_readers() {
    let data = practised();
    let data = data.path();
    let mut rows: BTreeMap<String, usize> = BTreeMap::new();
    for line in exported(data, &[]).lines() {
        let line: serde_json::Value = serde_json::from_str(line).unwrap();
        *rows.entry(line["kind"].as_str().unwrap().to_owned()).or_default() += 1;
    }
    rows.remove("end");
    let tables = data.join("tables");
    let (code, out, err) = said(data, &["journal", "export", "--csv", text(&tables)]);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("2 in session.csv") && out.contains("12 in try.csv"), "{out}");
    assert_eq!(fs::read_dir(&tables).unwrap().count(), 10);
    assert!(fs::read_to_string(tables.join("session.csv")).unwrap().contains("\"Ida, \"\"the second\"\"\""));
    for (table, count) in &rows {
        let file = tables.join(format!("{table}.csv"));
        let script = "import csv, sys; rows = list(csv.reader(open(sys.argv[1], newline=''), strict=True)); \
                      assert len({len(row) for row in rows}) == 1; print(len(rows) - 1)";
        if let Some(counted) = counted_by(Command::new("python3").args(["-c", script]).arg(&file), "python3")
        {
            assert_eq!(counted.trim(), count.to_string(), "{table}");
        }
        let import = format!(".import '{}' it", file.display());
        let tool = &mut Command::new("sqlite3");
        let tool = tool.args([":memory:", ".mode csv", &import, "SELECT count(*) FROM it;"]);
        if let Some(counted) = counted_by(tool, "sqlite3") {
            assert_eq!(counted.trim(), count.to_string(), "{table}");
        }
    }
    let (code, columns, _) = said(data, &["journal", "export", "--columns"]);
    assert_eq!(code, 0);
    for table in fs::read_dir(&tables).unwrap() {
        let head = fs::read_to_string(table.unwrap().path()).unwrap();
        for column in head.lines().next().unwrap().split(',') {
            assert!(columns.contains(&format!("\n  {column} ")), "{column} is not told");
        }
    }
}

#[test]
fn a_remark_is_kept_with_its_day() {
    let data = tempfile::tempdir().unwrap();
    let data = data.path();
    let remark = |more: &[&str]| said(data, &[&["journal", "remark", "--who", "Ida"], more].concat());
    assert_eq!(remark(&["shoulders down", "--day", "2026-11-03"]).0, 0);
    let (code, out, err) = remark(&["jaw first", "--day", "2026-11-01"]);
    assert!(code == 0 && out.contains("Remarked about 2026-11-01 of Ida."), "{out}{err}");
    assert_eq!(remark(&[]).1, "2026-11-01  jaw first\n2026-11-03  shoulders down\n");
    for (text, day) in [("  ", "2026-11-01"), ("fine", "2026-02-30")] {
        let (code, _, err) = remark(&[text, "--day", day]);
        assert!(code == 2 && !err.is_empty(), "{code}: {err}");
    }
    assert_eq!(said(data, &["journal", "remark"]).1, "", "nothing was remarked about anybody else");
    assert_eq!(said(data, &["journal", "check"]).1.trim(), "All is well: 0 tries and 0 runs.");
}

#[test]
fn forgetting_asks_and_leaves_a_copy() {
    let data = practised();
    let data = data.path();
    let before = exported(data, &[]);
    let (code, _, err) = said(data, &["journal", "forget", "--before", "yesterday"]);
    assert!(code == 2 && err.contains("such as 2026-11-28"), "{err}");
    let (code, out, _) = said(data, &["journal", "forget", "--before", "2020-01-01", "--yes"]);
    assert!(code == 0 && out.contains("Nothing of all players ended before 2020-01-01."), "{out}");
    let (code, _, err) = said(data, &["journal", "forget", "--before", "9999-01-01"]);
    assert!(code == 2 && err.contains("2 sessions of all players") && err.contains("--yes"), "{err}");
    assert_eq!(exported(data, &[]), before);
    let who = ["--who", "Ida, \"the second\""];
    let (code, out, err) =
        said(data, &[&["journal", "forget", "--before", "9999-01-01", "--yes"], &who[..]].concat());
    assert!(code == 0 && out.contains("Forgotten: 1 session of Ida"), "{out}{err}");
    assert_eq!(said(data, &["journal", "check"]).1.trim(), "All is well: 0 tries and 2 runs.");
    // The copy that it tells of brings it back.
    let copies = data.join("bendwright/journal.sqlite.copies");
    let copy = fs::read_dir(copies).unwrap().next().unwrap().unwrap().path();
    assert!(out.contains(copy.file_name().unwrap().to_str().unwrap()), "{out}");
    let (code, out, err) = said(data, &["journal", "restore", text(&copy)]);
    assert!(code == 0 && out.contains("before-restore"), "{out}{err}");
    assert_eq!(exported(data, &[]), before);
}
