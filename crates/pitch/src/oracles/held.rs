//! The stages of a held note: the consensus of its harmonics, the joined windows, the longest that agrees, and the
//! neighbour that is fitted along.

use super::{RATE, explained, tone};
use crate::consensus::{Consensus, Estimate};
use crate::joint::Joint;
use crate::refine::Refiner;
use crate::smooth::{MOST, Smoother, longest_that_agrees};
use std::f64::consts::TAU;

/// Samples between two looks.
const HOP: usize = 40;

fn cents(a: f64, b: f64) -> f64 {
    1_200.0 * (a / b).log2()
}

#[test]
fn the_first_consensus_is_the_mean_weighed_by_inverse_variances() {
    // The minimum-variance mean of independent measurements (Gauss-Markov), written out.
    let x = tone(247.0, 800, 0.02);
    let fit = Refiner::new(800, 0.40).fit(&x, 247.0 / RATE, 8.0).unwrap();
    let weights: Vec<f64> = fit.harmonics().iter().map(|h| 1.0 / h.variance).collect();
    let sum: f64 = weights.iter().sum();
    let mean = fit.harmonics().iter().zip(&weights).map(|(h, w)| h.fundamental * w).sum::<f64>() / sum;
    let (estimate, _) = Consensus::default().estimate(&fit);
    assert!((estimate.frequency - mean).abs() < 1.0e-12);
    assert!(estimate.sigma >= (1.0 / sum).sqrt(), "never surer than the theory allows");
}

#[test]
fn a_harmonic_that_strays_loses_its_say() {
    let x = tone(247.0, 800, 0.0);
    let mut fit = Refiner::new(800, 0.40).fit(&x, 247.0 / RATE, 8.0).unwrap();
    let (truth, mut consensus, mut last) = (fit.frequency, Consensus::default(), 0.0);
    for look in 0..60 {
        // The second harmonic is pulled 20 cents to and fro, as by something that sounds beside it.
        let pull = if look % 2 == 0 { 0.0116 } else { -0.0116 };
        fit.each[1].fundamental = truth * (1.0 + pull);
        last = cents(consensus.estimate(&fit).0.frequency, truth).abs();
    }
    assert!(last < 0.5, "{last} cents off although seven harmonics agree");
}

#[test]
fn joined_windows_are_one_long_window() {
    // The most likely pitch over the whole stretch, found by a search of the plain likelihood.
    let hz = 392.0;
    let x = tone(hz, 320 + HOP * MOST, 0.05);
    let (mut refiner, mut smoother) = (Refiner::new(800, 0.40), Smoother::new(HOP as f64));
    for end in (320..=x.len()).step_by(HOP) {
        let fit = refiner.fit(&x[..end], hz * 1.0005 / RATE, 7.0).unwrap();
        smoother.push(&fit, 1.0);
    }
    let joined = smoother.estimate(MOST).unwrap().frequency;
    let steps = (-100..=100).map(|step| hz / RATE * (f64::from(step) / 60_000.0).exp2());
    let likeliest = steps.max_by(|a, b| explained(&x, *a, 9).total_cmp(&explained(&x, *b, 9))).unwrap();
    let off = cents(joined, likeliest);
    assert!(off.abs() < 0.3, "{off} cents from the most likely pitch");
}

#[test]
fn the_longest_that_agrees_overlaps_with_every_shorter_one() {
    // On a line, intervals have a point in common if and only if each two of them do (Helly 1923).
    let mut state = 7_u64;
    let mut random = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1_u32 << 31)
    };
    for _ in 0..500 {
        let scales: [Option<Estimate>; 4] = std::array::from_fn(|i| {
            let sigma = 0.5_f64.powi(i32::try_from(i).unwrap()) * (0.5 + random());
            Some(Estimate { frequency: 10.0 + 4.0 * random(), sigma, lag: 0.0 })
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
            assert_eq!(joint.look(&x, note * 1.0046 / RATE), None, "one look may be deceived");
            let mut fit = joint.look(&x, note * 1.0046 / RATE).expect("a neighbour");
            for _ in 0..4 {
                fit = joint.look(&x, fit.frequency).expect("the same neighbour");
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
            assert_eq!(Joint::new(RATE, 0.40).look(&x, hz / RATE), None, "{hz} Hz with noise {noise}");
        }
    }
}
