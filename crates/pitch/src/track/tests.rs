#![allow(clippy::unwrap_used, reason = "tests")]

use super::*;
use std::f64::consts::TAU;

const RATE: f64 = 16_000.0;
const HOP: usize = 40;
const LOW_HZ: f64 = 220.0;

/// The first ten harmonics, falling by 6 dB an octave; `even` of them alone, or all.
fn sound(samples: usize, even: bool) -> Vec<f32> {
    let numbers = (1..=10).filter(|number| !even || number % 2 == 0).map(f64::from);
    let at =
        |n: usize| numbers.clone().map(|h| (TAU * LOW_HZ * h * n as f64 / RATE + h).sin() / h).sum::<f64>();
    (0..samples).map(|n| 0.1 * at(n) as f32).collect()
}

/// A tracker that took a note for one of `LOW_HZ` a few looks ago.
fn believing() -> Tracker {
    let mut tracker = Tracker::new(RATE, HOP, &Settings::new(RATE));
    let mut note = Note::new(LOW_HZ / RATE);
    note.age = 4;
    note.power = 0.005;
    tracker.note = Some(note);
    tracker
}

#[test]
fn a_note_taken_up_an_octave_is_heard_at_every_look() {
    let mut tracker = believing();
    let history = sound(tracker.span() + 10 * HOP, true);
    for look in 0..10 {
        let heard = tracker.look(&history[..tracker.span() + look * HOP], 0.005);
        assert_eq!(tracker.note.unwrap().misses, 0, "look {look}");
        assert!(!heard.onset, "it is the same note at look {look}");
    }
    let ratio = tracker.note.unwrap().pitch.frequency * RATE / LOW_HZ;
    assert!((ratio - 2.0).abs() < 1.0e-3, "{ratio}");
}

#[test]
fn a_few_looks_do_not_outweigh_what_more_looks_or_the_spectrum_have_found() {
    for grounds in [Grounds::Halves, Grounds::Spectrum] {
        let mut tracker = believing();
        tracker.note.as_mut().unwrap().grounds = grounds;
        let history = sound(tracker.span() + 10 * HOP, true);
        let mut at = Vec::new();
        for look in 0..10 {
            tracker.look(&history[..tracker.span() + look * HOP], 0.005);
            at.push(tracker.note.unwrap().pitch.frequency * RATE / LOW_HZ);
        }
        assert!(at[..5].iter().all(|ratio| near(*ratio, 1.0)), "{at:?}");
        // A leap up an octave without a gap is believed all the same.
        assert!(at[6..].iter().all(|ratio| near(*ratio, 2.0)), "{at:?}");
    }
}

#[test]
fn a_note_that_moves_leaves_behind_what_spoke_for_the_other_pitch() {
    let mut tracker = believing();
    tracker.division = Division { evidence: [0.5; 2] };
    tracker.move_to(2.0 * LOW_HZ / RATE);
    assert_eq!(tracker.division, Division::default());
    assert_eq!(tracker.note.unwrap().preferred, (2.0 * LOW_HZ / RATE, 0));
}

#[test]
fn a_note_that_is_hardly_ever_clear_was_none() {
    let fades_after = |clarity: fn(u32) -> f64| {
        let mut note = Note::new(0.02);
        (1..400).find(|look| note.fades(clarity(*look)))
    };
    // As whispering does; as a note does in noise of three quarters of its own power, but for a click.
    let whispered = fades_after(|look| if look % 3 == 0 { 0.0 } else { 0.65 });
    assert!(whispered.is_some_and(|looks| (8..80).contains(&looks)), "{whispered:?}");
    assert_eq!(fades_after(|look| if (100..104).contains(&look) { 0.0 } else { 0.75 }), None);
}
