//! Chord rhythms without a screen, played by the built-in player: they are told in lines, as sentences and as JSON.

use crate::run;
use serde_json::Value;

#[test]
fn a_chord_rhythm_is_played_and_told_in_lines() {
    let args = ["phrase", "two-breath-chug", "--from", "player", "--runs", "1", "--harp", "C"];
    let json = run(&[&args[..], &["--json"]].concat());
    assert_eq!(json.code, 0, "{}", json.err);
    let lines: Vec<Value> = json.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let of = |kind: &str| lines.iter().filter(|line| line["kind"] == kind).collect::<Vec<_>>();
    let notes = of("note");
    assert_eq!(notes.len(), 25, "{}", json.out);
    assert_eq!((notes[0]["tab"].as_str(), notes[2]["tab"].as_str()), (Some("(-1 -2 -3)"), Some("(1 2 3)")));
    let whole = of("run")[0];
    assert_eq!((whole["chords"].as_bool(), whole["asked"].as_u64()), (Some(true), Some(25)));
    // The built-in player has the chords of a rhythm right; he may be a little late.
    assert_eq!((whole["played"].as_u64(), whole["in_pitch"].as_u64()), (Some(25), Some(25)), "{}", json.out);
    let plain = run(&[&args[..], &["--plain"]].concat());
    assert!(plain.out.contains(" (1 2 3): ") && plain.out.contains(" by their reeds, "), "{}", plain.out);
}

#[test]
fn the_chord_rhythms_are_listed() {
    let list = run(&["phrase", "--list"]).out;
    for name in ["two-breath-chug", "shuffled-chug", "two-and-four", "leaving-the-yard", "kitchen-waltz"] {
        assert!(list.contains(name), "{list}");
    }
    let drills = run(&["drill", "--list"]).out;
    assert!(drills.contains("octaves-and-splits") && drills.contains("position-2-chords"), "{drills}");
}
