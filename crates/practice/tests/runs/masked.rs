//! What a run says of notes that the program's own sound may have hidden: nothing against the player.

use crate::player::{RATE, plan};
use crate::{blues, harp};
use practice::run::{Ladder, Plan, Tempi};
use practice::{Event, Exercise, Order, RunJudged};
use scoring::timed::{AskedNote, Timing};
use scoring::{Outcome, Tolerance, Why};

/// Samples from one reading to the next.
const HOP: u64 = 240;

/// A run of the blues scale in which the notes with these indices go wrong: the
/// first is left out, the second late, the third another note, the others are left out; and in which the notes
/// of these other indices are masked from a little before each to its end.
fn judged(wrong: &[usize], masked: &[usize], plan: Plan) -> (RunJudged, Exercise) {
    let harp = harp("C");
    let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
    exercise.order(Order::Run(Box::new(plan)));
    let place = |i: usize| wrong.iter().position(|own| *own == i);
    let late_s = |i: usize| if place(i) == Some(1) { 0.11 } else { 0.0 };
    let mut time = 0;
    loop {
        let running = exercise.running().unwrap();
        let (now, asked) = (running.now().unwrap_or(-9.0), running.asked().to_vec());
        let sounds = |(i, note): &(usize, &AskedNote)| {
            let held = 0.7 * note.length_s - late_s(*i);
            place(*i).is_none_or(|place| place == 1 || place == 2)
                && (0.0..held).contains(&(now - note.onset_s - late_s(*i)))
        };
        let hz = asked.iter().enumerate().find(sounds).and_then(|(i, note)| {
            harp.hz(note.way).map(|hz| if place(i) == Some(2) { hz * 1.26 } else { hz })
        });
        let is_hidden = masked.iter().any(|i| {
            let note = asked[*i];
            (-0.05..0.7 * note.length_s).contains(&(now - note.onset_s))
        });
        if is_hidden {
            exercise.mask(time, time + HOP);
        }
        let level_dbfs = if hz.is_some() { -18.0 } else { -70.0 };
        let reading = pitch::Reading {
            time,
            known: time + HOP,
            hz,
            sigma_cents: 0.5,
            clarity: 0.9,
            level_dbfs,
            onset: false,
        };
        time += HOP;
        for event in exercise.hear(&reading) {
            if let Event::RunJudged(judged) = event {
                return (*judged, exercise);
            }
        }
    }
}

#[test]
fn what_went_wrong_where_the_band_may_have_hidden_it_is_not_told() {
    let harp = harp("C");
    let run = || plan(blues(&harp, 80.0));
    let open = judged(&[2, 5, 9], &[], run()).0.verdict;
    let pitch = |outcome: Option<Outcome>| outcome.map(Outcome::word);
    assert_eq!((pitch(open.notes[2].pitch), open.notes[2].played), (None, None));
    assert_eq!(open.notes[5].timing, Some(Timing::Late));
    assert_eq!(pitch(open.notes[9].pitch), Some("another note"));
    assert_eq!((open.whole.asked, open.whole.masked, open.whole.right, open.whole.clean), (13, 0, 10, false));
    // The same with the band above the player at just these notes; and at one that is heard all the same.
    let hidden = judged(&[2, 5, 9], &[2, 5, 7, 9], run()).0.verdict;
    for i in [2, 5, 9] {
        let note = hidden.notes[i];
        assert_eq!((note.pitch, note.timing), (Some(Outcome::CannotTell(Why::Masked)), None), "{i}");
        assert!(note.is_masked() && !note.is_right());
    }
    assert!(hidden.notes[7].is_right() && hidden.extra.is_empty(), "{:?}", hidden.extra);
    assert_eq!(
        (hidden.whole.asked, hidden.whole.masked, hidden.whole.right, hidden.whole.clean),
        (10, 3, 10, true)
    );
    assert!(hidden.weakest.is_empty(), "{:?}", hidden.weakest);
    // It is not for everything: what goes wrong elsewhere is told.
    let beside = judged(&[2, 5, 9], &[0, 7, 12], run()).0.verdict;
    assert_eq!((beside.whole.asked, beside.whole.masked, beside.whole.right), (13, 0, 10));
}

#[test]
fn a_run_of_which_most_was_hidden_moves_no_tempo() {
    let harp = harp("C");
    let run = Plan { runs: 9, tempi: Tempi::Steps, ..plan(blues(&harp, 80.0)) };
    let all: Vec<usize> = (0..13).collect();
    let (hidden, exercise) = judged(&all[..10], &all, run.clone());
    assert!(!hidden.verdict.whole.is_told() && !hidden.verdict.whole.clean, "{:?}", hidden.verdict.whole);
    assert_eq!(*exercise.running().unwrap().ladder(), Ladder::default());
    let advice = hidden.verdict.advice(|way| format!("{way:?}"));
    assert!(advice.contains("headphones"), "{advice}");
    let (open, exercise) = judged(&all[..10], &[], run);
    assert!(open.verdict.whole.is_told() && *exercise.running().unwrap().ladder() != Ladder::default());
}
