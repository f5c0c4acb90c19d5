//! The fit over a window of whole periods, from plain sums in double precision.

use super::{Dice, RATE};
use crate::octave::only_multiples_of;
use crate::refine::{Fit, Refiner};
use crate::window::SHORT_S;
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
        let mean = sums(newest, 0.0, length).re / gain;
        assert!((fit.below.sqrt() - mean.abs()).abs() < 1.0e-6, "below, of seed {seed}: {fit:?}, {mean}");
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

#[test]
fn the_clarity_is_the_share_of_the_power_that_is_no_noise() {
    // Of white noise each harmonic has 3 parts in the length of the window by chance; freed of them nothing is left of
    // noise alone, and of a tone in noise the share that it has.
    let mut refiner = Refiner::new(800, 0.40);
    for (tone, clarity) in [(0.0_f64, 0.0), (0.5, 0.5), (0.8, 0.8)] {
        let mut sum = 0.0;
        for seed in 0..200 {
            let mut dice = Dice::new(seed);
            let hz = dice.ratio(180.0, 240.0);
            let at = |n: usize| (2.0 * tone).sqrt() * (TAU * hz * n as f64 / RATE + seed as f64).sin();
            let x: Vec<f32> =
                (0..800).map(|n| (0.1 * (at(n) + (1.0 - tone).sqrt() * dice.normal())) as f32).collect();
            sum += refiner.fit(&x, hz / RATE, 2.0).unwrap().clarity;
        }
        let mean = sum / 200.0;
        // What is less than nothing by chance counts as nothing.
        assert!((mean - clarity).abs() < 0.05, "{mean} for {clarity}");
    }
}

#[test]
fn silence_says_nothing_of_a_pitch() {
    let fit = Refiner::new(800, 0.40).fit(&[0.0; 800], 196.0 / RATE, 4.0).unwrap();
    assert!(fit.frequency == 196.0 / RATE && fit.power == 0.0 && fit.clarity == 0.0, "{fit:?}");
}

#[test]
fn what_is_too_long_for_what_was_heard_or_too_short_for_two_periods_says_nothing() {
    let mut refiner = Refiner::new(800, 0.40);
    // Two periods of 100 samples.
    assert!(refiner.fit(&[0.1; 199], 0.01, 2.0).is_none());
    assert!(refiner.fit(&[0.1; 200], 0.01, 2.0).is_some());
    // Two periods of the highest fundamental, 4 kHz, are 8 samples.
    assert!(refiner.fit(&[0.1; 200], 4_000.0 / RATE, 2.0).is_some());
    for frequency in [5_000.0 / RATE, 0.0, -0.01] {
        assert!(refiner.fit(&[0.1; 200], frequency, 2.0).is_none(), "{frequency}");
    }
}

#[test]
fn a_pitch_that_was_sought_beside_its_place_is_looked_for_again_where_it_was_found() {
    for seed in 0..40 {
        let mut dice = Dice::new(seed);
        let hz = dice.ratio(90.0, 1_500.0);
        let x = dice.sound(&[hz], 0.0, 1_400);
        let mut refiner = Refiner::new(1_400, 0.40);
        for cents in [-40.0, -20.0, 20.0, 40.0_f64] {
            let about = hz * (cents / 1_200.0).exp2() / RATE;
            let periods = Refiner::whole_periods(about, SHORT_S * RATE);
            let error = |fit: Option<Fit>| (1_200.0 * (fit.unwrap().frequency * RATE / hz).log2()).abs();
            let once = error(refiner.fit(&x, about, periods));
            let again = error(refiner.fit_again(&x, about, SHORT_S * RATE));
            assert!(again < 0.35 * once + 0.05, "{hz} Hz sought {cents} cents beside: {once}, then {again}");
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
