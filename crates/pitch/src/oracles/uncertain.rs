//! How far off a reading may be: over many notes whose harmonics residual by known laws, about 68 % of the readings lie
//! within what is told, whatever was believed of the harmonics.

use super::Dice;
use crate::consensus::{Estimate, PerHarmonic};
use crate::refine::HARMONICS;
use crate::uncertainty::Uncertainty;

const FREQUENCY: f64 = 0.02;
const HOP: f64 = 40.0;

/// The mean of harmonics that residual by `residuals` while `believed` is thought of each, and that all follow `pitch`.
fn reading(dice: &mut Dice, pitch: f64, residuals: &[f64], believed: &[f64]) -> Estimate {
    let mut said = PerHarmonic { harmonics: residuals.len(), ..PerHarmonic::default() };
    let (mut sum, mut weights) = (0.0, 0.0);
    for (h, (residual, believed)) in residuals.iter().zip(believed).enumerate() {
        said.fundamentals[h] = pitch + residual * dice.normal();
        said.variances[h] = believed.powi(2);
        sum += said.fundamentals[h] / said.variances[h];
        weights += 1.0 / said.variances[h];
    }
    Estimate { frequency: sum / weights, lag: 160.0, said, ..Estimate::default() }
}

/// The share of readings that lie within what is told, from the `first` frame on.
fn inside(first: usize, residuals: impl Fn(&mut Dice) -> [f64; HARMONICS], belief: f64) -> f64 {
    let (mut within, mut all) = (0, 0);
    for seed in 0..200 {
        let mut dice = Dice::new(seed);
        let harmonics = 3 + dice.pick(HARMONICS - 2);
        let residuals = residuals(&mut dice);
        let believed = residuals.map(|residual| belief * residual * dice.ratio(0.7, 1.4));
        let mut uncertainty = Uncertainty::new(HOP);
        for frame in 0..60 {
            let read = reading(&mut dice, FREQUENCY, &residuals[..harmonics], &believed[..harmonics]);
            let told = uncertainty.tell(&read);
            if frame >= first {
                all += 1;
                within += u32::from((read.frequency - FREQUENCY).abs() <= told);
            }
        }
    }
    f64::from(within) / f64::from(all)
}

#[test]
fn two_thirds_of_the_readings_lie_within_what_is_told() {
    let even = |dice: &mut Dice| [FREQUENCY * dice.ratio(1.0e-8, 1.0e-3); HARMONICS];
    let uneven = |dice: &mut Dice| std::array::from_fn(|_| FREQUENCY * dice.ratio(1.0e-5, 1.0e-3));
    for belief in [0.1, 1.0, 10.0] {
        let share = inside(10, even, belief);
        assert!((0.62..=0.74).contains(&share), "even, believed {belief} times what is: {share}");
        let share = inside(10, uneven, belief);
        assert!((0.60..=0.76).contains(&share), "uneven, believed {belief} times what is: {share}");
    }
}

#[test]
fn the_first_reading_is_told_by_its_harmonics_alone() {
    let even = |dice: &mut Dice| [FREQUENCY * dice.ratio(1.0e-8, 1.0e-3); HARMONICS];
    let (mut within, mut all) = (0, 0);
    for seed in 0..2_000 {
        let mut dice = Dice::new(seed);
        let residuals = even(&mut dice);
        let read = reading(
            &mut dice,
            FREQUENCY,
            &residuals[..8],
            &residuals[..8].iter().map(|s| 7.0 * s).collect::<Vec<_>>(),
        );
        all += 1;
        within += u32::from((read.frequency - FREQUENCY).abs() <= Uncertainty::new(HOP).tell(&read));
    }
    let share = f64::from(within) / f64::from(all);
    assert!((0.60..=0.72).contains(&share), "{share}");
}

#[test]
fn one_harmonic_alone_is_believed() {
    let mut dice = Dice::new(3);
    let read = reading(&mut dice, FREQUENCY, &[1.0e-6], &[2.0e-6]);
    let told = Uncertainty::new(HOP).tell(&read);
    assert!((told / 2.0e-6 - 1.0).abs() < 1.0e-9, "{told}");
}

/// What is told at the last frame of a note that follows `pitch` (of the frame) and is read `late` frames late.
fn told(pitch: impl Fn(f64) -> f64, late: f64) -> f64 {
    let (mut dice, mut uncertainty, mut told) = (Dice::new(5), Uncertainty::new(HOP), 0.0);
    for frame in 0..300 {
        let read = reading(&mut dice, pitch(f64::from(frame) - late), &[1.0e-9; 6], &[1.0e-9; 6]);
        told = uncertainty.tell(&Estimate { late: late * HOP, ..read });
    }
    told
}

#[test]
fn a_note_that_is_read_late_is_off_by_what_it_moves_meanwhile() {
    let step = 1.0e-6;
    let told = told(|frame| FREQUENCY + step * frame, 6.0);
    assert!((told / (6.0 * step) - 1.0).abs() < 0.05, "{told} for {}", 6.0 * step);
}

#[test]
fn a_pitch_that_bends_is_off_by_what_a_hann_window_makes_of_it() {
    // The second moment of a Hann window of length 1 is 1/12 - 1/(2π²), so a bend of b per frame squared moves its mean by
    // b/2 times that times the length squared; it is eight frames long here.
    let bend = 1.0e-7;
    let told = told(|frame| FREQUENCY + 0.5 * bend * frame * frame, 0.0);
    let moment = 1.0 / 12.0 - 1.0 / (2.0 * std::f64::consts::PI.powi(2));
    let off = 0.5 * bend * moment * 64.0;
    assert!((told / off - 1.0).abs() < 0.05, "{told} for {off}");
}
