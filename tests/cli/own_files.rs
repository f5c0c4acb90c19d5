//! The player's own files beside the settings file: tunings, temperaments, scales, progressions, drills, ability,
//! reeds.

use crate::{Run, run, text};
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

const TUNING: &str = "name = \"four holes\"\nblow = [\"C4\", \"E4\", \"G4\", \"C5\"]\ndraw = [\"D4\", \"F4\", \"A4\", \"B4\"]\n";
const SCALE: &str = "[[scale]]\nname = \"call\"\ndegrees = \"1 4 5\"\n";
const PROGRESSION: &str = "[[progression]]\nname = \"two\"\nbars = \"I | V7\"\n";
const DRILL: &str = "title = \"Mine\"\n[[item]]\nplay = \"-4'\"\n";

/// A folder with a settings file of this text and these files beside it.
fn folder(config: &str, files: &[(&str, &str)]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("config.toml"), config).unwrap();
    for (name, content) in files {
        let file = folder.path().join(name);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, content).unwrap();
    }
    folder
}

fn with(folder: &TempDir, arguments: &[&str]) -> Run {
    let config = folder.path().join("config.toml");
    run(&[&["--config", text(&config)], arguments].concat())
}

fn map(folder: &TempDir, arguments: &[&str]) -> Value {
    let run = with(folder, &[&["map", "--json"], arguments].concat());
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    serde_json::from_str(&run.out).unwrap()
}

#[test]
fn own_tunings_scales_progressions_and_drills_are_found() {
    let files = [
        ("tunings/four.toml", TUNING),
        ("scales.toml", SCALE),
        ("progressions.toml", PROGRESSION),
        ("drills/mine.toml", DRILL),
    ];
    let folder = folder("", &files);
    let map = map(&folder, &["--tuning", "four holes", "--scale", "call", "--progression", "two"]);
    assert_eq!(map["harp"]["holes"], 4);
    assert_eq!(map["scale"]["notes"].as_array().unwrap().len(), 3);
    assert_eq!(map["progression"]["bars"], serde_json::json!([["I"], ["V7"]]));
    let list = with(&folder, &["drill", "--list"]);
    assert!(list.code == 0 && list.out.contains("mine") && list.out.contains("Mine"), "{}", list.out);
    let played = with(&folder, &["drill", "mine", "--plain", "--from", "player"]);
    assert!(played.code == 0 && played.out.contains("Mine"), "{}", played.err);
    let named = with(&folder, &["choose", "--song-key", "A", "--tunings", "Four-Holes"]);
    assert!(named.code == 0 && named.out.contains("four holes"), "{}", named.err);
}

#[test]
fn a_mistake_is_said_with_its_place_and_the_rest_goes_on() {
    let cases: [(&str, &str, &[&str]); 6] = [
        (
            "tunings/bad.toml",
            "name = \"bad\"\nblow = [\"C4\", \"X4\"]\ndraw = []\n",
            &["line 2, column 15", "letter A to G"],
        ),
        (
            "tunings/worse.toml",
            "name = \"worse\"\nblow = [\"C4\"]\ndraw = [\"D4\"]\n",
            &["line 2", "4 to 16"],
        ),
        ("scales.toml", "[[scale]]\nname = \"x\"\ndegrees = \"1 b3 q\"\n", &["line 3, column 17", "q"]),
        ("progressions.toml", "[[progression]]\nname = \"x\"\nbars = \"I | |\"\n", &["line 3", "chord"]),
        ("temperaments.toml", "[[temperament]]\nname = \"x\"\ncents = [0, 1]\n", &["line 3", "twelve"]),
        ("drills/bad.toml", "title = \"x\"\n[[item]]\nplay = \"-11\"\n", &["line 3, column 9", "1 to 10"]),
    ];
    for (name, content, words) in cases {
        let folder = folder("", &[(name, content)]);
        let run = with(&folder, &["drill", "--list"]);
        assert!(run.code == 0 && run.out.contains("hole-3-depths"), "{name}: {}", run.err);
        let file = folder.path().join(name);
        assert!(run.err.contains(text(&file)), "{name}: {}", run.err);
        assert!(words.iter().all(|word| run.err.contains(word)), "{name}: {}", run.err);
        assert!(run.err.contains("; left out)\n"), "{name}: {}", run.err);
        assert!(!run.err.starts_with("bendwright: /"), "the reason comes first: {}", run.err);
        let map = with(&folder, &["map", "--scale", "blues"]);
        assert!(map.code == 0 && map.out.starts_with("C harp"), "{name}: {}", map.err);
    }
}

#[test]
fn a_file_that_is_no_text_is_left_out() {
    let folder = folder("", &[("drills/ok.toml", DRILL)]);
    fs::write(folder.path().join("scales.toml"), [0xff, 0xfe, 0x00]).unwrap();
    let run = with(&folder, &["drill", "--list"]);
    assert!(run.code == 0 && run.out.contains("ok"), "{}", run.err);
    assert!(run.err.contains("scales.toml") && run.err.contains("left out"), "{}", run.err);
}

#[test]
fn ability_in_the_settings_counts() {
    let folder = folder("[ability]\nlevel = \"plain\"\nsure = \"-4'\"\nlearning = \"-3'\"\n", &[]);
    let own = map(&folder, &[]);
    assert_eq!((&own["ability"]["level"], &own["ability"]["declared"]), (&"plain".into(), &true.into()));
    let note = |name: &str| {
        own["notes"].as_array().unwrap().iter().find(|note| note["note"] == name).unwrap().clone()
    };
    assert_eq!((&note("D♭5")["tab"], &note("D♭5")["learning"]), (&"-4'".into(), &false.into()));
    assert_eq!((&note("B♭4")["tab"], &note("B♭4")["learning"]), (&"-3'".into(), &true.into()));
    assert_eq!(note("D♭4")["tab"], Value::Null);
    assert_eq!(map(&folder, &["--able", "bends"])["ability"]["level"], "bends");
}

#[test]
fn temperament_and_single_reeds_move_what_the_drills_judge_against() {
    // 5/4 above the home note lies 13.686 cents below four equal half steps (Ellis's cents of 5/4 are 386.314).
    let config = "temperament = \"just\"\n[reeds.C]\nblow = [0, 4.0]\n[reeds.A]\nblow = [0, 50]\n";
    let folder = folder(config, &[("drills/third.toml", "title = \"Third\"\n[[item]]\nplay = \"2\"\n")]);
    let run = with(&folder, &["drill", "third", "--json", "--from", "player"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let asked = run.out.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    let asked = asked.into_iter().find(|line| line["event"] == "asked").unwrap();
    let e4 = 440.0 * 2f64.powf(-5.0 / 12.0);
    let cents = 1200.0 * (asked["hz"].as_f64().unwrap() / e4).log2();
    assert!((cents - (4.0 - 13.686)).abs() < 0.01, "{cents}");
}

#[test]
fn tab_is_written_as_the_settings_say() {
    let folder = folder("[tab]\nstyle = \"arrows\"\n", &[]);
    assert!(with(&folder, &["map"]).out.contains("↓3'"));
    let lines = with(&folder, &["drill", "first-half-steps", "--plain", "--from", "player"]).out;
    assert!(lines.contains("try 1: ↓4', "), "{lines}");
    let clash = self::folder("[tab]\ndraw = \"'\"\n", &[]);
    let run = with(&clash, &["map"]);
    assert!(run.code == 0 && run.err.contains("tab") && run.err.contains("begin alike"), "{}", run.err);
}

#[test]
fn mistakes_in_the_settings_name_their_place() {
    for (config, words) in [
        ("[ability]\nlevel = \"great\"\n", ["config.toml, line", "draw-bends"]),
        ("[ability]\nsure = \"-4'\"\nlearning = \"-4'\"\n", ["config.toml, line", "listed twice"]),
        ("[ability]\nsure = \"4\"\n", ["config.toml, line", "needs no technique"]),
        ("temperament = \"odd\"\n", ["temperament", "equal"]),
        ("tuning = \"odd\"\n", ["tuning", "natural minor"]),
        ("[reeds.X]\nblow = [1]\n", ["reeds of \"X\"", "no harp key"]),
        ("[reeds.C]\nblow = [1, 200]\n", ["reeds of \"C\"", "below 100"]),
        ("[reeds.C]\nblow = [1,1,1,1,1,1,1,1,1,1,1]\n", ["reeds of \"C\"", "10 holes"]),
    ] {
        let folder = folder(config, &[]);
        let run = with(&folder, &["map"]);
        assert!(run.code == 0 && run.out.starts_with("C harp"), "{config}: {}", run.err);
        assert!(words.iter().all(|word| run.err.contains(word)), "{config}: {}", run.err);
    }
}

#[test]
fn a_broken_tuning_tells_its_mistake_when_it_is_asked_for() {
    let folder = folder("", &[("tunings/four.toml", &TUNING.replace("C5", "X5"))]);
    let run = with(&folder, &["map", "--tuning", "four holes"]);
    assert_eq!((run.code, run.out.as_str()), (2, ""));
    let (first, second) = run.err.split_once('\n').unwrap();
    assert!(first.contains("\"X5\" is no note") && first.contains("four.toml, line 2, column 27"), "{first}");
    assert!(second.contains("there is no tuning \"four holes\""), "{second}");
}

#[test]
fn a_name_that_stands_twice_is_said() {
    let temperament = format!("[[temperament]]\nname = \"x\"\ncents = [{}]\n", ["0"; 12].join(", "));
    let files = [
        ("temperaments.toml", format!("{temperament}{temperament}")),
        ("tunings/a.toml", TUNING.to_owned()),
        ("tunings/b.toml", TUNING.replace("four", "Four")),
    ];
    let folder = folder("", &files.each_ref().map(|(name, text)| (*name, text.as_str())));
    let run = with(&folder, &["map", "--tuning", "four holes"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.err.contains("\"x\" is a name of the temperament \"x\" already"), "{}", run.err);
    assert!(run.err.contains("temperaments.toml, line 5, column 8; left out"), "{}", run.err);
    assert!(
        run.err.contains("the tuning \"four holes\" stands in ") && run.err.contains("b.toml; left out"),
        "{}",
        run.err
    );
}

#[cfg(unix)]
#[test]
fn what_is_no_file_is_said_and_not_waited_for() {
    let folder = folder("", &[("drills/ok.toml", DRILL)]);
    let at = |name: &str| folder.path().join(name);
    for name in ["drills/pipe.toml", "scales.toml"] {
        assert!(std::process::Command::new("mkfifo").arg(at(name)).status().unwrap().success());
    }
    std::os::unix::fs::symlink("nowhere.toml", at("drills/link.toml")).unwrap();
    fs::create_dir(at("drills/folder.toml")).unwrap();
    fs::write(at("drills/large.toml"), " ".repeat(300_000)).unwrap();
    let list = with(&folder, &["drill", "--list"]);
    assert!(list.code == 0 && list.out.contains("ok "), "{}", list.err);
    for (name, words) in [
        ("pipe", "this is a pipe and not a file"),
        ("scales", "this is a pipe"),
        ("link", "this is a link to a file that is not there"),
        ("folder", "this is a folder"),
        ("large", "the file is too large; at most 256 kilobytes"),
    ] {
        let said = list.err.lines().find(|line| line.contains(&format!("/{name}.toml; left out)")));
        assert!(said.is_some_and(|said| said.contains(words)), "{name}: {}", list.err);
    }
    // A drill that is named, and settings.
    let named = with(&folder, &["drill", text(&at("drills/pipe.toml")), "--plain", "--from", "player"]);
    assert!(named.code == 2 && named.err.contains("this is a pipe"), "{}", named.err);
    let settings = run(&["--config", text(&at("scales.toml")), "map"]);
    assert!(settings.code == 0 && settings.out.starts_with("C harp"), "{}", settings.err);
    assert!(
        settings.err.contains("this is a pipe") && settings.err.contains("using the defaults"),
        "{}",
        settings.err
    );
}

#[test]
fn the_nearest_name_is_offered() {
    let folder = folder("hapr = \"A\"\n[keys]\npuase = \"x\"\n", &[]);
    let run = with(&folder, &["drill", "hole-3-dephts", "--plain"]);
    assert_eq!(run.code, 2);
    for words in ["did you mean \"harp\"?", "did you mean \"hole-3-depths\"?", "puase"] {
        assert!(run.err.contains(words), "no {words}: {}", run.err);
    }
}

#[test]
fn the_example_of_a_drill_is_one() {
    let example = run(&["drill", "--example"]);
    assert_eq!((example.code, example.err.as_str()), (0, ""));
    let folder = folder("", &[("drills/first.toml", &example.out)]);
    let played = with(&folder, &["drill", "first", "--plain", "--from", "player"]);
    assert_eq!((played.code, played.err.as_str()), (0, ""));
    for words in [", 4 items.", "item 3, note 3, try 2: -3'', ", "wanted 14 cents flat", "summary: done, "] {
        assert!(played.out.contains(words), "no {words}: {}", played.out);
    }
    assert!(
        include_str!("../../README.md").contains(&format!("```toml\n{}```", example.out)),
        "the README has another"
    );
    // Every entry that there is stands in it.
    let unknown = with(&self::folder("", &[("drills/x.toml", "x = 1\n")]), &["drill", "--list"]).err;
    let (_, known) = unknown.split_once("here are: ").unwrap();
    for entry in known.split(" (").next().unwrap().split(", ").chain(["play", "cents"]) {
        let mut lines = example.out.lines();
        assert!(
            lines.any(|line| line.starts_with(&format!("{entry} = ")) || line == format!("[[{entry}]]")),
            "{entry}"
        );
    }
}

/// ESC [ 2 J clears a terminal (ECMA-48, erase in page).
#[test]
fn what_a_message_quotes_cannot_steer_the_terminal() {
    let spoilt = "\"\\u001b[2J\"";
    for settings in
        ["input.channel", "tab.style", "theme", "tuning", "harp", "owned", "keys.quit", "a4", "ability.sure"]
    {
        let folder = folder(&format!("{settings} = {spoilt}\n{spoilt} = 1\n"), &[]);
        let run = with(&folder, &["map"]);
        assert!(run.code == 0 && run.err.lines().count() == 2, "{settings}: {}", run.err);
        assert!(!run.err.contains('\u{1b}'), "{settings}: {:?}", run.err);
    }
}

#[test]
fn nothing_is_read_from_elsewhere() {
    let folder = folder("", &[("drills/readme.txt", "no drill"), ("tunings/deep/er.toml", "x")]);
    let run = with(&folder, &["drill", "--list"]);
    assert_eq!((run.code, run.err.as_str()), (0, "bendwright: not for Richter tuning: minor-bends\n"));
}
