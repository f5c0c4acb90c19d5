//! Drills of chords, and of clean notes, without a screen: from a recording to verdicts.

use crate::{Run, run, text};
use layout::{Harp, HarpKey, TabStyle, Way};
use serde_json::Value;
use std::fs;
use std::path::Path;
use synth::{Gesture, SimulatedPlayer};
use tempfile::TempDir;

const DRILL: &str = "title = 'Some chords'\nhold = 0.8\n[[item]]\nchord = '-1 -2 -3'\ntries = 2\n\
                     [[item]]\nchord = '2 3'\ntries = 2\n[[item]]\nchord = '-3 -6'\n";
const CLEAN: &str = "title = 'Clean'\nhold = 0.8\nclean = true\n[[item]]\nplay = '4'\ntries = 2\n";

fn write(path: &Path, harp: &Harp, gestures: &[Gesture]) {
    let mut player = SimulatedPlayer::new(harp, 48_000.0, 5);
    for gesture in gestures {
        player.play(gesture).unwrap();
    }
    let end = player.played().map(|played| played.ended).max().unwrap() + 144_000;
    let mut samples = vec![0.0_f32; end as usize];
    player.fill(&mut samples);
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 48_000,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut wav = hound::WavWriter::create(path, spec).unwrap();
    for sample in &samples {
        wav.write_sample(*sample).unwrap();
    }
    wav.finalize().unwrap();
}

fn chord(harp: &Harp, tab: &str) -> Gesture {
    let ways: Vec<Way> = tab.split(' ').map(|tab| TabStyle::default().read_for(harp, tab).unwrap()).collect();
    Gesture::chord(&ways).seconds(1.4).rest(0.5)
}

/// A folder with a drill, and the take that goes with it.
fn take(key: &str, drill: &str, gestures: impl Fn(&Harp) -> Vec<Gesture>) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let harp = Harp::richter(key.parse::<HarpKey>().unwrap());
    write(&folder.path().join("take.wav"), &harp, &gestures(&harp));
    fs::write(folder.path().join("drill.toml"), drill).unwrap();
    folder
}

fn judge(folder: &TempDir, key: &str, form: &str, block: usize) -> Run {
    let (wav, drill) = (folder.path().join("take.wav"), folder.path().join("drill.toml"));
    let block = block.to_string();
    let run = run(&["drill", text(&drill), "--harp", key, "--from", text(&wav), form, "--block", &block]);
    assert_eq!(run.code, 0, "{}", run.err);
    run
}

fn chords(harp: &Harp) -> Vec<Gesture> {
    vec![
        chord(harp, "-1 -2 -3"),
        chord(harp, "-2 -3"),
        chord(harp, "2 3").leak(4, -8.0),
        chord(harp, "-2 -3"),
        chord(harp, "-3 -6"),
    ]
}

#[test]
fn chords_are_judged_by_the_reeds_that_sound() {
    for key in ["C", "low F", "high G"] {
        let folder = take(key, DRILL, chords);
        let run = judge(&folder, key, "--json", 512);
        let lines: Vec<Value> = run.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        let judged: Vec<&Value> = lines.iter().filter(|line| line["kind"] == "judged").collect();
        let outcomes: Vec<&str> = judged.iter().filter_map(|line| line["outcome"].as_str()).collect();
        assert_eq!(
            outcomes,
            ["right", "missing", "leaked in", "wrong breath", "right"],
            "{key}: {}",
            run.out
        );
        assert_eq!(judged[1]["missing"], serde_json::json!([1]));
        assert_eq!(judged[2]["leaked"], serde_json::json!([4]));
        let summary = lines.iter().find(|line| line["kind"] == "summary").unwrap();
        assert_eq!((summary["tries"].as_u64(), summary["right"].as_u64()), (Some(5), Some(2)));
    }
}

#[test]
fn sentences_say_the_same_whatever_the_blocks() {
    let folder = take("C", DRILL, chords);
    let expected = judge(&folder, "C", "--plain", 512).out;
    for words in [
        "asked: chord 1, try 1: -1 -2 -3, 1, 2 and 3 draw together, hold 0.8 s",
        "1 is missing",
        "4 leaked in",
    ] {
        assert!(expected.contains(words), "{words}: {expected}");
    }
    assert!(expected.contains("summary: done, 2 of 5 right"), "{expected}");
    for block in [1, 37, 4096, 100_000] {
        assert_eq!(judge(&folder, "C", "--plain", block).out, expected, "block of {block}");
    }
}

#[test]
fn a_note_that_is_to_be_clean_says_what_leaked_in() {
    let gestures = |harp: &Harp| vec![chord(harp, "4").leak(5, -16.0), chord(harp, "4")];
    let folder = take("C", CLEAN, gestures);
    let expected = judge(&folder, "C", "--plain", 512).out;
    let judged: Vec<&str> = expected.lines().filter(|line| line.starts_with("judged:")).collect();
    assert!(judged[0].contains("; 5 leaked in at \u{2212}1"), "{expected}");
    assert!(judged[1].contains("; clean;"), "{expected}");
    assert!(expected.contains("1 of 2 landed"), "{expected}");
    for block in [1, 4096] {
        assert_eq!(judge(&folder, "C", "--plain", block).out, expected, "block of {block}");
    }
}

#[test]
fn a_chord_of_two_breaths_is_refused_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let drill = folder.path().join("mine.toml");
    fs::write(&drill, "title = 'x'\n[[item]]\nchord = '1 -4'\n").unwrap();
    let run = run(&["drill", text(&drill), "--from", "player", "--plain"]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("line 3, column 12") || run.err.contains(":3:12"), "{}", run.err);
    assert!(run.err.contains("no mouth blows and draws at once"), "{}", run.err);
}
