//! What the built-in player plays over a form, and what is clicked.

use crate::{harp, plan};
use practice::run::{Clicked, Clicking};
use theory::Groove;

#[test]
fn the_built_in_player_walks_over_the_scale_and_meets_most_changes() {
    let plan = plan("twelve-bar", Groove::Shuffle, 1);
    let (mut changes, mut met) = (0, 0);
    for seed in 0..20 {
        let line = plan.walk(&harp(), 0..12, seed);
        assert_eq!(line, plan.walk(&harp(), 0..12, seed), "the same seed plays the same");
        assert!(line.len() > 30, "{}", line.len());
        for pair in line.windows(2) {
            assert!(pair[0].onset_s + pair[0].length_s <= pair[1].onset_s + 1e-9, "one note at a time");
        }
        assert!(line.iter().all(|note| harp().note(note.way) == Some(note.note)));
        assert!(line.iter().all(|note| plan.scale.find(note.note).is_some() || {
            let (chord, ..) = plan.form.chord_at(note.onset_s / plan.rhythm.bar_s() + 1e-6).unwrap();
            chord.degree(note.note.pitch_class()).is_some()
        }));
        for (at, chord) in plan.form.changes(0.0, 12.0) {
            let at_s = at * plan.rhythm.bar_s();
            let note = line.iter().find(|note| (note.onset_s - at_s).abs() < 1e-6);
            changes += 1;
            met += usize::from(note.is_some_and(|note| chord.degree(note.note.pitch_class()).is_some()));
        }
    }
    assert!(met * 10 >= changes * 7, "{met} of {changes}");
}

#[test]
fn the_click_goes_as_far_as_the_form() {
    let mut stage = crate::Stage::new(plan("I7 | IV7", Groove::Straight, 1));
    stage.play(&[], 0.0);
    let jam = stage.jam();
    assert_eq!(jam.clicks(0..9, true).len(), 4 + 8);
    assert_eq!(jam.clicks(1..9, false).len(), 4);
    let clicking = Clicking { what: Clicked::CountIn, silent_bars: 0 };
    let quiet = practice::jam::JamPlan { clicking, ..plan("I7", Groove::Waltz, 1) };
    assert_eq!(crate::Stage::new(quiet).jam().clicks(0..9, true).len(), 3);
}
