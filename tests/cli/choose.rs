//! `choose`: which harp for a song, with reasons and as data.

use crate::{json, printed, run};
use serde_json::Value;

const SCHEMA: &str = "bendwright/choose/1";

fn choose(arguments: &[&str]) -> Value {
    json(&[&["choose", "--json"], arguments].concat(), SCHEMA)
}

fn choices(arguments: &[&str]) -> Vec<Value> {
    choose(arguments)["choices"].as_array().unwrap().clone()
}

#[test]
fn twelve_richter_harps_stand_in_the_positions_of_the_table() {
    // Song in A: the harp a fifth below plays it in 2nd position, and so on round the circle of fifths (common practice,
    // no source; tonic = key + 7 (position − 1) modulo 12).
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
    for other in data["cheaper_elsewhere"].as_array().unwrap() {
        assert!(other["cost"].as_f64().unwrap() < best && other["tuning"] != "Richter", "{}", other["title"]);
    }
    assert!(data["choices"].as_array().unwrap().iter().all(|choice| choice["tuning"] == "Richter"));
    let named = choices(&["--song-key", "A", "--tunings", "country, solo", "--most", "30"]);
    assert_eq!(named.len(), 24);
    let all = choose(&["--song-key", "A", "--tunings", "all", "--most", "500"]);
    assert_eq!(all["choices"].as_array().unwrap().len(), 12 * layout::Tunings::ours().iter().count());
    assert_eq!(all["cheaper_elsewhere"].as_array().unwrap().len(), 0);
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
    ] {
        let run = run(&arguments);
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(words.iter().all(|word| run.err.contains(word)), "{arguments:?}: {}", run.err);
    }
}
