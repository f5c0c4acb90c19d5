//! What a jam says of what was heard where the band may have been heard in its place.

use crate::{Stage, plan};
use practice::jam::{Is, Met};
use theory::Groove;

/// A jam of three bars at 120 beats a minute over A7, D7 and E7, masked from beat `from` to beat `until` once it has
/// come to beat `when`.
fn masked(notes: &[crate::Played<'_>], (from, until): (f64, f64), when: f64) -> Stage {
    let mut stage = Stage::new(plan("I7 | IV7 | V7", Groove::Straight, 1));
    stage.play(notes, when);
    let beat = |beat: f64| {
        let zero = stage.exercise.now().samples as f64 - stage.jam().now().unwrap() * crate::RATE;
        (zero + beat * 0.5 * crate::RATE) as u64
    };
    let (from, until) = (beat(from), beat(until));
    stage.exercise.mask(from, until);
    stage.play(notes, f64::INFINITY);
    stage
}

const NOTES: [crate::Played<'static>; 3] =
    [("A5", 0.0, 0.0, 0.9), ("F#5", 0.0, 4.0, 0.9), ("B5", 0.0, 8.0, 0.9)];

fn told(stage: &Stage) -> Vec<Is> {
    stage.jam().notes().iter().map(|note| note.is).collect()
}

#[test]
fn nothing_is_told_of_a_note_that_may_be_the_bands() {
    let open = masked(&NOTES, (1.5, 1.6), 3.0);
    let all = told(&open);
    assert!(all.len() == 3 && all.iter().all(|is| matches!(is, Is::OfChord(_))), "{all:?}");
    // Noticed in time, and when the note had been told already: a microphone that was moved.
    for when in [4.2, 6.0] {
        let stage = masked(&NOTES, (3.9, 5.0), when);
        let all = told(&stage);
        assert_eq!(all[1], Is::CannotTell, "{all:?}");
        assert!(matches!((all[0], all[2]), (Is::OfChord(_), Is::OfChord(_))), "{all:?}");
        let tally = &stage.over().tally;
        assert_eq!((tally.notes, tally.of_chord, tally.cannot_tell), (3, 2, 1));
        assert_eq!(tally.changes[0].met, Met::CannotTell);
    }
}

#[test]
fn a_change_over_which_nothing_was_heard_is_a_rest_only_where_something_could_be_heard() {
    let met = |stage: Stage| stage.over().tally.changes[1].met;
    assert_eq!(met(masked(&NOTES[..2], (5.0, 6.0), 7.0)), Met::Rest);
    assert_eq!(met(masked(&NOTES[..2], (8.0, 9.0), 9.5)), Met::CannotTell);
}
