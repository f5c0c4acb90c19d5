//! Windows joined into a longer one: the plain means, and what the book says that they are worth.

use super::{Dice, RATE, explained};
use crate::consensus::Estimate;
use crate::refine::{Fit, HARMONICS, Refiner};
use crate::smooth::{MOST, Smoother};
use std::f64::consts::TAU;

/// Samples between two frames.
const HOP: usize = 40;

/// Windows of a note that moves, some of its harmonics more than others, and how far each window is trusted.
fn moving(dice: &mut Dice, count: usize, most: f64) -> Vec<(Fit, f64)> {
    let (frequency, harmonics) = (dice.ratio(0.005, 0.2), 1 + dice.pick(HARMONICS));
    let glide = dice.between(-most, most);
    let residual_variance: [f64; HARMONICS] = std::array::from_fn(|_| dice.ratio(1.0e-6, 1.0e-3));
    let mut window = |n: usize| {
        let length = dice.between(150.0, 320.0);
        let mut fit = Fit { frequency, length, harmonics, ..Fit::default() };
        for (harmonic, residual_variance) in fit.each[..harmonics].iter_mut().zip(residual_variance) {
            harmonic.fundamental = frequency * (1.0 + glide * n as f64 + residual_variance * dice.normal());
            harmonic.variance = (frequency * residual_variance * dice.ratio(0.3, 3.0)).powi(2);
        }
        (fit, dice.between(0.3, 1.0))
    };
    (0..count).map(&mut window).collect()
}

/// The mean over windows, the newest last, each weighed by its trust and by a Hann window over all of them.
fn hann_mean(windows: &[(Fit, f64)], of: impl Fn(&Fit) -> f64) -> f64 {
    let count = windows.len() as f64;
    let (mut sum, mut weights) = (0.0, 0.0);
    for (n, (fit, trust)) in windows.iter().enumerate() {
        let weight = trust * (0.5 - 0.5 * (TAU * (n as f64 + 0.5) / count).cos());
        sum += weight * of(fit);
        weights += weight;
    }
    sum / weights
}

/// The joined estimate by its rule. Of each harmonic: its mean, the mean of its variances (made smaller by the cube of
/// the span, as that of a slope is), and how far its two halves have lately been apart beyond what all were together.
/// There is none if all together were apart by more than 4 deviations of that and 0.1 cents: the note moves.
struct Joined {
    /// The squares of those steps, of each harmonic, at each estimate so far.
    steps: Vec<Vec<f64>>,
}

impl Joined {
    fn new() -> Self {
        Self { steps: vec![Vec::new(); HARMONICS] }
    }

    /// Each estimate takes 8 % of what the ones before it left.
    fn residual_variance(&self, h: usize) -> f64 {
        self.steps[h].iter().rev().zip(0..).map(|(square, ago)| 0.08 * 0.92_f64.powi(ago) * square).sum()
    }

    fn estimate(&mut self, windows: &[(Fit, f64)]) -> Option<Estimate> {
        let (early, late) = windows.split_at(windows.len() - windows.len() / 2);
        let newest = windows[windows.len() - 1].0;
        let all = 0..newest.harmonics;
        let mean: Vec<f64> = all.clone().map(|h| hann_mean(windows, |fit| fit.each[h].fundamental)).collect();
        let variance: Vec<f64> =
            all.clone().map(|h| hann_mean(windows, |fit| fit.each[h].variance)).collect();
        let apart = |h: usize| {
            let half = |windows| hann_mean(windows, |fit: &Fit| fit.each[h].fundamental);
            half(late) - half(early)
        };
        let weight = |h: usize| 1.0 / (variance[h] + self.residual_variance(h));
        let together =
            all.clone().map(|h| weight(h) * apart(h)).sum::<f64>() / all.clone().map(weight).sum::<f64>();
        let half = newest.length + 0.3 * (windows.len() * HOP) as f64;
        let all_weights = all.clone().map(weight).sum::<f64>();
        // Of each harmonic its share, and by what it residuals, freed of that share but no more than 16 times as believed.
        let of_each = |h: usize| {
            let share = weight(h) / all_weights;
            let residuals =
                (apart(h) - together).powi(2).max(self.residual_variance(h)) / (1.02 - share).powi(2);
            share.powi(2) * residuals.min(16.0 * 2.0 * variance[h] * (newest.length / half).powi(3))
        };
        let of_all = all.clone().map(of_each).sum::<f64>().sqrt();
        if together.abs() > 4.0 * of_all + 6.0e-5 * mean[0] {
            return None;
        }
        let squares: Vec<f64> = all.clone().map(|h| (apart(h) - together).powi(2)).collect();
        for (steps, square) in self.steps.iter_mut().zip(&squares) {
            steps.push(*square);
        }
        let span = newest.length + 0.6 * (windows.len() * HOP) as f64;
        let shorter = (newest.length / span).powi(3);
        let doubt = |h: usize, residual_variance: f64| variance[h] * shorter + 0.06 * residual_variance;
        let says = |h: usize| 1.0 / doubt(h, self.residual_variance(h).max(squares[h]));
        let weights: f64 = all.clone().map(says).sum();
        let frequency = all.clone().map(|h| mean[h] * says(h)).sum::<f64>() / weights;
        let discord =
            all.map(|h| (mean[h] - frequency).powi(2) / doubt(h, self.residual_variance(h))).sum::<f64>();
        let sigma = ((discord / newest.harmonics as f64).max(1.0) / weights).sqrt();
        Some(Estimate { frequency, sigma, lag: 0.5 * newest.length, ..Estimate::default() })
    }
}

#[test]
fn joined_windows_are_the_plain_means_of_them() {
    let (mut moved, mut stayed) = (0, 0);
    for seed in 0..50 {
        let mut dice = Dice::new(seed);
        let windows = moving(&mut dice, MOST + 40, 3.0e-5);
        let (mut smoother, mut joined) = (Smoother::new(HOP as f64), Joined::new());
        for n in 1..=windows.len() {
            smoother.push(&windows[n - 1].0, windows[n - 1].1);
            let count = [12, 28, 48, MOST, 2 + dice.pick(MOST - 1)][dice.pick(5)];
            let quick = smoother.estimate(count);
            if count > n {
                assert_eq!(quick, None, "{count} of {n} windows");
                continue;
            }
            let slow = joined.estimate(&windows[n - count..n]);
            assert_eq!(quick.is_some(), slow.is_some(), "{count} of {n} windows, seed {seed}");
            let (Some(quick), Some(slow)) = (quick, slow) else {
                moved += 1;
                continue;
            };
            stayed += 1;
            let same = (quick.frequency / slow.frequency - 1.0).abs() < 1.0e-11
                && (quick.sigma / slow.sigma - 1.0).abs() < 1.0e-6
                && quick.lag == slow.lag;
            assert!(same, "{count} of {n} windows, seed {seed}: {quick:?} for {slow:?}");
        }
    }
    assert!(moved > 200 && stayed > 500, "{moved} moved, {stayed} stayed");
}

#[test]
fn windows_that_are_hardly_trusted_are_not_joined() {
    let mut smoother = Smoother::new(HOP as f64);
    let windows = moving(&mut Dice::new(1), 20, 0.0);
    for (fit, _) in &windows[..10] {
        smoother.push(fit, 0.05);
    }
    assert_eq!(smoother.estimate(10), None);
    for (fit, _) in &windows[10..] {
        smoother.push(fit, 1.0);
    }
    assert!(smoother.estimate(10).is_some());
    assert_eq!(smoother.estimate(20), None, "its early half hardly counts");
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

#[test]
fn joined_windows_are_nearly_as_exact_as_one_long_window() {
    // In white noise the most likely pitch over the whole stretch is the best there is. One noise tells little: the two
    // estimates weigh it differently, so each has its own error. Their size over many noises is what can be compared.
    let (mut of_joined, mut of_likeliest) = (0.0, 0.0);
    for seed in 0..60 {
        let mut dice = Dice::new(seed);
        let hz = dice.between(380.0, 400.0);
        let x = dice.sound(&[hz], 0.02, 320 + HOP * 48);
        let (mut refiner, mut smoother) = (Refiner::new(800, 0.40), Smoother::new(HOP as f64));
        for end in (320..=x.len()).step_by(HOP) {
            smoother.push(&refiner.fit(&x[..end], hz * 1.0005 / RATE, 7.0).unwrap(), 1.0);
        }
        let error = |frequency: f64| (1_200.0 * (frequency * RATE / hz).log2()).powi(2);
        of_joined += error(smoother.estimate(48).unwrap().frequency);
        of_likeliest += error(likeliest(&x, hz / RATE));
    }
    let worse = (of_joined / of_likeliest).sqrt();
    assert!(worse < 1.2, "{worse} times the error of one long window");
}
