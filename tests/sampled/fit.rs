//! The measure: harmonic least squares over one long window (Christensen & Jakobsson, *Multi-Pitch Estimation*, 2009).
//!
//! For a window of many periods the least-squares fit of harmonics is, to good approximation, the fundamental at which
//! the windowed spectrum summed over the harmonics is largest. Slow, plain, and shares no code with the engine.

use std::f64::consts::TAU;

/// Harmonics that are fitted, as far as they lie below half the sample rate.
const HARMONICS: u32 = 6;

/// How many samples the first, coarse search looks at.
const COARSE: usize = 12_000;

/// The fundamental within a quarter tone of `nominal`, hertz.
pub(crate) fn fundamental(samples: &[f64], rate: f64, nominal: f64) -> f64 {
    let at = |cents: f64| nominal * (cents / 1200.0).exp2();
    let best_of = |windowed: &[f64], candidates: &mut dyn Iterator<Item = f64>| {
        let powers = candidates.map(|cents| (cents, harmonic_power(windowed, rate, at(cents))));
        powers.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap().0
    };
    // First a grid that is finer than the peak of a short window is wide, then ever smaller steps around the best
    // point, over the whole window.
    let coarse = hann(&samples[..COARSE.min(samples.len())]);
    let bin = rate / coarse.len() as f64;
    let mut step = 1200.0 * (1.0 + 0.25 * bin / nominal / f64::from(HARMONICS)).log2();
    let points = (50.0 / step).ceil() as i32;
    let mut best = best_of(&coarse, &mut (-points..=points).map(|i| f64::from(i) * step));
    let whole = hann(samples);
    while step > 0.001 {
        step /= 2.0;
        best = best_of(&whole, &mut [best - step, best, best + step].into_iter());
    }
    at(best)
}

fn hann(samples: &[f64]) -> Vec<f64> {
    let n = samples.len() as f64;
    samples.iter().enumerate().map(|(i, x)| x * (0.5 - 0.5 * (TAU * i as f64 / n).cos())).collect()
}

fn harmonic_power(windowed: &[f64], rate: f64, hz: f64) -> f64 {
    let harmonics = (1..=HARMONICS).map(|k| f64::from(k) * hz).filter(|f| *f < 0.45 * rate);
    harmonics.map(|f| power_at(windowed, f / rate)).sum()
}

/// Power at a frequency in cycles per sample; the phasor is turned by one sample at a time.
fn power_at(windowed: &[f64], frequency: f64) -> f64 {
    let (turn_im, turn_re) = (TAU * frequency).sin_cos();
    let (mut phasor_re, mut phasor_im) = (1.0, 0.0);
    let (mut re, mut im) = (0.0, 0.0);
    for x in windowed {
        re += x * phasor_re;
        im -= x * phasor_im;
        (phasor_re, phasor_im) =
            (phasor_re * turn_re - phasor_im * turn_im, phasor_re * turn_im + phasor_im * turn_re);
    }
    re * re + im * im
}

#[test]
fn the_measure_itself_is_right() {
    let rate = 48_000.0;
    let hz = 262.5;
    let tone: Vec<f64> = (0..67_200)
        .map(|i| TAU * hz * f64::from(i) / rate)
        .map(|phase| phase.sin() + 0.7 * (2.0 * phase).sin() + 0.3 * (3.0 * phase).sin())
        .collect();
    let found = fundamental(&tone, rate, 261.625_565);
    assert!((1200.0 * (found / hz).log2()).abs() < 0.01, "{found}");
}
