//! The stages of a held note: the consensus of its harmonics, the longest window that agrees, and how far off a reading
//! may be.

use super::{Dice, RATE, explained, tone};
use crate::consensus::{Consensus, Estimate};
use crate::note::{Durations, Note, Pitch};
use crate::refine::{Fit, HARMONICS, Refiner};
use crate::window::{WindowSelection, longest_that_agrees};
use std::f64::consts::TAU;

fn cents(a: f64, b: f64) -> f64 {
    1_200.0 * (a / b).log2()
}

/// Harmonics that residual from a fundamental, each in its own way, as windows of random lengths would tell them.
fn straying(dice: &mut Dice, windows: usize) -> Vec<Fit> {
    let (frequency, harmonics) = (dice.ratio(0.005, 0.2), 1 + dice.pick(HARMONICS));
    let residual_variance: [f64; HARMONICS] = std::array::from_fn(|_| dice.ratio(1.0e-6, 1.0e-3));
    let length = dice.between(56.0, 320.0);
    let mut window = || {
        let mut fit = Fit { frequency, length, harmonics, ..Fit::default() };
        for (harmonic, residual_variance) in fit.each[..harmonics].iter_mut().zip(residual_variance) {
            harmonic.fundamental = frequency * (1.0 + residual_variance * dice.normal());
            harmonic.variance = (frequency * residual_variance * dice.ratio(0.3, 3.0)).powi(2);
        }
        fit
    };
    (0..windows).map(|_| window()).collect()
}

/// The weights of each window, looked up over all windows before it: the inverse of the variance that the harmonic
/// states and of what it has strayed by so far beyond that. The first ten windows count alike; later ones are
/// forgotten, a tenth at each window.
fn weights(windows: &[Fit]) -> Vec<Vec<f64>> {
    let mut all: Vec<Vec<f64>> = Vec::new();
    // By how much each harmonic strayed at each window, beyond what it stated.
    let mut excess: Vec<Vec<f64>> = Vec::new();
    for fit in windows {
        let residual_variance = |h: usize| {
            let counts = |k: usize| {
                let news = |n: usize| (1.0 / (n + 1) as f64).max(0.1);
                news(k) * (k + 1..excess.len()).map(|n| 1.0 - news(n)).product::<f64>()
            };
            (0..excess.len()).map(|k| counts(k) * excess[k][h]).sum::<f64>()
        };
        let weight: Vec<f64> = fit
            .harmonics()
            .iter()
            .enumerate()
            .map(|(h, harmonic)| 1.0 / (harmonic.variance + residual_variance(h)))
            .collect();
        let mean = weighed_mean(fit, &weight);
        let sum: f64 = weight.iter().sum();
        let residuals = fit.harmonics().iter().zip(&weight).map(|(harmonic, weight)| {
            let alone = (harmonic.fundamental - mean).powi(2) / (1.02 - weight / sum);
            (alone - harmonic.variance).max(0.0)
        });
        excess.push(residuals.collect());
        all.push(weight);
    }
    all
}

/// The mean of the harmonics with these weights.
fn weighed_mean(fit: &Fit, weights: &[f64]) -> f64 {
    let sum: f64 = weights.iter().sum();
    fit.harmonics().iter().zip(weights).map(|(h, w)| h.fundamental * w).sum::<f64>() / sum
}

#[test]
fn the_consensus_is_the_mean_weighed_by_inverse_variances() {
    // The minimum-variance mean of independent measurements (Gauss-Markov), with what is known of each of them.
    for seed in 0..100 {
        let windows = straying(&mut Dice::new(seed), 30);
        let mut consensus = Consensus::default();
        for (fit, weights) in windows.iter().zip(weights(&windows)) {
            let estimate = consensus.estimate(fit, 0.1);
            let mean = weighed_mean(fit, &weights);
            assert!((estimate.frequency / mean - 1.0).abs() < 1.0e-12, "{estimate:?} for {mean}");
            let sum: f64 = weights.iter().sum();
            let squares =
                fit.harmonics().iter().zip(&weights).map(|(h, w)| (h.fundamental - mean).powi(2) * w);
            let chi = squares.sum::<f64>() / fit.harmonics as f64;
            let grain = 11.0 * mean / fit.length.powi(3);
            let sigma = (chi.max(1.0) / sum + grain * grain).sqrt();
            assert!((estimate.sigma / sigma - 1.0).abs() < 1.0e-9, "{estimate:?} for {sigma}");
            assert!((estimate.variance * sum - 1.0).abs() < 1.0e-9);
            assert!((estimate.squares / fit.harmonics as f64 - chi).abs() < 1.0e-9 * chi.max(1.0));
        }
    }
}

#[test]
fn a_harmonic_that_strays_loses_its_say() {
    let x = tone(247.0, 800, 0.0);
    let mut fit = Refiner::new(800, 0.40).fit(&x, 247.0 / RATE, 8.0).unwrap();
    let (truth, mut consensus, mut last) = (fit.frequency, Consensus::default(), 0.0);
    for frame in 0..60 {
        // The second harmonic is pulled 20 cents to and fro, as by something that sounds beside it.
        let pull = if frame % 2 == 0 { 0.0116 } else { -0.0116 };
        fit.each[1].fundamental = truth * (1.0 + pull);
        last = cents(consensus.estimate(&fit, 0.1).frequency, truth).abs();
    }
    assert!(last < 0.5, "{last} cents off although eight harmonics agree");
}

#[test]
fn the_longest_that_agrees_overlaps_with_every_shorter_one() {
    // On a line, intervals have a point in common if and only if each two of them do (Helly 1923).
    let (mut dice, mut lengths) = (Dice::new(7), [0; 4]);
    let mut random = || dice.between(0.0, 1.0);
    for _ in 0..500 {
        let scales: [Estimate; 4] = std::array::from_fn(|i| {
            let sigma = 0.5_f64.powi(i32::try_from(i).unwrap()) * (0.5 + random());
            Estimate { frequency: 10.0 + 6.0 * random(), sigma, ..Estimate::default() }
        });
        let overlap =
            |a: &Estimate, b: &Estimate| (a.frequency - b.frequency).abs() <= 3.0 * (a.sigma + b.sigma);
        let fits = |n: usize| (0..n).all(|i| (0..i).all(|j| overlap(&scales[i], &scales[j])));
        let most = (1..=4).take_while(|n| fits(*n)).last().unwrap();
        assert_eq!(longest_that_agrees(scales.into_iter()), scales[most - 1]);
        lengths[most - 1] += 1;
    }
    assert!(lengths.iter().all(|count| *count > 20), "{lengths:?}");
}

/// A dull note and a brighter neighbour `down` dB below it.
fn pair(note: f64, neighbour: f64, down: f64) -> Vec<f32> {
    let share = 10.0_f64.powf(-down / 20.0);
    let at = |t: f64, hz: f64, fall: f64| -> f64 {
        let numbers = (1..=9).map(f64::from).take_while(|h| h * hz < 0.4 * RATE);
        numbers.map(|h| (TAU * hz * h * t / RATE + h * h).sin() / h.powf(fall)).sum()
    };
    (0..7_000)
        .map(f64::from)
        .map(|t| (0.2 * (at(t, note, 2.0) + share * at(t, neighbour, 0.9))) as f32)
        .collect()
}

/// What is told of a note of this pitch (hertz), frame by frame from its beginning.
fn told(x: &[f32], hz: f64, frames: usize) -> Vec<Pitch> {
    let (mut refiner, mut window) = (Refiner::new(2_600, 0.40), WindowSelection::new(RATE, HOP));
    let mut note = Note::new(hz / RATE, Durations::new(HOP as f64 / RATE));
    let tell = |age: usize| {
        let history = &x[..x.len() - (frames - age) * HOP];
        let mut short = refiner.fit_again(history, note.pitch.frequency, 0.0035 * RATE).unwrap();
        short.noise = short.total;
        note.age = u32::try_from(age).unwrap();
        note.pitch = window.read(&mut refiner, [history; 2], &short, &note);
        note.pitch
    };
    (1..=frames).map(tell).collect()
}

/// Samples between two frames.
const HOP: usize = 40;

#[test]
fn a_neighbour_does_not_move_the_note() {
    for (note, semitones) in
        [(98.0, 3.0), (131.0, -3.0), (220.0, 3.0), (587.0, 3.0), (1_047.0, -4.0), (2_093.0, 2.0)]
    {
        for down in [12.0, 20.0] {
            let x = pair(note, note * 2.0_f64.powf(semitones / 12.0), down);
            let off = cents(told(&x, note, 100)[99].frequency * RATE, note);
            assert!(
                off.abs() < 1.0,
                "{note} Hz with a reed {semitones} semitones away, {down} dB down: {off} cents"
            );
        }
    }
}

#[test]
fn two_thirds_of_the_readings_lie_within_what_is_told() {
    // A normal law: 68 % within one standard deviation (Abramowitz & Stegun 26.2). Frames overlap, so one of each note
    // counts.
    let (mut within, mut all) = (0, 0);
    for seed in 0..300 {
        let mut dice = Dice::new(seed);
        let (hz, noise) = (dice.ratio(90.0, 1_800.0), dice.ratio(1.0e-3, 0.03));
        let x = dice.sound(&[hz], noise, 7_000);
        let pitch = told(&x, hz, 60)[59];
        within += u32::from((pitch.frequency - hz / RATE).abs() <= pitch.uncertainty);
        all += 1;
    }
    let share = f64::from(within) / f64::from(all);
    assert!((0.58..=0.78).contains(&share), "{share}");
}

#[test]
fn in_noise_a_held_note_is_nearly_as_exact_as_the_most_likely_pitch_over_the_longest_window() {
    // The most likely pitch over the whole stretch is the best there is (Christensen & Jakobsson 2009, section 2.3).
    let (mut of_told, mut of_likeliest) = (0.0, 0.0);
    for seed in 0..60 {
        let mut dice = Dice::new(seed);
        let hz = dice.between(380.0, 400.0);
        let x = dice.sound(&[hz], 0.02, 7_000);
        let error = |frequency: f64| cents(frequency * RATE, hz).powi(2);
        of_told += error(told(&x, hz, 60)[59].frequency);
        of_likeliest += error(likeliest(&x[x.len() - 1_280..], hz / RATE));
    }
    let worse = (of_told / of_likeliest).sqrt();
    assert!(worse < 1.2, "{worse} times the error of one window of 80 ms");
}

/// The most likely pitch about one that is nearly right: the top of the plain likelihood, by parabolas.
fn likeliest(x: &[f32], near: f64) -> f64 {
    let mut at = near;
    for cents in [2.0, 0.5, 0.1_f64] {
        let [low, middle, high] =
            [-cents, 0.0, cents].map(|off: f64| explained(x, at * (off / 1_200.0).exp2(), 9));
        let shift = 0.5 * (low - high) / (low - 2.0 * middle + high);
        at *= (shift.clamp(-2.0, 2.0) * cents / 1_200.0).exp2();
    }
    at
}
