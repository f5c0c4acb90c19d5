//! `phrase`: a phrase in time, ours or the player's own, without a screen.

use crate::take::write;
use crate::{Run, printed, run, text};
use layout::{Harp, HarpKey, TabStyle, Way};
use serde_json::Value;
use std::fs;
use std::path::Path;
use synth::{Gesture, SimulatedPlayer, Slur, Timed};
use tempfile::TempDir;

const RATE: f64 = 48_000.0;
/// Seconds of a recording before the first beat.
const LEAD_S: f64 = 1.0;

/// Fourteen notes: a hold over the bar line, two slurs, a bend by itself.
const OWN: &str = "title = \"Mine\"\ntempo = 90\nneeds = \"draw-bends\"\nbars = \"\"\"\nquarter -2 eighths -3' 4 half -4\n\
                   quarter hold quarter -4' eighths 4 -3' quarter -2\nhalf -2'' to half -2\nquarters -1 4 -4 to -4'\n\"\"\"\n";

/// Tab, onset and length in quarters of the notes of `OWN`, worked out by hand, and whether each is joined.
const NOTES: [(&str, f64, f64, bool); 14] = [
    ("-2", 0.0, 1.0, false),
    ("-3'", 1.0, 0.5, false),
    ("4", 1.5, 0.5, false),
    ("-4", 2.0, 3.0, false),
    ("-4'", 5.0, 1.0, false),
    ("4", 6.0, 0.5, false),
    ("-3'", 6.5, 0.5, false),
    ("-2", 7.0, 1.0, false),
    ("-2''", 8.0, 2.0, false),
    ("-2", 10.0, 2.0, true),
    ("-1", 12.0, 1.0, false),
    ("4", 13.0, 1.0, false),
    ("-4", 14.0, 1.0, false),
    ("-4'", 15.0, 1.0, true),
];

/// What the player does otherwise than asked: which note, seconds late, cents sharp.
const LATE: (usize, f64) = (4, 0.12);
const SHARP: (usize, f64) = (7, 42.0);
const MISSING: usize = 10;

fn way(tab: &str) -> Way {
    TabStyle::default().read(tab).unwrap()
}

/// A recording of the phrase as the simulated player plays it on a harp of this key, with its three faults.
fn record(file: &Path, key: &str) {
    let harp = Harp::richter(key.parse::<HarpKey>().unwrap());
    let quarter_s = 60.0 / 90.0;
    let notes = NOTES.iter().enumerate().filter(|(i, _)| *i != MISSING);
    let timed = notes.map(|(i, (tab, onset, length, joined))| {
        let late_s = if i == LATE.0 { LATE.1 } else { 0.0 };
        Timed {
            way: way(tab),
            onset_s: onset * quarter_s + late_s,
            length_s: length * quarter_s - late_s,
            joined: *joined,
            others: [None; synth::OTHERS],
        }
    });
    let mut player = SimulatedPlayer::new(&harp, RATE, 3);
    for slur in Slur::all(timed) {
        let first = slur.first().unwrap();
        let sharp = (first.onset_s - NOTES[SHARP.0].1 * quarter_s).abs() < 1e-9;
        let cents = if sharp { SHARP.1 } else { 0.0 };
        let gesture =
            Gesture::new(first.way).cents_off(cents).seconds(0.85 * slur.length_s() - 0.08).glide(0.03);
        player.play_at(&slur.onto(gesture), (LEAD_S + first.onset_s) * RATE).unwrap();
    }
    let mut samples = vec![0.0; (RATE * (LEAD_S + 16.0 * quarter_s + 2.0)) as usize];
    player.fill(&mut samples);
    write(file, &samples, RATE as u32);
}

fn recorded(key: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    record(&folder.path().join("take.wav"), key);
    fs::write(folder.path().join("mine.toml"), OWN).unwrap();
    folder
}

fn judge(folder: &TempDir, arguments: &[&str]) -> Run {
    let (wav, phrase) = (folder.path().join("take.wav"), folder.path().join("mine.toml"));
    let run = run(&[&["phrase", text(&phrase), "--from", text(&wav)], arguments].concat());
    assert_eq!(run.code, 0, "{}", run.err);
    run
}

fn lines(out: &str, kind: &str) -> Vec<Value> {
    let all = out.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    all.filter(|line| line["kind"] == kind).collect()
}

/// Every note against the truth of the recording: what was right is right, what was late, sharp or missing is told as
/// that.
#[test]
fn a_phrase_is_judged_note_by_note() {
    for key in ["C", "low F", "high G"] {
        let folder = recorded(key);
        let run = judge(&folder, &["--json", "--starts", "1", "--harp", key]);
        let plan = &lines(&run.out, "plan")[0];
        assert_eq!((plan["title"].as_str(), plan["bars"].as_u64()), (Some("Mine"), Some(4)));
        let joined: Vec<bool> =
            plan["joined"].as_array().unwrap().iter().map(|it| it == &Value::Bool(true)).collect();
        assert_eq!(joined, NOTES.map(|(.., joined)| joined));
        let notes = lines(&run.out, "note");
        assert_eq!(notes.len(), NOTES.len());
        for (i, (note, (tab, onset, ..))) in notes.iter().zip(NOTES).enumerate() {
            assert_eq!(note["tab"], tab);
            assert!((note["asked_s"].as_f64().unwrap() - onset * 60.0 / 90.0).abs() < 1e-9, "{key}: {note}");
            if i == MISSING {
                assert!(note["outcome"] == "missing" && note["right"] == false, "{key}: {note}");
                continue;
            }
            let cents = note["cents"].as_f64().unwrap();
            let (late, sharp) =
                (if i == LATE.0 { LATE.1 } else { 0.0 }, if i == SHARP.0 { SHARP.1 } else { 0.0 });
            assert!((cents - sharp).abs() < 6.0, "{key}: {note}");
            let played = note["played_s"].as_f64().unwrap() - note["asked_s"].as_f64().unwrap();
            assert!((played - late).abs() < 0.025, "{key}: {played} s late: {note}");
            let right = i != LATE.0 && i != SHARP.0;
            assert_eq!(note["right"], right, "{key}: {note}");
        }
        let whole = &lines(&run.out, "run")[0];
        assert_eq!(
            (whole["asked"].as_u64(), whole["right"].as_u64()),
            (Some(14), Some(11)),
            "{key}: {whole}"
        );
    }
}

#[test]
fn plain_says_the_same_in_sentences_and_the_block_size_changes_nothing() {
    let folder = recorded("C");
    let plain = judge(&folder, &["--plain", "--starts", "1"]).out;
    let plan = plain.lines().next().unwrap();
    assert!(plan.contains("Mine, C harp, at 90, 4/4, 14 notes in 4 bars, once: -2 -3' 4"), "{plan}");
    assert!(plan.contains("-2'' to -2 ") && plan.ends_with("-4 to -4'"), "{plan}");
    assert_eq!(plain.lines().filter(|line| line.starts_with("note: ")).count(), 14, "{plain}");
    for block in ["1", "37", "100000"] {
        assert_eq!(
            judge(&folder, &["--plain", "--starts", "1", "--block", block]).out,
            plain,
            "block {block}"
        );
    }
    // Where nothing says when it begins, the first note does.
    let found = judge(&folder, &["--json"]);
    assert_eq!(lines(&found.out, "run")[0]["right"], 11, "{}", found.out);
}

/// The built-in player knows every phrase that comes with the program, on high and low harps.
#[test]
fn the_built_in_player_goes_through_every_phrase() {
    let list = printed(&["phrase", "--list"]);
    let names: Vec<&str> = list.lines().filter_map(|line| line.split_whitespace().next()).collect();
    assert_eq!(names.len(), 15, "{list}");
    let keys = ["C", "low F", "G", "A", "D", "high G", "Bb", "F", "E", "C"].into_iter().cycle();
    for (name, key) in names.iter().zip(keys) {
        let out = printed(&["phrase", name, "--from", "player", "--json", "--runs", "3", "--harp", key]);
        let runs = lines(&out, "run");
        assert_eq!(runs.len(), 3, "{name}");
        for run in &runs {
            let (right, asked) = (run["right"].as_u64().unwrap(), run["asked"].as_u64().unwrap());
            assert!(4 * right >= 3 * asked, "{name} on {key}: {right} of {asked}: {run}");
        }
        assert_eq!(lines(&out, "end")[0]["complete"], true, "{name}");
    }
}

#[test]
fn tempo_and_swing_are_those_of_the_phrase_unless_others_are_given() {
    for (arguments, words) in [
        (&[][..], "at 88, 4/4, swung 2:1"),
        (&["--tempo", "60"], "at 60, 4/4, swung 2:1"),
        (&["--swing", "straight"], "at 88, 4/4,"),
        (&["--swing", "1.5", "--tempo", "120"], "at 120, 4/4, swung 1.5:1"),
    ] {
        let shown = printed(
            &[&["phrase", "boogie-shuffle", "--plain", "--from", "player", "--runs", "1"], arguments]
                .concat(),
        );
        assert!(shown.lines().next().unwrap().contains(words), "{arguments:?}: {shown}");
    }
    let free = printed(&["phrase", "third-minor", "--json", "--from", "player", "--runs", "1", "--free"]);
    assert!(lines(&free, "note").iter().all(|note| note["timing"].is_null()), "{free}");
}

#[test]
fn a_phrase_of_ones_own_is_found_beside_the_settings() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("phrases")).unwrap();
    let config = folder.path().join("config.toml");
    fs::write(&config, "").unwrap();
    fs::write(folder.path().join("phrases/mine.toml"), printed(&["phrase", "--example"])).unwrap();
    fs::write(folder.path().join("phrases/bad.toml"), "title = 'x'\nbars = '''\nquarter 4 4 4\n'''\n")
        .unwrap();
    let list = run(&["--config", text(&config), "phrase", "--list"]);
    assert!(list.code == 0 && list.out.contains("mine ") && !list.out.contains("bad "), "{}", list.out);
    assert!(list.out.contains("half-step-home"), "{}", list.out);
    let told = "bar 1 is too short: it has 3 quarters, and a bar of 4/4 has 4 (";
    assert!(
        list.err.contains(told) && list.err.contains("bad.toml, line 3, column 1; left out)"),
        "{}",
        list.err
    );
    let played =
        run(&["--config", text(&config), "phrase", "mine", "--plain", "--from", "player", "--runs", "1"]);
    assert!(played.code == 0 && played.out.contains("Down to the whole step"), "{}", played.err);
}

#[test]
fn the_list_says_what_a_phrase_asks_for_and_a_title_serves_as_a_name() {
    let list = printed(&["phrase", "--list"]);
    let first = list.lines().find(|line| line.starts_with("half-step-home ")).unwrap();
    assert!(first.contains("A half step below home (4/4 at 76; 2nd position; needs half-steps)"), "{first}");
    let played = run(&["phrase", "a half step below home", "--plain", "--from", "player", "--runs", "1"]);
    assert!(played.code == 0 && played.out.contains("A half step below home"), "{}", played.err);
    let unknown = run(&["phrase", "a half step above home", "--plain", "--from", "player"]);
    assert_eq!(unknown.code, 2, "{}", unknown.err);
}

#[test]
fn the_example_stands_in_the_readme_with_every_entry_there_is() {
    let example = printed(&["phrase", "--example"]);
    assert!(
        include_str!("../../README.md").contains(&format!("```toml\n{example}```")),
        "the README has another"
    );
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("x.toml");
    fs::write(&file, "x = 1\n").unwrap();
    let unknown = run(&["phrase", text(&file), "--plain"]).err;
    let (_, known) = unknown.split_once("There are: ").or(unknown.split_once("there are: ")).unwrap();
    let known: Vec<&str> = known.split([' ', ',', '(']).filter(|word| !word.is_empty()).take(10).collect();
    assert!(known.iter().all(|entry| example.contains(&format!("\n{entry} = "))), "{known:?}");
}

#[test]
fn a_mistake_is_told_and_ends_with_2() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("p.toml");
    let many = "whole 4\n".repeat(10_000);
    for (content, words) in [
        ("bars = 'whole -5\u{2019}'", "country or major seventh tuning has it (".to_owned()),
        ("bars = 'half 4'", "bar 1 is too short".to_owned()),
        ("metre = '0/0'\nbars = 'half 4'", "there is no metre \"0/0\"; there are: 2/4".to_owned()),
        ("tempo = 1e9\nbars = 'half 4'", "from 30 to 240".to_owned()),
        (&format!("bars = '''\n{many}'''"), "64 are the most of one run".to_owned()),
    ] {
        fs::write(&file, format!("title = 'x'\n{content}\n")).unwrap();
        let run = run(&["phrase", text(&file), "--plain", "--from", "player"]);
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{content}: {}", run.err);
        assert!(run.err.contains(&words) && run.err.contains("p.toml, line "), "{content}: {}", run.err);
    }
    for (arguments, words) in [
        (&["phrase", "nothing"][..], "there is no phrase \"nothing\""),
        (&["phrase", "nothing.toml"], "there is no such file"),
        (&["phrase", "slow-blues", "--swing", "2:1", "--plain", "--from", "player"], "--swing: "),
        (&["phrase", "--tempo", "7", "--plain"], "30 to 240"),
        (&["phrase", "--hear", "--plain", "--from", "player"], "sounded only for a microphone"),
        (&["scale", "--hear", "--from", "take.wav"], "a recording does not wait"),
        (&["phrase", "--tuning", "solo", "slow-blues"], "this phrase is for Richter tuning"),
    ] {
        let run = run(arguments);
        assert!(run.code == 2 && run.err.contains(words), "{arguments:?}: {}", run.err);
    }
}

/// Over the band: its chords stand in the plan, and what is played is judged as without it.
#[test]
fn a_phrase_and_a_scale_go_over_the_band_by_one_option() {
    let plan = |arguments: &[&str]| {
        let out = printed(&[arguments, &["--json", "--from", "player", "--runs", "1"]].concat());
        let chords = lines(&out, "plan")[0]["chords"].clone();
        (chords.as_array().unwrap().iter().map(|it| it.as_str().unwrap().to_owned()).collect::<Vec<_>>(), out)
    };
    let plain = plan(&["phrase", "third-minor"]);
    assert!(plain.0.is_empty());
    let home = plan(&["phrase", "third-minor", "--band"]);
    // Third position on a C harp is D, and the phrase has the minor third: common practice, no source.
    assert!(!home.0.is_empty() && home.0.iter().all(|chord| chord == "Dm7"), "{:?}", home.0);
    assert_eq!(lines(&plain.1, "note"), lines(&home.1, "note"));
    let scale = plan(&["scale", "--band=I7 | IV7 V7", "--harp", "D"]);
    assert_eq!(scale.0, ["A7", "D7 E7"]);
    let own = plan(&["scale", "--changes", "twelve-bar", "--band", "--harp", "D"]);
    assert_eq!((own.0.len(), own.0[4].as_str(), own.0[8].as_str()), (12, "D7", "E7"));
    for (arguments, told) in [
        (&["scale", "--band=I7 | H7"][..], "--band"),
        (&["scale", "--band", "--silent-bars", "2"], "--silent-bars"),
        (&["phrase", "half-step-home", "--band", "--free"], "--free"),
    ] {
        let run = run(arguments);
        assert!(run.code == 2 && run.err.contains(told), "{arguments:?}: {}", run.err);
    }
    let folder = recorded("C");
    let homeless = folder.path().join("mine.toml");
    let run = run(&["phrase", text(&homeless), "--band"]);
    assert!(run.code == 2 && run.err.contains("in which position"), "{}", run.err);
}
