//! The stages of a held note: the consensus of its harmonics, the longest window that agrees, and the neighbour that is
//! fitted along.

use super::{Dice, RATE, tone};
use crate::consensus::{Consensus, Estimate};
use crate::joint::Joint;
use crate::refine::{Fit, HARMONICS, Refiner};
use crate::smooth::longest_that_agrees;
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
            let (estimate, trust) = consensus.estimate(fit);
            let mean = weighed_mean(fit, &weights);
            assert!((estimate.frequency / mean - 1.0).abs() < 1.0e-12, "{estimate:?} for {mean}");
            let sum: f64 = weights.iter().sum();
            let squares =
                fit.harmonics().iter().zip(&weights).map(|(h, w)| (h.fundamental - mean).powi(2) * w);
            let chi = squares.sum::<f64>() / fit.harmonics as f64;
            let grain = 11.0 * mean / fit.length.powi(3);
            let sigma = (chi.max(1.0) / sum + grain * grain).sqrt();
            assert!((estimate.sigma / sigma - 1.0).abs() < 1.0e-9, "{estimate:?} for {sigma}");
            assert!(
                (trust - (4.0 / chi.max(1.0)).min(1.0)).abs() < 1.0e-9 && estimate.lag == 0.5 * fit.length
            );
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
        last = cents(consensus.estimate(&fit).0.frequency, truth).abs();
    }
    assert!(last < 0.5, "{last} cents off although eight harmonics agree");
}

#[test]
fn the_longest_that_agrees_overlaps_with_every_shorter_one() {
    // On a line, intervals have a point in common if and only if each two of them do (Helly 1923).
    let mut dice = Dice::new(7);
    let mut random = || dice.between(0.0, 1.0);
    for _ in 0..500 {
        let scales: [Option<Estimate>; 4] = std::array::from_fn(|i| {
            let sigma = 0.5_f64.powi(i32::try_from(i).unwrap()) * (0.5 + random());
            Some(Estimate { frequency: 10.0 + 4.0 * random(), sigma, ..Estimate::default() })
        });
        let all: Vec<Estimate> = scales.into_iter().flatten().collect();
        let overlap =
            |a: &Estimate, b: &Estimate| (a.frequency - b.frequency).abs() <= 2.0 * (a.sigma + b.sigma);
        let fits = |n: usize| (0..n).all(|i| (0..i).all(|j| overlap(&all[i], &all[j])));
        let most = (1..=4).take_while(|n| fits(*n)).last().unwrap();
        let (best, agreed) = longest_that_agrees(scales.into_iter(), 2.0, 0.0);
        assert_eq!((agreed, best), (most, all[most - 1]));
    }
}

/// A dull note and a brighter neighbour `down` dB below it.
fn pair(note: f64, neighbour: f64, down: f64) -> Vec<f32> {
    let share = 10.0_f64.powf(-down / 20.0);
    let at = |t: f64, hz: f64, fall: f64| -> f64 {
        let numbers = (1..=9).map(f64::from).take_while(|h| h * hz < 0.4 * RATE);
        numbers.map(|h| (TAU * hz * h * t / RATE + h * h).sin() / h.powf(fall)).sum()
    };
    (0..1_400)
        .map(f64::from)
        .map(|t| (0.2 * (at(t, note, 2.0) + share * at(t, neighbour, 0.9))) as f32)
        .collect()
}

#[test]
fn a_neighbour_does_not_move_the_note() {
    for (note, semitones) in
        [(98.0, 3.0), (131.0, -3.0), (220.0, 3.0), (587.0, 3.0), (1_047.0, -4.0), (2_093.0, 2.0)]
    {
        for down in [12.0, 20.0] {
            let neighbour = note * 2.0_f64.powf(semitones / 12.0);
            let x = pair(note, neighbour, down);
            let mut joint = Joint::new(RATE, 0.40);
            // Eight cents off, as a short window may well be.
            assert_eq!(joint.fit_apart(&x, note * 1.0046 / RATE), None, "one frame may be deceived");
            let mut fit = joint.fit_apart(&x, note * 1.0046 / RATE).expect("a neighbour");
            for _ in 0..4 {
                fit = joint.fit_apart(&x, fit.frequency).expect("the same neighbour");
            }
            let off = cents(fit.frequency * RATE, note);
            assert!(
                off.abs() < 1.0,
                "{note} Hz with a reed {semitones} semitones away, {down} dB down: {off} cents"
            );
            let distance = joint.distance(fit.frequency).unwrap() / std::f64::consts::LN_2 * 12.0;
            assert!(
                (distance - semitones.abs()).abs() < 0.1,
                "{note} Hz: a neighbour {distance} semitones away"
            );
        }
    }
}

#[test]
fn a_note_without_a_neighbour_has_none() {
    for hz in [98.0, 220.0, 587.0, 2_093.0] {
        for noise in [0.0, 0.01, 0.1] {
            let x = tone(hz, 1_400, noise);
            assert_eq!(Joint::new(RATE, 0.40).fit_apart(&x, hz / RATE), None, "{hz} Hz with noise {noise}");
        }
    }
}
