//! Names of intervals, and degrees above a tonic.

use crate::references::{rows, text};
use crate::{name, note};
use layout::Note;
use serde_json::Value;
use theory::{Degree, Interval};

fn music21() -> Value {
    serde_json::from_str(include_str!("../../../../tests/references/music21-intervals.json")).unwrap()
}

/// `music21` says "perfect" of a fourth, a fifth and an octave, as textbooks do and players do not. It gives six half
/// steps one of their two names, the diminished fifth.
#[test]
fn intervals_have_the_names_of_music21() {
    let file = music21();
    assert_eq!(rows(&file, "intervals").len(), 12);
    for row in rows(&file, "intervals") {
        let half_steps = row["half_steps"].as_i64().unwrap() as i32;
        let expected = text(row, "name").to_lowercase();
        let expected =
            expected.strip_prefix("perfect ").unwrap_or(&expected).replace("diminished fifth", "tritone");
        for low in [Note::MIDDLE_C, note(67)] {
            let high = low.up(half_steps).unwrap();
            assert_eq!(Interval::between(low, high).to_string(), expected);
            assert_eq!(Interval::between(high, low).to_string(), expected);
        }
    }
}

#[test]
fn degrees_above_a_tonic_are_the_notes_of_music21() {
    let file = music21();
    assert_eq!(rows(&file, "degrees").len(), 12 * 13);
    for row in rows(&file, "degrees") {
        let (tonic, degree) = (name(text(row, "tonic")), text(row, "degree").parse::<Degree>().unwrap());
        assert_eq!(
            u64::from(tonic.at(degree).pitch_class().semitones()),
            row["class"].as_u64().unwrap(),
            "{row}"
        );
    }
}
