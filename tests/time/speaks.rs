//! When a note of the simulated player begins, by the convention of the bench of time.

use layout::{Harp, Way};
use synth::{Gesture, SimulatedPlayer};

/// From the first sample of a note until its partials pass -20 dB of their held level, seconds: measured over one
/// period on the note alone, without room, breath or unsteadiness.
pub(crate) fn speaks_s(harp: &Harp, way: Way) -> f64 {
    let rate = 48_000.0;
    let before = (0.05 * rate) as usize;
    let mut player = SimulatedPlayer::new(harp, rate, 1).with_room(f64::NEG_INFINITY);
    let played = player.play_at(&Gesture::new(way).seconds(0.3).pure(), before as f64).unwrap();
    let mut samples = vec![0.0; before + (0.2 * rate) as usize];
    player.fill(&mut samples);
    let half = (rate / played.hz / 2.0).round() as usize;
    let power = |at: usize| samples[at - half..at + half].iter().map(|x| f64::from(x * x)).sum::<f64>();
    let held = power(before + (0.15 * rate) as usize);
    // Decibels of power: -20 dB is a hundredth.
    let passes = (before..samples.len() - half).find(|at| power(*at) >= 0.01 * held).unwrap();
    (passes - before) as f64 / rate
}
