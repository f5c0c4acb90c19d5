//! `jam`: free playing over a form, without a screen.

use crate::take::write;
use crate::{Run, printed, run, text};
use layout::{Harp, HarpKey, TabStyle, Way};
use serde_json::Value;
use std::path::Path;
use synth::{Gesture, SimulatedPlayer};
use tempfile::TempDir;

const RATE: f64 = 48_000.0;
/// Seconds of a recording before the first beat.
const LEAD_S: f64 = 1.0;
/// A beat at 100 beats a minute, seconds.
const BEAT_S: f64 = 0.6;

/// A note by its tab, where and how long it is played, and what it is, worked out by hand for a D harp over a
/// twelve-bar in A: the chord, its degree there, its degree in the key, whether it is in the blues scale of A.
#[derive(Clone, Copy)]
struct Truth {
    tab: &'static str,
    bar: usize,
    beat: f64,
    beats: f64,
    chord: &'static str,
    chord_degree: Option<&'static str>,
    degree: &'static str,
    in_scale: bool,
    held: Option<&'static str>,
}

const fn truth(
    (tab, bar, beat, beats): (&'static str, usize, f64, f64),
    (chord, chord_degree): (&'static str, Option<&'static str>),
    (degree, in_scale): (&'static str, bool),
) -> Truth {
    Truth { tab, bar, beat, beats, chord, chord_degree, degree, in_scale, held: None }
}

const fn held(truth: Truth, how: &'static str) -> Truth {
    Truth { held: Some(how), ..truth }
}

#[rustfmt::skip]
const PLAYED: [Truth; 24] = [
    truth(("6", 1, 1.0, 0.8), ("A7", Some("1")), ("1", true)),
    truth(("-4", 1, 2.0, 0.8), ("A7", Some("5")), ("5", true)),
    truth(("-5", 1, 3.0, 0.6), ("A7", Some("♭7")), ("♭7", true)),
    truth(("5", 1, 4.0, 0.6), ("A7", None), ("6", false)),
    // A blue third held for two beats, which is the style.
    held(truth(("-3'", 2, 1.0, 2.2), ("A7", None), ("♭3", true)), "blue_note"),
    truth(("-3", 2, 4.0, 0.5), ("A7", Some("3")), ("3", false)),
    // The fourth held over the chord, and then in passing.
    held(truth(("4", 3, 1.0, 1.8), ("A7", None), ("4", true)), "clash"),
    truth(("4", 3, 4.0, 0.5), ("A7", None), ("4", true)),
    truth(("-4'", 4, 1.0, 0.6), ("A7", None), ("♭5", true)),
    truth(("-4", 4, 2.0, 0.6), ("A7", Some("5")), ("5", true)),
    truth(("4", 5, 1.0, 0.8), ("D7", Some("1")), ("4", true)),
    truth(("5", 5, 2.0, 0.8), ("D7", Some("3")), ("6", false)),
    truth(("6", 5, 3.0, 0.8), ("D7", Some("5")), ("1", true)),
    truth(("-6", 5, 4.0, 0.6), ("D7", None), ("2", false)),
    // The last third of a swung beat, tied over: it belongs to the chord that comes.
    truth(("-3", 6, 4.667, 1.0), ("A7", Some("3")), ("3", false)),
    truth(("-4", 7, 3.0, 0.6), ("A7", Some("5")), ("5", true)),
    truth(("-4", 9, 1.0, 0.8), ("E7", Some("1")), ("5", true)),
    truth(("-6", 9, 2.0, 0.8), ("E7", Some("5")), ("2", false)),
    truth(("-6", 10, 1.0, 0.8), ("D7", None), ("2", false)),
    truth(("5", 10, 2.0, 0.8), ("D7", Some("3")), ("6", false)),
    truth(("-3", 11, 1.0, 0.8), ("A7", Some("3")), ("3", false)),
    truth(("6", 11, 2.0, 0.8), ("A7", Some("1")), ("1", true)),
    truth(("-1", 12, 2.0, 0.8), ("E7", Some("1")), ("5", true)),
    // The bar on which it ends.
    truth(("6", 13, 1.0, 1.5), ("A7", Some("1")), ("1", true)),
];

fn way(tab: &str) -> Way {
    TabStyle::default().read(tab).unwrap()
}

/// A recording of these notes at 100 beats a minute.
fn record(file: &Path) {
    let harp = Harp::richter("D".parse::<HarpKey>().unwrap());
    let mut player = SimulatedPlayer::new(&harp, RATE, 3);
    for note in &PLAYED {
        let onset_s = ((note.bar - 1) as f64 * 4.0 + note.beat - 1.0) * BEAT_S;
        // Released 0.05 s early, because what rings on belongs to the length.
        let gesture = Gesture::new(way(note.tab)).seconds(note.beats * BEAT_S - 0.05);
        let gesture = if note.tab.ends_with('\'') { gesture.glide(0.03) } else { gesture };
        player.play_at(&gesture, (LEAD_S + onset_s) * RATE).unwrap();
    }
    let mut samples = vec![0.0; (RATE * (LEAD_S + 54.0 * BEAT_S)) as usize];
    player.fill(&mut samples);
    write(file, &samples, RATE as u32);
}

fn jam(folder: &TempDir, arguments: &[&str]) -> Run {
    let wav = folder.path().join("take.wav");
    let all = [
        &["jam", "--key", "A", "--harp", "D", "--choruses", "1", "--able", "bends", "--from", text(&wav)],
        arguments,
    ]
    .concat();
    let run = run(&all);
    assert_eq!(run.code, 0, "{}", run.err);
    run
}

fn recorded() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    record(&folder.path().join("take.wav"));
    folder
}

fn lines(out: &str, kind: &str) -> Vec<Value> {
    let all = out.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    all.filter(|line| line["kind"] == kind).collect()
}

#[test]
fn a_jam_is_told_note_by_note() {
    let folder = recorded();
    let out = jam(&folder, &["--json", "--starts", "1"]).out;
    let plan = &lines(&out, "plan")[0];
    assert_eq!((plan["schema"].as_str(), plan["event"].as_str()), (Some("bendwright/lines/1"), Some("jam")));
    assert_eq!((plan["title"].as_str(), plan["feel"].as_str()), (Some("twelve-bar in A"), Some("shuffle")));
    let chords: Vec<&str> = plan["chords"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    assert_eq!(chords, ["A7", "A7", "A7", "A7", "D7", "D7", "A7", "A7", "E7", "D7", "A7", "E7"]);
    let notes = lines(&out, "note");
    assert_eq!(notes.len(), PLAYED.len(), "{out}");
    for (note, truth) in notes.iter().zip(&PLAYED) {
        let tab: Vec<&str> = note["tab"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
        assert!(tab.contains(&truth.tab), "{}: {note}", truth.tab);
        assert_eq!(
            (note["chorus"].as_u64(), note["bar"].as_u64()),
            (Some(1), Some(truth.bar as u64)),
            "{note}"
        );
        assert!(
            (note["beat"].as_f64().unwrap() - truth.beat).abs() < 0.05,
            "{} {}: {note}",
            truth.tab,
            truth.beat
        );
        assert!(
            (note["beats"].as_f64().unwrap() - truth.beats).abs() < 0.2,
            "{} {}: {note}",
            truth.tab,
            truth.beats
        );
        assert_eq!(note["chord"], truth.chord, "{note}");
        assert_eq!(note["chord_degree"].as_str(), truth.chord_degree, "{note}");
        assert_eq!(note["in_chord"], truth.chord_degree.is_some(), "{note}");
        assert_eq!(
            (note["degree"].as_str(), note["in_scale"].as_bool()),
            (Some(truth.degree), Some(truth.in_scale))
        );
        assert_eq!(note["held"].as_str(), truth.held, "{note}");
        assert!(note["cents"].as_f64().unwrap().abs() < 10.0, "{note}");
    }
}

#[test]
fn a_chorus_and_the_whole_are_told() {
    let folder = recorded();
    let out = jam(&folder, &["--json", "--starts", "1"]).out;
    let (chorus, end) = (&lines(&out, "chorus")[0], &lines(&out, "end")[0]);
    let of_chord = PLAYED.iter().filter(|note| note.chord_degree.is_some()).count() as u64;
    for line in [chorus, end] {
        assert_eq!((line["notes"].as_u64(), line["of_chord"].as_u64()), (Some(24), Some(of_chord)), "{line}");
        let changes: Vec<(u64, &str, &str)> = line["changes"]
            .as_array()
            .unwrap()
            .iter()
            .map(|it| {
                (it["bar"].as_u64().unwrap(), it["chord"].as_str().unwrap(), it["met"].as_str().unwrap())
            })
            .collect();
        // On bar 10 the sixth of D7 is played, and bar 12 begins with a rest.
        let expected = [
            (5, "D7", "of_chord"),
            (7, "A7", "of_chord"),
            (9, "E7", "of_chord"),
            (10, "D7", "other"),
            (11, "A7", "of_chord"),
            (12, "E7", "rest"),
            (13, "A7", "of_chord"),
        ];
        assert_eq!(changes, expected, "{line}");
        let held: Vec<(u64, &str)> = line["held"]
            .as_array()
            .unwrap()
            .iter()
            .map(|it| (it["bar"].as_u64().unwrap(), it["held"].as_str().unwrap()))
            .collect();
        assert_eq!(held, [(2, "blue_note"), (3, "clash")], "{line}");
        // Blown and drawn beats, as they were played; none of the notes can be played either way.
        let seconds = |draw: bool| {
            let of = PLAYED.iter().filter(|note| note.tab.starts_with('-') == draw);
            of.map(|note| note.beats * BEAT_S).sum::<f64>()
        };
        assert!((line["blow_s"].as_f64().unwrap() - seconds(false)).abs() < 0.8, "{line}");
        assert!((line["draw_s"].as_f64().unwrap() - seconds(true)).abs() < 1.2, "{line}");
        assert_eq!(line["either_s"].as_f64(), Some(0.0), "{line}");
    }
    assert_eq!((end["choruses"].as_u64(), end["complete"].as_bool()), (Some(1), Some(true)));
    let unused: Vec<&str> = end["unused"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    assert!(unused.contains(&"1") && unused.contains(&"-8") && !unused.contains(&"-4"), "{unused:?}");
}

#[test]
fn plain_says_the_same_in_sentences_and_the_block_size_changes_nothing() {
    let folder = recorded();
    let plain = jam(&folder, &["--plain", "--starts", "1"]).out;
    assert_eq!(plain.lines().filter(|line| line.starts_with("note: ")).count(), 24, "{plain}");
    for words in [
        "jam: twelve-bar in A, D harp, shuffle at 100, 4/4, A blues, once: A7 | A7 |",
        "chorus 1, bar 2, beat 1",
        "of the scale over A7",
        "a blue note held",
        "a note of the new chord on 5 of 7 changes, another note on 1, a rest on 1",
        "4 (4) over A7 in bar 3",
        "in a blues that is the style, other styles avoid it",
        "never played: 1 ",
    ] {
        assert!(plain.contains(words), "{words}: {plain}");
    }
    for block in ["1", "37", "100000"] {
        assert_eq!(jam(&folder, &["--plain", "--starts", "1", "--block", block]).out, plain, "{block}");
    }
    // Without a first beat it is the first note.
    let first = jam(&folder, &["--json"]).out;
    assert_eq!(lines(&first, "note").len(), 24);
}

/// A recording that ends before the form does is told as far as it goes.
#[test]
fn a_recording_that_is_shorter_is_told_to_its_end() {
    let folder = recorded();
    let wav = folder.path().join("take.wav");
    let out = printed(&[
        "jam",
        "--key",
        "A",
        "--harp",
        "D",
        "--endless",
        "--starts",
        "1",
        "--json",
        "--from",
        text(&wav),
    ]);
    let end = &lines(&out, "end")[0];
    assert_eq!(
        (end["choruses"].as_u64(), end["complete"].as_bool(), end["notes"].as_u64()),
        (Some(1), Some(false), Some(24))
    );
}

#[test]
fn the_built_in_player_plays_over_every_form_and_feel() {
    for (form, feel) in [
        ("twelve-bar", "shuffle"),
        ("ii-V-I", "swing"),
        ("two-chord minor vamp", "train"),
        ("I-IV-V", "waltz"),
    ] {
        let arguments =
            ["jam", "--form", form, "--feel", feel, "--choruses", "2", "--from", "player", "--json"];
        let out = printed(&arguments);
        assert_eq!(lines(&out, "chorus").len(), 2, "{form}");
        let notes = lines(&out, "note");
        assert!(notes.len() > 8, "{form}: {}", notes.len());
        let told = notes.iter().filter(|note| note["in_chord"].is_boolean()).count();
        assert!(told * 20 >= notes.len() * 19, "{form}: {told} of {}", notes.len());
        assert_eq!(printed(&arguments), out, "the same seed plays the same");
    }
}

#[test]
fn what_is_no_jam_is_told_in_a_sentence() {
    for (arguments, words) in [
        (["--form", "polka"], "--form"),
        (["--form", "I7 | H7"], "numeral 2 of 2"),
        (["--form", "I | I IV V I IV"], "bar 2 has 5 chords"),
        (["--feel", "bossa"], "there are: straight, shuffle"),
        (["--key", "H"], "is no note"),
        (["--tempo", "500"], "outside 30 to 240"),
        (["--tempo", "-3"], "outside 30 to 240"),
        (["--scale", "pentatonic blues major"], "there is no scale"),
        (["--click", "cowbell"], "there is no click"),
        (["--starts", "1"], "is for a recording"),
    ] {
        let run = run(&[&["jam", "--from", "player", "--plain"], &arguments[..]].concat());
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(run.err.contains(words) && run.err.lines().count() == 1, "{arguments:?}: {}", run.err);
    }
}

/// A recording of the player's own as the band: it lasts as many choruses as it has whole ones, and says what it needs.
#[test]
fn a_recording_of_ones_own_is_the_band_of_a_jam() {
    let folder = tempfile::tempdir().unwrap();
    let band = folder.path().join("band.wav");
    // Two bars of 4/4 at 120 beats a minute last 4 s: 17 s from 0.9 s on have four times two bars.
    let wave: Vec<f32> = (0..17 * 8_000).map(|n| (f64::from(n) * 0.2).sin() as f32 * 0.3).collect();
    write(&band, &wave, 8_000);
    let band = text(&band);
    let all = ["--recording", band, "--first-beat", "0.9", "--tempo", "120", "--form", "I7 | IV7"];
    let jam = |arguments: &[&str]| run(&[&["jam", "--from", "player", "--json"], arguments].concat());
    let told = jam(&all);
    assert_eq!(told.code, 0, "{}", told.err);
    let plan: Value = serde_json::from_str(told.out.lines().next().unwrap()).unwrap();
    assert_eq!((plan["choruses"].as_u64(), plan["tempo"].as_f64()), (Some(4), Some(120.0)), "{plan}");
    for (arguments, words) in [
        (&all[..2], "nobody knows where its beats are"),
        (&all[..4], "nobody knows where its beats are"),
        (&all[..6], "nobody knows its chords"),
        (&[&all[..2], &["--first-beat", "18"], &all[4..]].concat(), "is no second of this recording"),
        (&[&["--recording", "nothing.wav"], &all[2..]].concat(), "cannot be opened"),
        (&[&all[..], &["--endless"]].concat(), "--endless"),
    ] {
        let run = jam(arguments);
        assert!(run.code == 2 && run.out.is_empty(), "{arguments:?}: {}", run.out);
        assert!(run.err.contains(words), "{arguments:?}: {}", run.err);
    }
}
