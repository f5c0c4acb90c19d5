//! `scale`: a scale in time, from the count-in to what came of it, without a screen.

use crate::{printed, run};
use serde_json::Value;

fn lines(arguments: &[&str]) -> Vec<Value> {
    let out = printed(&[&["scale", "--json"], arguments].concat());
    out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn of_kind<'a>(lines: &'a [Value], kind: &str) -> Vec<&'a Value> {
    lines.iter().filter(|line| line["kind"] == kind).collect()
}

/// The whole path: the blues scale of the second position in eighths at 80, played by the built-in player.
#[test]
fn the_blues_scale_of_the_second_position_in_eighths_at_80() {
    let lines = lines(&["--from", "player", "--runs", "2"]);
    let plan = of_kind(&lines, "plan")[0];
    let tab: Vec<&str> = plan["tab"].as_array().unwrap().iter().map(|tab| tab.as_str().unwrap()).collect();
    assert_eq!(tab.join(" "), "-2 -3' 4 -4' -4 -5 6 -5 -4 -4' 4 -3' -2");
    let notes = of_kind(&lines, "note");
    assert_eq!(notes.len(), 26);
    for (i, note) in notes.iter().enumerate() {
        // Eighths at 80 beats a minute: 60 / 80 / 2 seconds.
        assert!((note["asked_s"].as_f64().unwrap() - 0.375 * (i % 13) as f64).abs() < 1e-9, "{note}");
        let late = note["late_ms"].as_f64().unwrap();
        let asked = (note["played_s"].as_f64().unwrap() - note["asked_s"].as_f64().unwrap()) * 1000.0;
        // The built-in player's beat is known to the sample, so the lateness that is told is the one that was played.
        assert!((late - asked).abs() < 0.1 && late.abs() < 110.0, "{note}");
    }
    let runs = of_kind(&lines, "run");
    assert_eq!(runs.len(), 2);
    for run in runs {
        assert_eq!((run["tempo"].as_f64(), run["asked"].as_u64()), (Some(80.0), Some(13)));
        assert!(run["late_ms"].as_f64().is_some() && run["spread_ms"].as_f64().is_some(), "{run}");
        assert!(run["right"].as_u64().unwrap() >= 9, "the built-in player knows its scale: {run}");
    }
    assert_eq!(of_kind(&lines, "end")[0]["complete"], true);
}

#[test]
fn the_ladder_climbs_while_the_runs_are_clean() {
    let lines =
        lines(&["--from", "player", "--runs", "6", "--ladder", "--scale", "major", "--position", "1"]);
    let runs = of_kind(&lines, "run");
    let tempi: Vec<f64> = runs.iter().map(|run| run["tempo"].as_f64().unwrap()).collect();
    let clean: Vec<bool> = runs.iter().map(|run| run["clean"].as_bool().unwrap()).collect();
    // The rule in the simplest words: two clean runs at one tempo, and the next one is four beats faster.
    for i in 2..6 {
        if clean[i - 1] && clean[i - 2] && tempi[i - 1] == tempi[i - 2] {
            assert_eq!(tempi[i], tempi[i - 1] + 4.0, "{tempi:?} {clean:?}");
        }
    }
    assert!(tempi[5] > 80.0, "{tempi:?} {clean:?}");
}

/// In a tempo of the player's own nothing is late, and the tempo is told: the built-in player takes the one that is
/// written.
#[test]
fn in_free_time_nothing_is_early_or_late_and_the_tempo_is_told() {
    let lines = lines(&["--from", "player", "--runs", "2", "--free", "--scale", "major", "--position", "1"]);
    let notes = of_kind(&lines, "note");
    assert_eq!(notes.len(), 30);
    assert!(notes.iter().all(|note| note["late_ms"].is_null() && note["timing"].is_null()), "{notes:?}");
    for run in of_kind(&lines, "run") {
        assert!(run["in_time"].is_null() && run["late_ms"].is_null() && run["spread_ms"].is_null(), "{run}");
        assert!((run["played_tempo"].as_f64().unwrap() - 80.0).abs() < 3.0, "{run}");
        assert_eq!(run["right"], run["in_pitch"], "{run}");
    }
}

#[test]
fn the_first_run_gives_the_tempo_and_slow_and_full_take_turns() {
    let lines = lines(&[
        "--from",
        "player",
        "--runs",
        "5",
        "--own-tempo-first",
        "--ladder=in-turn",
        "--able",
        "plain",
        "--scale",
        "major",
        "--position",
        "1",
    ]);
    let runs = of_kind(&lines, "run");
    assert_eq!(runs.len(), 5);
    // The first one is in free time; the built-in player plays it at about the 80 that are asked.
    assert!(runs[0]["in_time"].is_null(), "{}", runs[0]);
    let own = runs[0]["played_tempo"].as_f64().unwrap();
    let tempo = |run: usize| runs[run]["tempo"].as_f64().unwrap();
    assert!(runs[1..].iter().all(|run| run["in_time"].is_u64()), "{runs:?}");
    assert_eq!((tempo(1), tempo(2)), ((0.6 * own.round()).round(), own.round()));
    // The full tempo moves by what came of it, and the slow one with it.
    assert_eq!((tempo(3), tempo(4)), ((0.6 * tempo(4)).round(), tempo(4)));
    assert!((tempo(4) - tempo(2)).abs() <= 4.0, "{runs:?}");
}

#[test]
fn a_form_is_played_chord_by_chord() {
    let lines = lines(&[
        "--from",
        "player",
        "--runs",
        "1",
        "--changes",
        "ii-V-I",
        "--position",
        "1",
        "--tempo",
        "120",
    ]);
    let plan = &lines[0];
    assert_eq!(plan["chords"], serde_json::json!(["Dm7", "G7", "Cmaj7", "Cmaj7"]), "{plan}");
    let notes = of_kind(&lines, "note");
    // D minor seventh is D F A C, G7 is G B D F, C major seventh is C E G B, as every textbook has them.
    let tones = ["DFAC", "GBDF", "CEGB", "CEGB"];
    assert_eq!(notes.len(), 32);
    for note in notes {
        let (bar, name) = (note["bar"].as_u64().unwrap() as usize, note["note"].as_str().unwrap());
        assert!(tones[bar - 1].contains(&name[..1]), "{note}");
    }
}

#[test]
fn what_a_sentence_says_is_what_the_json_says() {
    let arguments = ["--from", "player", "--runs", "1", "--values", "quarters", "--tempo", "60"];
    let plain = printed(&[&["scale", "--plain"], &arguments[..]].concat());
    let json = lines(&arguments);
    let run = of_kind(&json, "run")[0];
    let words = format!(
        "run 1 at 60: {}, {} of 13 right",
        if run["clean"] == true { "clean" } else { "not clean" },
        run["right"]
    );
    assert!(plain.contains(&words), "{words}\n{plain}");
    assert!(plain.contains("quarters at 60, 4/4, 13 notes in 4 bars, once"), "{plain}");
}

#[test]
fn a_mistake_is_told_with_what_there_is() {
    for (arguments, part) in [
        (&["--tempo", "20"][..], "30 to 240"),
        (&["--tempo", "-5"], "30 to 240"),
        (&["--metre", "7/8"], "6/8"),
        (&["--values", "crotchets"], "quarters"),
        (&["--swing", "5:1"], "1 (straight) to 3"),
        (&["--swing", "2:1", "--values", "triplets"], "are not swung"),
        (&["--order", "sideways"], "up and down"),
        (&["--range", "C4"], "lowest and its highest"),
        (&["--range", "C1 to D1"], "within your ability"),
        (&["--values", "whole notes", "--order", "random-walk", "--range", "C4 to C7"], ""),
        (&["--starts", "3"], "--from FILE.wav"),
        (&["--ladder=up"], "steps, in-turn"),
        (&["--own-tempo-first", "--free"], "cannot be used with"),
        (&["--click", "cowbell"], "backbeats"),
        (&["--silent-bars", "17"], "0..=16"),
        (&["--silent-bars", "1", "--click", "count in"], ""),
        (&["--changes", "I7 | IX"], "numeral 2 of 2"),
        (
            &["--changes", "I | IV", "--range", "D4 to E4", "--position", "1", "--able", "plain"],
            "bar 2: no note of F",
        ),
        (&["--changes", "twelve-bar", "--order", "up"], "cannot be used with"),
        (&["--changes", "twelve-bar", "--scale", "major"], "cannot be used with"),
        (
            &["--order", "fours", "--values", "whole notes", "--range", "C4 to C7", "--scale", "chromatic"],
            "64",
        ),
    ] {
        let run = run(&[&["scale", "--from", "player", "--plain", "--runs", "1"], arguments].concat());
        if part.is_empty() {
            assert_eq!(run.code, 0, "{arguments:?}: {}", run.err);
        } else {
            assert!(run.code == 2 && run.err.contains(part), "{arguments:?}: {}", run.err);
        }
    }
}

/// Which scale a position is begun with is common practice, no source; that these need no bend follows from the layout.
#[test]
fn a_position_is_begun_with_its_own_scale_unless_another_is_named() {
    for (arguments, title, tab) in [
        (&["--position", "3"][..], "D Dorian, up", "-4 5 -5 6 -6 -7 7 -8"),
        (&["--tonic", "A"], "A natural minor, up", "-6 -7 7 -8 8 -9 9 -10"),
        (&["--position", "3", "--range", "D4 to D5"], "D Dorian, up", "-1 2 -2'' -2 -3'' -3 4 -4"),
        (&["--position", "3", "--scale", "blues"], "D blues, up", "-4 -5 6 -6' -6 7 -8"),
        (&["--position", "7"], "F♯ blues, up", ""),
        (&[], "G blues, up", "-2 -3' 4 -4' -4 -5 6"),
        (&["--position", "3", "--tuning", "solo"], "D blues, up", ""),
    ] {
        let asked = [&["--from", "player", "--runs", "1", "--order", "up"], arguments].concat();
        let plan = of_kind(&lines(&asked), "plan")[0].clone();
        let played: Vec<&str> =
            plan["tab"].as_array().unwrap().iter().map(|tab| tab.as_str().unwrap()).collect();
        assert_eq!(plan["title"], title, "{arguments:?}");
        assert!(tab.is_empty() || played.join(" ") == tab, "{arguments:?}: {played:?}");
    }
    // The map shows what it showed.
    assert!(printed(&["map", "--position", "3"]).contains("D blues"));
}
