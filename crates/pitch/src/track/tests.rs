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

#[test]
fn a_note_moves_up_an_octave_after_four_frames_and_is_heard_in_every_one() {
    let mut tracker = Tracker::new(RATE, HOP, Settings::new(RATE));
    let mut note = Note::new(LOW_HZ / RATE, tracker.durations);
    (note.age, note.power) = (4, 0.005);
    tracker.note = Some(note);
    let history = sound(tracker.span() + 10 * HOP, true);
    let mut told = Vec::new();
    for frame in 0..10 {
        let heard = tracker.frame(&history[..tracker.span() + frame * HOP], 0.005);
        assert!(heard.clarity > 0.9 && !heard.onset, "it is the same note in frame {frame}");
        told.push(heard.pitch.map_or(0.0, |pitch| pitch.frequency) * RATE / LOW_HZ);
    }
    assert!(told[..3].iter().all(|ratio| (ratio - 1.0).abs() < 1.0e-3), "{told:?}");
    assert!(told[3..].iter().all(|ratio| (ratio - 2.0).abs() < 1.0e-3), "{told:?}");
}

#[test]
fn silence_ends_a_note_at_once() {
    let mut tracker = Tracker::new(RATE, HOP, Settings::new(RATE));
    let history = sound(tracker.span(), false);
    assert!(tracker.frame(&history, 0.005).onset);
    assert!(tracker.frame(&history, 0.0).pitch.is_none() && tracker.note.is_none());
}
