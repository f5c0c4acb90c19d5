//! The learner answers everything, the same way every time, and gets better.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use common::{RATE, cents, harp, quiet, way};
use layout::{Breath, Technique, Way};
use synth::{Learner, Played, SimulatedPlayer};

/// Off-pitch cents of `tries` answers to one way.
fn answers(seed: u64, way: Way, tries: usize) -> Vec<f64> {
    let mut learner = Learner::new(seed);
    let mut player = quiet(&harp("C"), RATE, seed);
    (0..tries).map(|_| player.play(learner.answer(way, 2.0)).unwrap().cents_off).collect()
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    values.iter().sum::<f64>() / values.len() as f64
}

#[test]
fn every_way_is_answered_and_held_long_enough() {
    let mut player = quiet(&harp("C"), RATE, 1);
    let mut learner = Learner::new(1);
    for way in player.harp().clone().ways() {
        let played = player.play(learner.answer(way, 2.0)).unwrap();
        assert!(played.released - played.settled >= (2.0 * RATE) as u64, "{way:?}");
        assert!(stays_near(&player, &played), "{way:?} runs away while held");
    }
}

/// The pitch stays within 25 cents of what the gesture aims at while it is held.
fn stays_near(player: &SimulatedPlayer, played: &Played) -> bool {
    (played.settled..played.released)
        .step_by(480)
        .all(|at| cents(played.hz, player.truth(at).unwrap()).abs() < 25.0)
}

#[test]
fn same_seed_same_answers() {
    let bend = way(3, Breath::Draw, Technique::Bend(2));
    assert_eq!(answers(3, bend, 8), answers(3, bend, 8));
    assert_ne!(answers(3, bend, 8), answers(4, bend, 8));
}

#[test]
fn natural_notes_are_sure_and_deep_bends_short() {
    let first = |way| mean((0..200).map(|seed| answers(seed, way, 1)[0]));
    let size = |way| mean((0..200).map(|seed| answers(seed, way, 1)[0].abs()));
    let natural = way(4, Breath::Draw, Technique::Natural);
    let [half, whole, deep] = [1, 2, 3].map(|depth| way(3, Breath::Draw, Technique::Bend(depth)));
    assert!(size(natural) < 10.0);
    // Short of a bend's depth is above its pitch.
    assert!(first(half) > 5.0 && first(whole) > first(half) && first(deep) > first(whole));
    assert!(first(way(6, Breath::Blow, Technique::Overbend)) < -5.0);
}

#[test]
fn overbends_sometimes_do_not_speak_at_first() {
    let overblow = way(6, Breath::Blow, Technique::Overbend);
    let failed = (0..200)
        .filter(|seed| Learner::new(*seed).answer(overblow, 2.0).ways() == [overblow.natural()])
        .count();
    assert!((30..90).contains(&failed), "{failed} of 200");
}

#[test]
fn practice_helps() {
    let bend = way(2, Breath::Draw, Technique::Bend(2));
    let error = |attempt: usize| mean((0..200).map(|seed| answers(seed, bend, 8)[attempt].abs()));
    assert!(error(7) < 0.6 * error(0), "{} cents at first, {} at last", error(0), error(7));
}
