//! The fit over a window of whole periods, from plain sums in double precision.

use super::{Dice, RATE};
use crate::octave::only_multiples_of;
use crate::refine::{Fit, Refiner};
use std::f64::consts::TAU;

/// Sums over a Hann window about its centre and over its derivative, against one frequency.
struct Sums {
    re: f64,
    im: f64,
    slope_re: f64,
    slope_im: f64,
}

fn sums(x: &[f32], omega: f64, length: f64) -> Sums {
    let mut sums = Sums { re: 0.0, im: 0.0, slope_re: 0.0, slope_im: 0.0 };
    for (n, sample) in x.iter().enumerate() {
        let t = n as f64 + 0.5 - 0.5 * x.len() as f64;
        let window = 0.5 + 0.5 * (TAU * t / length).cos();
        let slope = -std::f64::consts::PI / length * (TAU * t / length).sin();
        let (cos, sin) = ((omega * t).cos() * f64::from(*sample), (omega * t).sin() * f64::from(*sample));
        sums.re += window * cos;
        sums.im -= window * sin;
        sums.slope_re += slope * cos;
        sums.slope_im -= slope * sin;
    }
    sums
}

#[test]
fn each_harmonic_says_what_reassignment_says() {
    // Auger & Flandrin 1995: the frequency is moved by the imaginary part of the ratio of the transform
    // under the derivative of the window to that under the window.
    for seed in 0..100 {
        let mut dice = Dice::new(seed);
        let hz = dice.ratio(80.0, 3_000.0);
        let noise = dice.ratio(1.0e-3, 0.03);
        let x = dice.sound(&[hz], noise, 1_400);
        let (about, periods) = (hz * dice.between(0.99, 1.01) / RATE, (2 + dice.pick(8)) as f64);
        let Some(fit) = Refiner::new(1_400, 0.40).fit(&x, about, periods) else { continue };
        let length = periods / about;
        let half = (0.5 * length).round() as usize;
        let newest = &x[x.len() - 2 * half..];
        let gain: f64 =
            (0..2 * half).map(|n| 0.5 + 0.5 * (TAU * (n as f64 + 0.5 - half as f64) / length).cos()).sum();
        for (harmonic, number) in fit.harmonics().iter().zip(1..).map(|(h, number)| (h, f64::from(number))) {
            let s = sums(newest, TAU * about * number, length);
            let power = s.re * s.re + s.im * s.im;
            let moved = (s.slope_re * s.im - s.slope_im * s.re) / power / TAU;
            let slow = about + moved.clamp(-1.0 / length, 1.0 / length) / number;
            let seen = 2.0 * power / gain.powi(2);
            // Weak harmonics drown in the rounding of single precision.
            let exact = 1.0e-6 + 1.0e-7 * (0.1 / seen).sqrt();
            assert!(
                (harmonic.fundamental / slow - 1.0).abs() < exact,
                "{number} of seed {seed}: {harmonic:?}, {slow}"
            );
            assert!(
                (harmonic.seen / seen - 1.0).abs() < 100.0 * exact,
                "{number} of seed {seed}: {harmonic:?}, {seen}"
            );
        }
    }
}

/// A fit in which these harmonics have these powers.
fn fit_of(powers: &[f64], clarity: f64) -> Fit {
    let mut fit = Fit { clarity, harmonics: powers.len(), power: powers.iter().sum(), ..Fit::default() };
    for (harmonic, power) in fit.each.iter_mut().zip(powers) {
        harmonic.power = *power;
    }
    fit
}

#[test]
fn the_ratio_of_missing_harmonics_is_the_greatest_common_divisor_of_the_harmonics_that_sound() {
    fn divisor(a: usize, b: usize) -> usize {
        if b == 0 { a } else { divisor(b, a % b) }
    }
    let mut strides = [0; 5];
    for seed in 0..2_000 {
        let mut dice = Dice::new(seed);
        let (count, step) = (1 + dice.pick(12), 1 + dice.pick(4));
        let clarity = dice.between(0.5, 1.0);
        // What is no more than 0.2 % of the power, and 30 % of what is noise, does not sound.
        let bound = 0.002 + 0.3 * (1.0 - clarity);
        let loud = |n: usize, dice: &mut Dice| n.is_multiple_of(step) && dice.pick(4) > 0;
        let sounding: Vec<bool> = (1..=count).map(|n| loud(n, &mut dice)).collect();
        if !sounding.contains(&true) {
            continue;
        }
        // The power outside comes just below or just above the bound, all of it in one harmonic.
        let louds = sounding.iter().filter(|sounds| **sounds).count() as f64;
        let share = bound * if dice.pick(2) == 0 { 0.97 } else { 1.03 };
        let odd_one = dice.pick(count);
        let mut powers: Vec<f64> =
            sounding.iter().map(|sounds| f64::from(u8::from(*sounds)) / louds).collect();
        let heard = if sounding[odd_one] || powers[odd_one] > 0.0 {
            None
        } else {
            powers[odd_one] = share / (1.0 - share);
            (share > bound).then_some(odd_one + 1)
        };
        let numbers = (1..=count).filter(|n| sounding[n - 1]).chain(heard);
        let all = numbers.fold(0, divisor);
        let slow = (1..=4).rev().find(|step| all.is_multiple_of(*step) && count >= *step).unwrap_or(1);
        let quick = only_multiples_of(&fit_of(&powers, clarity)) as usize;
        assert_eq!(quick, slow, "seed {seed}: {powers:?} with a clarity of {clarity}");
        strides[quick] += 1;
    }
    assert!(strides[1..].iter().all(|count| *count > 50), "{strides:?}");
}
