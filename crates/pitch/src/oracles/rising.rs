//! A note that begins: its level, and what an uneven one costs.

use super::RATE;
use crate::flatten::Flattener;
use crate::refine::Refiner;
use std::cell::Cell;
use std::f64::consts::TAU;

/// Harmonics of a dull reed, each of which grows along a straight line from nothing at the first sample.
fn rising(hz: f64, count: usize) -> Vec<f32> {
    let at = |n: usize| -> f64 {
        let turn = TAU * hz * n as f64 / RATE;
        (1..=6).map(f64::from).map(|h| (turn * h + 2.0 * h).sin() / (h * h)).sum()
    };
    (0..count).map(|n| (0.3 * at(n) * n as f64 / count as f64) as f32).collect()
}

/// Energy of the newest samples of this number, and of as many before them.
fn energies(x: &[f32], stretch: usize) -> (f64, f64) {
    let energy = |x: &[f32]| x.iter().map(|x| f64::from(*x).powi(2)).sum();
    let newest = x.len() - stretch;
    (energy(&x[newest..]), energy(&x[newest - stretch..newest]))
}

#[test]
fn an_exponential_level_is_evened_out() {
    for (hz, rate) in [(98.0, 60.0), (261.6, -40.0), (1_568.0, 150.0)] {
        let level = |ago: usize| (-rate * ago as f64 / RATE).exp();
        let x: Vec<f32> =
            (0..420).map(|n| (level(419 - n) * (TAU * hz * n as f64 / RATE).sin()) as f32).collect();
        let mut flattener = Flattener::new(RATE, 420);
        let flattened = flattener.flatten(&x, RATE / hz, |stretch| energies(&x, stretch));
        for (n, flattened) in flattened.iter().enumerate().filter(|(n, _)| level(419 - n) > 0.06) {
            let slow = (TAU * hz * n as f64 / RATE).sin();
            assert!(
                (f64::from(*flattened) - slow).abs() < 0.1,
                "{hz} Hz, sample {n}: {flattened} for {slow}"
            );
        }
    }
}

#[test]
fn the_level_is_measured_over_whole_periods_and_two_milliseconds_at_least() {
    // 32 samples are two milliseconds.
    for (period, expected) in [(5.0, 35), (10.2, 41), (16.0, 32), (31.0, 62), (100.4, 100)] {
        let asked = Cell::new(0);
        let energies = |stretch| {
            asked.set(stretch);
            (1.0, 1.0)
        };
        Flattener::new(RATE, 400).flatten(&[0.1; 400], period, energies);
        assert_eq!(asked.get(), expected, "a period of {period} samples");
    }
}

#[test]
fn a_level_that_rises_along_a_straight_line_pulls_the_pitch_half_as_far() {
    for hz in [131.0, 220.0, 330.0, 440.0] {
        let x = rising(hz, (2.2 * RATE / hz) as usize + 2);
        let error = |x: &[f32]| {
            let mut refiner = Refiner::new(800, 0.40);
            let first = refiner.fit(x, hz / RATE, 2.0).unwrap();
            let fit = refiner.fit(x, first.frequency, 2.0).unwrap();
            (1_200.0 * (fit.frequency * RATE / hz).log2()).abs()
        };
        let uneven = error(&x);
        let flattened =
            error(Flattener::new(RATE, x.len()).flatten(&x, RATE / hz, |stretch| energies(&x, stretch)));
        assert!(uneven > 5.0, "the case is to be a hard one: {uneven} cents at {hz} Hz");
        assert!(
            flattened < 0.6 * uneven && flattened < 5.0,
            "{flattened} cents instead of {uneven} at {hz} Hz"
        );
    }
}

#[test]
fn silence_stays_silence_and_what_came_before_a_sudden_note_is_not_raised_without_bounds() {
    let mut flattener = Flattener::new(RATE, 400);
    assert_eq!(flattener.flatten(&[0.0; 500], 100.0, |_| (0.0, 0.0)), &[0.0; 400]);
    let x = [1.0e-3; 500];
    let raised = flattener.flatten(&x, 100.0, |_| (1.0, 0.0));
    assert!(raised.iter().all(|x| x.abs() < 0.021), "{raised:?}");
}
