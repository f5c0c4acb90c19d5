//! What a neighbour does to short windows, over all that has been seen at once.

use super::Dice;
use crate::bias::Bias;
use std::f64::consts::TAU;

/// Exponential forgetting written out (Brown, Smoothing, Forecasting and Prediction (1963)): what was seen
/// `k` frames ago counts for 0.09 · 0.91^k.
fn forgetting(seen: &[f64]) -> f64 {
    let newest_first = seen.iter().rev();
    newest_first.zip(0..).map(|(x, ago)| 0.09 * 0.91_f64.powi(ago) * x).sum()
}

/// Mean, and variance of each frame about the mean as it was then.
fn mean_and_variance(offs: &[f64]) -> (f64, f64) {
    let residuals = (1..=offs.len()).map(|n| (offs[n - 1] - forgetting(&offs[..n])).powi(2));
    (forgetting(offs), forgetting(&residuals.collect::<Vec<f64>>()))
}

#[test]
fn a_pull_is_the_forgetting_mean_and_variance_of_all_looks() {
    for seed in 0..100 {
        let mut dice = Dice::new(seed);
        let (lean, swing) = (dice.between(-2.0, 2.0), dice.ratio(0.1, 3.0));
        let offs: Vec<f64> = (0..60).map(|_| lean + swing * dice.normal()).collect();
        let mut pull = Bias::default();
        for n in 1..=offs.len() {
            let told = pull.see(offs[n - 1]);
            let (mean, variance) = mean_and_variance(&offs[..n]);
            assert!((told - variance.sqrt()).abs() < 1.0e-12 * swing, "{told} for {}", variance.sqrt());
            // Close to the bar rounding decides.
            let lean = mean * mean / variance;
            assert!((lean / 0.6 - 1.0).abs() < 1.0e-9 || pull.leans() == (lean > 0.6), "a lean of {lean}");
        }
    }
}

// A vibrato is slower than 8 Hz; a neighbour two semitones away beats faster than 14 Hz from 115 Hz on.
#[test]
fn slow_swings_lean_and_quick_ones_do_not() {
    // At 400 frames a second, once the beginning is forgotten.
    let ever_leans = |hz: f64| {
        let mut pull = Bias::default();
        (0..1_200).any(|frame| {
            pull.see((TAU * hz * f64::from(frame) / 400.0).sin());
            frame > 400 && pull.leans()
        })
    };
    for (hz, leans) in [(4.0, true), (8.0, true), (11.5, true), (12.8, false), (14.0, false), (30.0, false)] {
        assert_eq!(ever_leans(hz), leans, "a swing of {hz} Hz");
    }
}
