//! `config`, and what is remembered from one time to the next.

use crate::{printed, run, run_in, text};
use std::fs;
use std::path::PathBuf;
use tempfile::TempDir;

fn folder(settings: &str) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("config.toml");
    fs::write(&file, settings).unwrap();
    (folder, file)
}

const SETTINGS: &str = "harp = \"low F\"\nowned = \"C, D, A natural minor\"\ntemperament = \"just, first position\"\na4 = 442\n\
    theme = \"mono\"\nascii = true\nreduced_motion = true\n[tolerance]\ncentred = 5\nin_tune = 12.5\n[input]\nfrom = \"mic\"\n\
    device = \"Jack\"\nchannel = \"left\"\n[ability]\nlevel = \"bends\"\nsure = \"6o\"\nlearning = \"5o\"\nnot-yet = \"-3'''\"\n[tab]\n\
    style = \"letters\"\nbend = \"b\"\nbreath_after = true\n[reeds.\"A natural minor\"]\ndraw = [0, -3]\n[reeds.C]\nblow = [1.5]\n\
    [keys]\npause = \"p\"\n";

#[test]
fn every_setting_is_shown_with_its_value_and_where_that_comes_from() {
    let (_folder, file) = folder(SETTINGS);
    let shown = printed(&["--config", text(&file), "--a4", "441", "config", "--show"]);
    for line in [
        "# The harp in your hand: C, Bb, F#, \"low F\" to \"high G\".\nharp = \"low F\" # settings, line 1",
        "owned = \"A natural minor, C, D\" # settings, line 2",
        "tuning = \"Richter\" # as the program has it",
        "a4 = 441.0 # from the command line",
        "[tolerance]\n",
        "in_tune = 12.5 # settings, line 10",
        "level = \"bends\" # settings, line 16",
        "# draw = \"D\" # not set",
        "[reeds.\"A natural minor\"]\n",
        "draw = [0.0, -3.0] # settings, line 25",
        "# Pause: nothing is judged; then go on.\npause = \"p\" # settings, line 29",
        "quit = \"ctrl+c\" # as the program has it",
    ] {
        assert!(shown.contains(line), "no {line} in\n{shown}");
    }
    assert!(shown.lines().all(|line| line.chars().count() <= 100), "{shown}");
    let bare = printed(&["config", "--show"]);
    assert!(bare.contains("# owned = \"C, D, A natural minor\" # not set"), "{bare}");
    assert!(bare.contains("# device = \"Jack\" # not set") && bare.contains("[reeds.A]\n"), "{bare}");
}

#[test]
fn no_setting_is_left_out() {
    let shown = printed(&["config", "--show"]);
    let mut count = 0;
    for table in ["", "tolerance", "input", "ability", "tab", "reeds.A", "keys"] {
        let header = if table.is_empty() { String::new() } else { format!("[{table}]\n") };
        let (_folder, file) = folder(&format!("{header}x = \"1\"\n"));
        let said = run(&["--config", text(&file), "map"]).err;
        let names = said.split_once("here are: ").or(said.split_once("given to ")).unwrap().1;
        let section = shown.split_once(&header).unwrap().1.split("\n[").next().unwrap();
        for name in names.split(" (").next().unwrap().split([',', ' ']).filter(|name| !name.is_empty()) {
            let stands = |line: &str| line.trim_start_matches("# ").starts_with(&format!("{name} = "));
            assert!(
                section.lines().any(stands) || shown.contains(&format!("\n[{name}")),
                "no {name} in\n{section}"
            );
            count += 1;
        }
    }
    assert!(count > 50, "the check found only {count}");
}

#[test]
fn what_is_shown_can_be_taken_as_settings() {
    let (_folder, file) = folder(SETTINGS);
    for arguments in [vec!["--config", text(&file), "config", "--show"], vec!["config", "--show"]] {
        let first = printed(&arguments);
        let (_again, copy) = folder(&first);
        let second = run(&["--config", text(&copy), "config", "--show"]);
        assert_eq!((second.code, second.err.as_str()), (0, ""), "{first}");
        let values = |text: &str| {
            let lines = text.lines().filter(|line| !line.starts_with('#'));
            lines.map(|line| line.split(" # ").next().unwrap().to_owned()).collect::<Vec<_>>()
        };
        assert_eq!(values(&first), values(&second.out));
        // What is only shown as an example can be taken as well; only the marks of tab go by what is in force.
        let examples: String = first
            .lines()
            .map(|line| match line.strip_prefix("# ") {
                Some(rest) if rest.ends_with("# not set") => format!("{rest}\n"),
                _ => format!("{line}\n"),
            })
            .collect();
        let (_all, all) = folder(&examples);
        let run = run(&["--config", text(&all), "config", "--show"]);
        assert_eq!((run.code, run.err.as_str()), (0, ""), "{examples}");
        assert!(!run.out.contains("# not set"), "{}", run.out);
    }
}

#[test]
fn the_places_are_told() {
    let (folder, file) = folder("");
    fs::create_dir(folder.path().join("drills")).unwrap();
    let told = run_in(folder.path(), &["--config", text(&file), "config"]).out;
    let line = |what: &str| told.lines().find(|line| line.starts_with(what)).unwrap().to_owned();
    assert!(line("settings").ends_with(text(&file)));
    assert!(
        line("own drills").ends_with("/drills") && line("own tunings").ends_with("/tunings (not there)"),
        "{told}"
    );
    assert!(line("remembered").contains(text(&folder.path().join("bendwright/state.toml"))), "{told}");
}

#[test]
fn the_harp_of_last_time_holds_until_the_settings_change() {
    let (folder, file) = folder("harp = \"C\"\n");
    let state = folder.path().join("bendwright/state.toml");
    fs::create_dir(state.parent().unwrap()).unwrap();
    fs::write(&state, "version = 1\n[harp]\nkey = \"low F\"\ntuning = \"natural minor\"\nsettings = \"C\"\n")
        .unwrap();
    let harp = |arguments: &[&str]| {
        let run = run_in(folder.path(), &[&["--config", text(&file), "map", "--json"], arguments].concat());
        assert_eq!((run.code, run.err.as_str()), (0, ""));
        let map: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        let word = |name: &str| map["harp"][name].as_str().unwrap().to_owned();
        [word("key"), word("tuning")].join(", ")
    };
    assert_eq!(harp(&[]), "low F, natural minor");
    let shown = run_in(folder.path(), &["--config", text(&file), "config", "--show"]).out;
    assert!(shown.contains("harp = \"low F\" # remembered from last time"), "{shown}");
    assert_eq!(harp(&["--harp", "A"]), "A, Richter", "the command line goes before all");
    assert_eq!(harp(&["--tuning", "country"]), "low F, country");
    fs::write(&file, "harp = \"G\"\n").unwrap();
    assert_eq!(harp(&[]), "G, Richter", "written into the settings since");
    fs::write(&file, "").unwrap();
    assert_eq!(harp(&[]), "low F, natural minor", "the settings say nothing");
    fs::write(&state, fs::read_to_string(&state).unwrap().replace("natural minor", "one that is gone"))
        .unwrap();
    assert_eq!(harp(&[]), "low F, Richter");
}

#[test]
fn a_broken_state_is_said_once_and_never_fatal() {
    let folder = tempfile::tempdir().unwrap();
    let state = folder.path().join("bendwright/state.toml");
    fs::create_dir(state.parent().unwrap()).unwrap();
    fs::write(&state, "version = 1\nharp = \"C\n").unwrap();
    let first = run_in(folder.path(), &["map"]);
    assert!(first.code == 0 && first.out.starts_with("C harp"), "{}", first.err);
    assert!(first.err.contains("state.toml, line 2, column 10; set aside as "), "{}", first.err);
    assert!(state.with_extension("toml.broken").exists() && !state.exists());
    assert_eq!(run_in(folder.path(), &["map"]).err, "");
    let later = "version = 9\nharps = 3\n";
    fs::write(&state, later).unwrap();
    let run = run_in(folder.path(), &["map"]);
    assert!(run.code == 0 && run.err.contains("a later Bendwright"), "{}", run.err);
    assert_eq!(fs::read_to_string(&state).unwrap(), later);
}
