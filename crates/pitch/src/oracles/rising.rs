//! A note that begins: its level, and what an uneven one costs.

use super::RATE;
use crate::flatten::Flattener;
use crate::refine::Refiner;
use std::f64::consts::TAU;

/// Harmonics of a dull reed, each of which grows along a straight line from nothing at the first sample.
fn rising(hz: f64, count: usize) -> Vec<f32> {
    let at = |n: usize| -> f64 {
        let turn = TAU * hz * n as f64 / RATE;
        (1..=6).map(f64::from).map(|h| (turn * h + 2.0 * h).sin() / (h * h)).sum()
    };
    (0..count).map(|n| (0.3 * at(n) * n as f64 / count as f64) as f32).collect()
}

/// The level of a stretch as its root mean square, by the middle of the stretch; then straight lines through those.
fn level_by_definition(x: &[f32], stretch: f64, count: usize, at: f64) -> f64 {
    let middle = |index: usize| x.len() as f64 - 0.5 * (index + 1) as f64 * stretch;
    let level = |index: usize| {
        let from = x.len() as f64 - 0.5 * index as f64 * stretch - stretch;
        // By how much of each sample lies in the stretch.
        let part = |n: usize| ((n + 1) as f64).min(from + stretch) - (n as f64).max(from);
        let energy = |n: usize| f64::from(x[n]).powi(2) * part(n).clamp(0.0, 1.0);
        ((0..x.len()).map(energy).sum::<f64>() / stretch).sqrt()
    };
    let after = (1..count - 1).find(|index| middle(*index) <= at).unwrap_or(count - 1);
    let (early, late) = (level(after), level(after - 1));
    let part = (at - middle(after)) / (0.5 * stretch);
    early + (late - early) * part
}

#[test]
fn the_level_is_evened_out_along_straight_lines() {
    for (hz, length) in [(98.0, 400.0), (98.0, 330.0), (261.6, 320.0), (1_568.0, 160.0)] {
        let x = rising(hz, 420);
        let mut flattener = Flattener::new(RATE, 420);
        let flattened = flattener.flatten(&x, RATE / hz, length).to_vec();
        let stretch = (0.0016 * hz).ceil() * RATE / hz;
        let count = 2 * ((length / stretch).round() as usize).max(2) - 1;
        let newest = x.len() as f64 - 0.5 * stretch;
        let first = (x.len() as f64 - 0.5 * count as f64 * stretch).ceil() as usize;
        let level = |at: f64| level_by_definition(&x, stretch, count, at);
        for n in first..x.len() {
            let slow = f64::from(x[n]) * level(newest) / level(n as f64 + 0.5);
            let quick = f64::from(flattened[n]);
            assert!((quick - slow).abs() < 1.0e-4 * level(newest), "{hz} Hz, sample {n}: {quick} for {slow}");
        }
    }
}

#[test]
fn a_rising_level_does_not_pull_the_pitch() {
    for hz in [131.0, 220.0, 330.0, 440.0] {
        let x = rising(hz, (2.2 * RATE / hz) as usize + 2);
        let error = |x: &[f32]| {
            let mut refiner = Refiner::new(800, 0.40);
            let first = refiner.fit(x, hz / RATE, 2.0).unwrap();
            let fit = refiner.fit(x, first.frequency, 2.0).unwrap();
            (1_200.0 * (fit.frequency * RATE / hz).log2()).abs()
        };
        let uneven = error(&x);
        let flattened = error(Flattener::new(RATE, x.len()).flatten(&x, RATE / hz, 2.0 * RATE / hz));
        assert!(uneven > 5.0, "the case is to be a hard one: {uneven} cents at {hz} Hz");
        assert!(
            flattened < 0.25 * uneven && flattened < 3.0,
            "{flattened} cents instead of {uneven} at {hz} Hz"
        );
    }
}

#[test]
fn silence_and_stretches_too_long_are_left_alone() {
    let mut flattener = Flattener::new(RATE, 400);
    assert_eq!(flattener.flatten(&[0.0; 500], 100.0, 320.0), &[0.0; 400]);
    let x = rising(98.0, 500);
    assert_eq!(flattener.flatten(&x, 300.0, 600.0), &x[100..]);
}
