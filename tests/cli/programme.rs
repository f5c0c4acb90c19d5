//! `programme`: what there is to follow, which one is followed, and where a player stands in it.

use crate::kept::{TenTries, fill};
use crate::{NO_HOME, Run, run, text};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

/// The program with folders of its own for what is kept and what is remembered, and with these settings.
struct Place(TempDir);

impl Place {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("config.toml"), "").unwrap();
        Self(folder)
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    fn run(&self, arguments: &[&str]) -> Run {
        let config = self.path().join("config.toml");
        let mut command = Command::new(env!("CARGO_BIN_EXE_bendwright"));
        command.args(["--config", text(&config), "programme"]).args(arguments);
        command.env_clear().env("HOME", NO_HOME);
        command.env("XDG_STATE_HOME", self.path()).env("XDG_DATA_HOME", self.path());
        let Output { stdout, stderr, status } = command.output().unwrap();
        let read = |bytes| String::from_utf8(bytes).unwrap();
        Run { out: read(stdout), err: read(stderr), code: status.code().unwrap_or(-1) }
    }

    fn json(&self) -> Value {
        serde_json::from_str(&self.run(&["--json"]).out).unwrap()
    }

    fn write(&self, name: &str, content: &str) {
        let file = self.path().join("programmes").join(name);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, content).unwrap();
    }
}

const OWN: &str = "\
title = \"Three draw\"
[[week]]
about = \"Find it.\"
items = [{ note = \"-3'\" }]
goals = [{ note = \"-3'\", landed = 8, within = 15 }]
[[week]]
items = [{ note = \"-3''\" }]
goals = [{ note = \"-3''\", landed = 5 }]
";

#[test]
fn without_one_to_follow_they_are_listed() {
    let place = Place::new();
    let run = place.run(&[]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    for (name, _) in course::programmes() {
        assert!(run.out.contains(name), "{}", run.out);
    }
    assert_eq!(place.run(&["--list"]).out, run.out);
    let json = place.json();
    assert_eq!(json["schema"], "bendwright/programme/1");
    assert_eq!((json["programmes"].as_array().unwrap().len(), &json["followed"]), (4, &Value::Null));
}

#[test]
fn one_is_shown_week_by_week() {
    let run = Place::new().run(&["twelve-weeks-of-bends"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    assert!(run.out.contains("Week 12, 20 minutes a day.") && run.out.contains("Take care: "), "{}", run.out);
    assert!(run.out.contains("half step on 4 draw: 5 of 10 landed"), "{}", run.out);
    assert!(run.out.contains("bendwright programme twelve-weeks-of-bends --begin today"), "{}", run.out);
    assert!(run.out.lines().all(|line| line.chars().count() <= 80), "{}", run.out);
}

#[test]
fn where_a_player_stands_is_told_from_what_was_kept() {
    let place = Place::new();
    place.write("three.toml", OWN);
    let begun = (today(&place), place.run(&["three", "--begin", "2026-01-01"]));
    assert_eq!((begun.1.code, begun.1.err.as_str()), (0, ""));
    let standing = place.run(&[]).out;
    assert!(standing.contains("Week 1 of 2, its first day of practice is still to come"), "{standing}");
    let tries = |days_ago, landed, cents| TenTries { days_ago, tab: "-3'", landed, cents };
    fill(place.path(), "me", &[tries(3, 5, 22.0), tries(2, 9, 18.0)]);
    let standing = place.run(&[]).out;
    assert!(standing.contains("Week 1 of 2, 2 days of practice so far"), "{standing}");
    assert!(
        standing.contains("9 of the last 10 landed, 18 cents short on average, typically 18 off"),
        "{standing}"
    );
    assert!(standing.contains("0 of 2 goals reached."), "{standing}");
    fill(place.path(), "me", &[tries(1, 9, 12.0)]);
    let standing = place.run(&[]).out;
    assert!(standing.contains("Week 2 of 2, its first day of practice is still to come"), "{standing}");
    assert!(standing.contains("1 of 2 goals reached."), "{standing}");
    let json = place.json();
    assert_eq!(json["standing"]["week"], 2);
    assert_eq!(json["standing"]["goals"][0]["week"], 1);
    assert_eq!(json["followed"]["began"], "2026-01-01");
    assert!(json["standing"]["goals"][0]["reached"].as_str().unwrap() < begun.0.as_str());
    // Of another player nothing is known, and he follows nothing.
    let other = place.run(&["--who", "Ida"]);
    assert!(other.out.contains("second-position") && !other.out.contains("Week"), "{}", other.out);
    let left = place.run(&["--none"]);
    assert!(left.code == 0 && left.out.contains("What you practised is kept"), "{}", left.err);
    assert!(place.run(&[]).out.contains("twelve-weeks-of-bends"));
}

/// Today, as the program has it.
fn today(place: &Place) -> String {
    place.json()["today"].as_str().unwrap().to_owned()
}

#[test]
fn what_cannot_be_followed_is_said() {
    let place = Place::new();
    for (arguments, words) in [
        (&["third-postion"][..], &["did you mean \"third-position\"?"][..]),
        (&["third-position", "--begin", "2999-01-01"], &["--begin: 2999-01-01 is still to come"]),
        (&["third-position", "--begin", "yesterday"], &["is no day", "2026-11-28", "or today"]),
        (&["third-position", "--begin", "today", "--no-journal"], &["goes by what the journal keeps"]),
        (&["nothing.toml"], &["there is no such file", "nothing.toml"]),
    ] {
        let run = place.run(arguments);
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{arguments:?}: {}", run.err);
        assert!(words.iter().all(|word| run.err.contains(word)), "{arguments:?}: {}", run.err);
    }
    // A file elsewhere can be looked at.
    let elsewhere = place.path().join("elsewhere.toml");
    fs::write(&elsewhere, OWN).unwrap();
    assert!(place.run(&[text(&elsewhere)]).out.contains("Three draw"));
    let run = place.run(&[text(&elsewhere), "--begin", "today"]);
    assert!(run.code == 2 && run.err.contains("lies in the folder beside your settings"), "{}", run.err);
}

#[test]
fn a_mistake_in_a_programme_has_its_place_and_leaves_the_others() {
    let place = Place::new();
    place.write("bad.toml", &OWN.replace("\"-3''\" }]", "\"-3'''''\" }]"));
    let list = place.run(&["--list"]);
    assert!(
        list.code == 0 && list.out.contains("third-position") && !list.out.contains("bad"),
        "{}",
        list.out
    );
    assert!(list.err.contains("bad.toml, line 7, column 19; left out)"), "{}", list.err);
    let shown = place.run(&["bad"]);
    assert!(shown.code == 2 && shown.err.contains("bad.toml, line 7, column 19"), "{}", shown.err);
    // One that is followed and goes away.
    place.write("three.toml", OWN);
    assert_eq!(place.run(&["three", "--begin", "today"]).code, 0);
    fs::remove_file(place.path().join("programmes/three.toml")).unwrap();
    let gone = place.run(&["--list"]);
    assert!(gone.err.contains("\"three\" that you follow is not there any more"), "{}", gone.err);
}

#[test]
fn the_example_of_a_programme_is_one() {
    let example = run(&["programme", "--example"]);
    assert_eq!((example.code, example.err.as_str()), (0, ""));
    let place = Place::new();
    place.write("mine.toml", &example.out);
    let shown = place.run(&["mine"]);
    assert!(
        shown.code == 0 && shown.err.is_empty() && shown.out.contains("Two weeks of 3 draw"),
        "{}",
        shown.err
    );
}
