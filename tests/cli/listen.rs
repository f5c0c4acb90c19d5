//! Free playing without a screen: notes, and reeds that sound together.

use crate::take::write;
use crate::{printed, run, text};
use layout::{Breath, Harp, Technique, Tunings, Way};
use serde_json::Value;
use std::f32::consts::TAU;
use synth::{Gesture, SimulatedPlayer};
use tempfile::TempDir;

/// 4 draw alone, with 5 draw leaking 14 dB below it, then a split of both; as a recording.
fn take() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let mut player = SimulatedPlayer::new(&Harp::richter("C".parse().unwrap()), 48_000.0, 5);
    let draw = |hole| Way::new(hole, Breath::Draw, Technique::Natural);
    let alone = Gesture::new(draw(4));
    for gesture in [alone.clone(), alone.leak(5, -14.0), Gesture::chord(&[draw(4), draw(5)])] {
        player.play(gesture.seconds(0.8).rest(0.4)).unwrap();
    }
    let end = player.played().map(|played| played.ended).max().unwrap() + 24_000;
    let mut samples = vec![0.0; end as usize];
    player.fill(&mut samples);
    write(&folder.path().join("take.wav"), &samples, 48_000);
    folder
}

#[test]
fn a_note_is_said_to_be_alone_or_not() {
    let folder = take();
    let out = printed(&["listen", "--plain", "--from", text(&folder.path().join("take.wav")), "--harp", "C"]);
    let line = |start: &str| out.lines().filter(move |line| line.starts_with(start)).collect::<Vec<_>>();
    let notes = line("note:");
    assert!(notes[0].contains("-4, D5") && notes[0].ends_with(", alone"), "{out}");
    assert!(notes[1].contains("-4, D5") && notes[1].ends_with(", not alone"), "{out}");
    let together = line("together:");
    assert!(together[0].ends_with("4 draw and 5 draw, 14 dB below"), "{out}");
    assert_eq!(together.len(), 2, "{out}");
}

#[test]
fn programs_get_reeds_with_their_levels() {
    let folder = take();
    let out = printed(&["listen", "--json", "--from", text(&folder.path().join("take.wav")), "--harp", "C"]);
    let lines: Vec<Value> = out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let of = |event: &str| lines.iter().filter(|line| line["event"] == event).collect::<Vec<_>>();
    assert_eq!(of("note")[0]["alone"], true);
    let together = of("together");
    assert_eq!(together.len(), 2, "{out}");
    for (set, below) in together.iter().zip([14.0, 0.0]) {
        let reeds = set["reeds"].as_array().unwrap();
        let mut tabs = [&reeds[0]["tab"], &reeds[1]["tab"]].map(|tab| tab.as_str().unwrap());
        tabs.sort_unstable();
        assert_eq!(tabs, ["-4", "-5"]);
        assert!((reeds[1]["below_db"].as_f64().unwrap() - below).abs() < 1.5, "{set}");
        assert!((set["seconds"].as_f64().unwrap() - 0.8).abs() < 0.1, "{set}");
    }
}

#[test]
fn lines_do_not_depend_on_the_blocks() {
    let folder = take();
    let path = folder.path().join("take.wav");
    let lines =
        |block| printed(&["listen", "--json", "--from", text(&path), "--harp", "C", "--block", block]);
    let one = lines("512");
    assert!(one == lines("77") && one == lines("100000"));
}

#[test]
fn where_reeds_cannot_be_told_apart_notes_still_are() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("low.wav");
    let mut player = SimulatedPlayer::new(&Harp::richter("C".parse().unwrap()), 8_000.0, 5);
    player.play(Gesture::new(Way::new(4, Breath::Draw, Technique::Natural)).seconds(0.8).rest(0.4)).unwrap();
    let mut samples = vec![0.0; 16_000];
    player.fill(&mut samples);
    write(&path, &samples, 8_000);
    let run = run(&["listen", "--plain", "--from", text(&path), "--harp", "C"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("8000 samples a second"), "{}", run.out);
    let note = run.out.lines().find(|line| line.starts_with("note:")).unwrap();
    assert!(note.contains("-4, D5") && !note.contains("alone"), "{note}");
}

/// The tunings on a G harp, each with its home in semitones above C: the note of hole 1 blow, but on the circular harp,
/// which starts on the fifth degree (a hobbyist's page, archived).
const HOMES: [(&str, i32); 12] = [
    ("Richter", 7),
    ("country", 7),
    ("major seventh", 7),
    ("raised blow 3", 7),
    ("Dorian", 7),
    ("natural minor", 7),
    ("harmonic minor", 7),
    ("solo", 7),
    ("diminished", 7),
    ("augmented", 7),
    ("circular", 0),
    ("circular from 1", 7),
];

#[test]
fn degrees_are_told_from_the_home_of_the_tuning_in_every_position() {
    const DEGREES: [&str; 12] = ["1", "♭2", "2", "♭3", "3", "4", "♭5", "5", "♭6", "6", "♭7", "7"];
    const A: i32 = 9;
    for known in &Tunings::ours() {
        assert!(HOMES.iter().any(|(name, _)| *name == known.tuning.name()), "where is home of {known:?}?");
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.wav");
    let tone = |n: usize| 0.3 * (TAU * 440.0 * n as f32 / 16_000.0).sin();
    let samples: Vec<f32> = (0..8_000).map(|n| if n < 5_000 { tone(n) } else { 0.0 }).collect();
    write(&path, &samples, 16_000);
    for (tuning, home) in HOMES {
        for position in 1..=12 {
            let arguments = ["listen", "--json", "--from", text(&path), "--harp", "G", "--tuning", tuning];
            let out = printed(&[&arguments[..], &["--position", &position.to_string()]].concat());
            let lines: Vec<Value> = out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
            let note = lines.iter().find(|line| line["event"] == "note").unwrap_or_else(|| panic!("{out}"));
            // The tonic of a position lies a fifth, seven semitones, above that of the one before (folk forum, 2006).
            let above = (A - home - 7 * (position - 1)).rem_euclid(12);
            assert_eq!(note["degree"], DEGREES[above as usize], "{tuning}, position {position}");
        }
    }
}
