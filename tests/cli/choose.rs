//! `choose`: which harp for a song, with reasons and as data.

use crate::{json, printed, run};
use serde_json::Value;

const SCHEMA: &str = "bendwright/choose/2";

fn choose(arguments: &[&str]) -> Value {
    json(&[&["choose", "--json"], arguments].concat(), SCHEMA)
}

fn choices(arguments: &[&str]) -> Vec<Value> {
    choose(arguments)["choices"].as_array().unwrap().clone()
}

#[test]
fn twelve_richter_harps_stand_in_the_positions_of_the_table() {
    // Song in A: the harp a fifth below plays it in 2nd position, and so on round the circle of fifths (common
    // practice, no source; tonic = key + 7 (position − 1) modulo 12).
    let table = ["A", "D", "G", "C", "F", "B♭", "E♭", "A♭", "D♭", "F♯", "B", "E"];
    let all = choices(&["--song-key", "A", "--scale", "blues", "--most", "20"]);
    assert_eq!(all.len(), 12);
    for choice in &all {
        let position = choice["position"].as_u64().unwrap();
        assert_eq!(choice["harp"], table[position as usize - 1], "{}", choice["title"]);
        assert_eq!(choice["tuning"], "Richter");
    }
    let costs: Vec<f64> = all.iter().map(|choice| choice["cost"].as_f64().unwrap()).collect();
    assert!(costs.is_sorted(), "{costs:?}");
}

#[test]
fn a_mixolydian_song_wants_the_harp_of_its_fourth() {
    // Common practice, no source: without bends a harp plays Mixolydian in 2nd position, Dorian in the 3rd.
    for (mode, harp, position) in [("Mixolydian", "D", 2), ("Dorian", "G", 3), ("major", "A", 1)] {
        let first = &choices(&["--song-key", "A", "--mode", mode, "--able", "plain", "--span", "12"])[0];
        assert_eq!(
            (first["harp"].as_str(), first["position"].as_u64()),
            (Some(harp), Some(position)),
            "{mode}"
        );
        assert_eq!(first["cost_everywhere"].as_f64().map(|cost| cost >= 0.0), Some(true));
    }
}

#[test]
fn only_owned_harps_are_ranked() {
    let all = choices(&["--song-key", "A", "--owned", "C, D,G, low F natural minor", "--most", "9"]);
    let mut harps: Vec<&str> = all.iter().map(|choice| choice["harp"].as_str().unwrap()).collect();
    harps.sort_unstable();
    assert_eq!(harps, ["C", "D", "G", "low F"]);
}

#[test]
fn cheaper_tunings_are_told_apart_from_the_ranking() {
    let data = choose(&["--song-key", "A", "--mode", "natural minor", "--able", "plain"]);
    let best = data["choices"][0]["cost"].as_f64().unwrap();
    let elsewhere = data["cheaper_elsewhere"].as_array().unwrap();
    assert!(!elsewhere.is_empty());
    for other in elsewhere {
        let cost = other["cost"].as_f64().unwrap();
        assert!(cost + theory::TIE < best && other["tuning"] != "Richter", "{}", other["title"]);
    }
    assert!(data["choices"].as_array().unwrap().iter().all(|choice| choice["tuning"] == "Richter"));
    let named = choices(&["--song-key", "A", "--tunings", "country, solo", "--most", "30"]);
    assert_eq!(named.len(), 24);
    let all = choose(&["--song-key", "A", "--tunings", "all", "--most", "500"]);
    assert_eq!(all["choices"].as_array().unwrap().len(), 12 * layout::Tunings::ours().iter().count());
    assert_eq!(all["cheaper_elsewhere"].as_array().unwrap().len(), 0);
}

/// The harp and the position of a choice.
fn place(choice: &Value) -> (&str, u64) {
    (choice["harp"].as_str().unwrap(), choice["position"].as_u64().unwrap())
}

#[test]
fn a_song_of_which_only_the_key_is_said_is_taken_for_a_blues() {
    let data = choose(&["--song-key", "A", "--most", "2"]);
    let assumed = data["song"]["assumed"].as_str().unwrap();
    assert!(assumed.contains("blues") && assumed.contains("--changes"), "{assumed}");
    assert_eq!((&data["song"]["form"], &data["song"]["feel"]), (&"twelve-bar".into(), &"dominant".into()));
    assert_eq!(place(&data["choices"][0]), ("D", 2));
    assert_eq!(data["second_position"], Value::Null, "it stands first already");
    assert_eq!(place(&data["if_minor_blues"]), ("G", 3));
    let said = choose(&["--song-key", "A", "--scale", "blues", "--most", "2"]);
    assert_eq!((&said["song"]["assumed"], &said["choices"]), (&Value::Null, &data["choices"]));
}

#[test]
fn the_second_position_is_shown_beside_another_winner_with_the_reason() {
    let data = choose(&["--song-key", "A", "--owned", "C, E"]);
    assert_eq!(place(&data["second_position"]["choice"]), ("D", 2));
    assert_eq!(
        data["second_position"]["why_behind"],
        serde_json::json!(["not among the harps counted here"])
    );
    let data = choose(&["--song-key", "A", "--feel", "minor", "--able", "draw-bends"]);
    assert_eq!(place(&data["choices"][0]), ("C", 4));
    assert_eq!(place(&data["choices"][1]), ("G", 3));
    assert_eq!(place(&data["second_position"]["choice"]), ("D", 2));
    let why = data["second_position"]["why_behind"].to_string();
    assert!(why.contains("draw 1 to 4 sound I, which clashes with the chord of the tonic, i7"), "{why}");
    assert_eq!(data["if_minor_blues"], Value::Null);
}

#[test]
fn feel_and_changes_say_what_the_song_is() {
    // Common practice, no source.
    for (arguments, scale, feel, harp, position) in [
        (&["--feel", "major"][..], "major", "major", "A", 1),
        (&["--feel", "Dominant"], "Mixolydian", "dominant", "D", 2),
        (&["--changes", "ii-V-I"], "major", "major", "A", 1),
        (&["--changes", "ii7, V7 → Imaj7"], "major", "major", "A", 1),
        // The case of a numeral tells minor from major; only I-IV-V is the progression of that name.
        (&["--changes", "i iv v"], "natural minor", "minor", "C", 4),
        (&["--changes", "I-IV-V"], "major", "major", "A", 1),
        (&["--changes", "Two-Chord Minor Vamp"], "Dorian", "minor", "G", 3),
        (&["--changes", "I7 | bVII IV | I7"], "Mixolydian", "dominant", "D", 2),
        (&["--changes", "minor blues"], "blues", "minor", "G", 3),
        (&["--scale", "minor blues"], "blues", "minor", "G", 3),
        (&["--scale", "blues", "--feel", "minor"], "blues", "minor", "G", 3),
        (&["--scale", "minor pentatonic", "--changes", "i"], "minor pentatonic", "minor", "G", 3),
    ] {
        let data = choose(&[&["--song-key", "A"], arguments].concat());
        let song = &data["song"];
        assert_eq!((&song["scale"], &song["feel"]), (&scale.into(), &feel.into()), "{arguments:?}");
        assert_eq!(place(&data["choices"][0]), (harp, position), "{arguments:?}");
        assert_eq!(song["assumed"] == Value::Null, arguments.contains(&"--scale"), "{arguments:?}");
    }
}

#[test]
fn a_fixed_pitch_asks_for_low_and_high_harps() {
    let data =
        choose(&["--song-key", "E", "--scale", "blues", "--range", "E3 to E5", "--able", "draw-bends"]);
    assert_eq!(place(&data["choices"][0]), ("low A", 2));
    assert_eq!(data["song"]["range"], serde_json::json!(["E3", "E5"]));
    let notes = data["choices"][0]["notes"].as_array().unwrap();
    assert_eq!((&notes[0]["note"], &notes[notes.len() - 1]["note"]), (&"E3".into(), &"E5".into()));
    let higher =
        choices(&["--song-key", "E", "--scale", "blues", "--range", "E4-E6", "--able", "draw-bends"]);
    assert_eq!(place(&higher[0]), ("A", 2));
}

#[test]
fn the_parts_and_the_weights_of_a_cost_are_told() {
    for choice in choices(&["--song-key", "A", "--tunings", "all", "--most", "500"]) {
        let number = |value: &Value| value.as_f64().unwrap();
        let parts: f64 = choice["parts"].as_object().unwrap().values().map(number).sum();
        assert!((parts - number(&choice["cost"])).abs() < 1e-9, "{choice}");
        assert!((0.0..=theory::TIE).contains(&number(&choice["parts"]["custom"])), "{choice}");
        let degrees = choice["degrees"].as_array().unwrap();
        let weight: f64 = degrees.iter().map(|degree| number(&degree["weight"])).sum();
        let sum: f64 = degrees.iter().map(|degree| number(&degree["weight"]) * number(&degree["cost"])).sum();
        assert!((sum / weight - number(&choice["parts"]["notes"])).abs() < 1e-9, "{choice}");
    }
    let near = &choices(&["--song-key", "G", "--scale", "major pentatonic"])[0]["reasons"];
    assert!(near.to_string().contains("hardly better than the G harp, Richter, 1st position"), "{near}");
}

#[test]
fn another_winner_than_the_second_position_as_text() {
    let arguments = ["choose", "--song-key", "A", "--feel", "minor", "--able", "draw-bends", "--most", "2"];
    insta::assert_snapshot!(printed(&arguments));
    assert!(printed(&arguments).lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn the_choices_as_text() {
    let arguments =
        ["choose", "--song-key", "Bb", "--scale", "blues", "--able", "draw-bends, 6o", "--most", "3"];
    insta::assert_snapshot!(printed(&arguments));
    assert!(printed(&arguments).lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn wrong_names_are_answered_with_the_known_ones() {
    for (arguments, words) in [
        (vec!["choose"], ["--song-key", "required"]),
        (vec!["choose", "--song-key", "H"], ["--song-key", "A to G"]),
        (vec!["choose", "--song-key", "A", "--mode", "x"], ["--mode", "Dorian"]),
        (vec!["choose", "--song-key", "A", "--owned", "C, X"], ["--owned", "X"]),
        (vec!["choose", "--song-key", "A", "--owned", ","], ["--owned", "empty"]),
        (vec!["choose", "--song-key", "A", "--owned", "C odd"], ["--owned", "natural minor"]),
        (vec!["choose", "--song-key", "A", "--tunings", "odd"], ["--tunings", "natural minor"]),
        (vec!["choose", "--song-key", "A", "--most", "0"], ["--most", "0"]),
        (vec!["choose", "--song-key", "A", "--feel", "sad"], ["--feel", "major, dominant or minor"]),
        (
            vec!["choose", "--song-key", "A", "--changes", "ii-H-I"],
            ["numeral 2 of 3: \"H\"", "small for minor"],
        ),
        (
            vec!["choose", "--song-key", "A", "--changes", "twelve bra"],
            ["numeral 1 of 2", "did you mean \"twelve-bar\"?"],
        ),
        (vec!["choose", "--song-key", "A", "--changes", " | "], ["--changes", "write a roman numeral"]),
        (vec!["choose", "--song-key", "A", "--range", "E5 to E3"], ["--range", "E3 to E5"]),
        (vec!["choose", "--song-key", "A", "--range", "low"], ["--range", "its lowest and its highest note"]),
        (vec!["choose", "--song-key", "A", "--range", "E3-E5", "--span", "12"], ["--range", "--span"]),
    ] {
        let run = run(&arguments);
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(words.iter().all(|word| run.err.contains(word)), "{arguments:?}: {}", run.err);
    }
}
