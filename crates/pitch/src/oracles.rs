//! The slow textbook versions of the stages, and that the quick ones agree with them.
#![allow(clippy::unwrap_used, reason = "tests")]

use crate::candidates::{Candidate, Candidates};
use crate::front::Front;
use crate::lowpass::response;
use crate::refine::Refiner;
use rustfft::num_complex::Complex;
use std::f64::consts::{PI, TAU};
use std::ops::RangeInclusive;

mod begun;
mod fitted;
mod held;
mod noted;
mod rising;

const RATE: f64 = 16_000.0;

/// Random numbers of a seed (Knuth's linear congruential generator, MMIX constants).
struct Dice(u64);

impl Dice {
    fn new(seed: u64) -> Self {
        // The first numbers of small seeds are much alike.
        let mut dice = Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        dice.between(0.0, 1.0);
        dice
    }

    /// Evenly spread.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * (self.0 >> 33) as f64 / f64::from(1_u32 << 31)
    }

    /// Evenly spread over the octaves.
    fn ratio(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// About normal, mean 0 and deviation 1: twelve numbers less their mean (the central limit theorem).
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.between(-0.5, 0.5)).sum()
    }

    /// One of so many.
    fn pick(&mut self, count: usize) -> usize {
        self.between(0.0, count as f64) as usize
    }

    /// A few harmonics of each of these fundamentals (hertz), of any strengths and phases, over white noise of this
    /// deviation.
    fn sound(&mut self, fundamentals: &[f64], noise: f64, count: usize) -> Vec<f32> {
        let mut x: Vec<f64> = (0..count).map(|_| noise * self.normal()).collect();
        for hz in fundamentals {
            for h in (1..=9).map(f64::from).take_while(|h| h * hz < 0.4 * RATE) {
                let (strength, phase) = (self.between(0.02, 0.2) / h, self.between(0.0, TAU));
                for (n, sample) in x.iter_mut().enumerate() {
                    *sample += strength * (TAU * hz * h * n as f64 / RATE + phase).sin();
                }
            }
        }
        x.into_iter().map(|sample| sample as f32).collect()
    }
}

/// Harmonics that fall by 6 dB an octave, with a little noise, evenly spread.
fn tone(hz: f64, count: usize, noise: f64) -> Vec<f32> {
    let mut dice = Dice::new(1);
    let numbers = || (1..=9).map(f64::from).take_while(|h| h * hz < 0.4 * RATE);
    let at = |t: f64| numbers().map(|h| (TAU * hz * h * t / RATE + h).sin() / h).sum::<f64>();
    (0..count).map(|n| (0.2 * at(n as f64) + dice.between(-noise, noise)) as f32).collect()
}

/// Normalised cross-correlation by its definition (Talkin 1995), for the newest samples.
fn correlation_by_definition(x: &[f32], lag: usize, window: usize) -> f64 {
    let end = x.len();
    let pairs: Vec<(f64, f64)> =
        (end - window..end).map(|n| (f64::from(x[n]), f64::from(x[n - lag]))).collect();
    let sum = |f: &dyn Fn(&(f64, f64)) -> f64| pairs.iter().map(f).sum::<f64>();
    sum(&|p| p.0 * p.1) / (sum(&|p| p.0 * p.0) * sum(&|p| p.1 * p.1)).sqrt()
}

#[test]
fn the_correlation_is_the_one_of_the_definition() {
    let mut candidates = Candidates::new(RATE, 80.0, 3_800.0);
    for seed in 0..20 {
        let mut dice = Dice::new(seed);
        let (hz, noise) = (dice.ratio(80.0, 3_000.0), dice.ratio(1.0e-3, 0.3));
        let x = dice.sound(&[hz], noise, 1_000);
        candidates.find(&x);
        for lag in 4..=202 {
            let quick = f64::from(candidates.at(lag as f64));
            // Eight lags share the window of the longest of them.
            let slow = correlation_by_definition(&x, lag, (lag | 7).max(32));
            assert!((quick - slow).abs() < 2.0e-5, "at a lag of {lag} (seed {seed}): {quick} for {slow}");
        }
    }
}

/// Peaks of the correlation by its definition, from the shortest lag to the longest, each with the points beside it.
fn peaks_by_definition(x: &[f32], lags: RangeInclusive<usize>) -> Vec<(usize, [f64; 3])> {
    let at = |lag: usize| correlation_by_definition(x, lag, (lag | 7).max(32));
    let three = |lag: usize| [at(lag - 1), at(lag), at(lag + 1)];
    lags.map(|lag| (lag, three(lag))).filter(|(_, [a, b, c])| b > a && b >= c).collect()
}

#[test]
fn the_candidates_are_the_peaks_of_the_definition() {
    // The first is all peaks, more than a frame has ever had; the lags of the others need no finer grid than samples.
    for (low_hz, high_hz, fundamental) in
        [(60.0, 4_000.0, Some(3_990.0)), (80.0, 3_800.0, None), (80.0, 340.0, None)]
    {
        let mut candidates = Candidates::new(RATE, low_hz, high_hz);
        let longest = (RATE / low_hz).ceil() as usize + 1;
        for seed in 0..10 {
            let mut dice = Dice::new(seed);
            let hz = fundamental.unwrap_or_else(|| dice.ratio(90.0, 360.0));
            let x = dice.sound(&[hz], 0.01, 1_100);
            let found = candidates.find(&x);
            for (lag, [a, b, c]) in peaks_by_definition(&x, 46..=longest) {
                let top = b - (a - c).powi(2) / (8.0 * (a - 2.0 * b + c));
                let shift = 0.5 * (a - c) / (a - 2.0 * b + c);
                let place = lag as f64 + shift;
                let same = |c: &&Candidate| (c.period - place).abs() < 0.01;
                let strength = found.iter().find(same).map_or(0.0, |c| f64::from(c.strength));
                let faint = top < 0.301 && strength == 0.0;
                assert!(faint || (strength - top.min(1.0)).abs() < 1.0e-4, "{top} at {place} (seed {seed})");
            }
        }
    }
}

#[test]
fn the_period_is_among_the_candidates() {
    let mut candidates = Candidates::new(RATE, 80.0, 3_800.0);
    for seed in 0..200 {
        let hz = Dice::new(seed).ratio(82.0, 3_700.0);
        let x = tone(hz, 1_000, 0.0);
        let found = candidates.find(&x);
        let near = |period: f64| (period * hz / RATE - 1.0).abs() < 0.005;
        assert!(found.iter().any(|c| near(c.period) && c.strength > 0.97), "{hz} Hz: {found:?}");
    }
}

/// Power that harmonics of a fundamental explain under a Hann window: the approximate likelihood of nonlinear least
/// squares (Christensen & Jakobsson 2009, section 2.3), summed one harmonic and one sample at a time.
fn explained(x: &[f32], frequency: f64, harmonics: usize) -> f64 {
    let length = x.len() as f64;
    let one = |h: usize| {
        let (mut re, mut im) = (0.0, 0.0);
        for (n, sample) in x.iter().enumerate() {
            let t = n as f64 + 0.5 - 0.5 * length;
            let weighted = f64::from(*sample) * (0.5 + 0.5 * (TAU * t / length).cos());
            re += weighted * (TAU * frequency * h as f64 * t).cos();
            im += weighted * (TAU * frequency * h as f64 * t).sin();
        }
        re * re + im * im
    };
    (1..=harmonics).map(one).sum()
}

#[test]
fn the_refined_pitch_is_the_most_likely_one() {
    for (hz, noise) in [(196.0, 0.0), (196.0, 0.02), (523.25, 0.02), (1_568.0, 0.02)] {
        let x = tone(hz, 800, noise);
        let mut refiner = Refiner::new(800, 0.40);
        let periods = Refiner::whole_periods(hz / RATE, 640.0);
        let first = refiner.fit(&x, hz * 1.001 / RATE, periods).unwrap();
        let fit = refiner.fit(&x, first.frequency, periods).unwrap();
        let window = &x[x.len() - (periods * RATE / hz).round() as usize..];
        // A search in steps of a fiftieth of a cent over two cents to either side.
        let steps = (-100..=100).map(|step| fit.frequency * 2.0_f64.powf(f64::from(step) / 60_000.0));
        let power = |f: f64| explained(window, f, fit.harmonics);
        let likeliest = steps.max_by(|a, b| power(*a).total_cmp(&power(*b))).unwrap();
        let cents = 1_200.0 * (fit.frequency / likeliest).log2();
        assert!(cents.abs() < 0.5, "{hz} Hz with noise {noise}: {cents} cents from the most likely pitch");
    }
}

/// Frequency response of taps by its definition, at an angular frequency in radians per sample.
fn spectrum(taps: &[f64], omega: f64) -> Complex<f64> {
    taps.iter().enumerate().map(|(n, tap)| Complex::from_polar(*tap, -omega * n as f64)).sum()
}

#[test]
fn the_low_pass_is_the_chebyshev_filter_of_the_textbook() {
    // |H|² = 1 / (1 + 1/(ε² T²(Ω edge / Ω))), T being the Chebyshev polynomial of the order (Oppenheim & Schafer, appendix B).
    for factor in [2, 3, 6, 12] {
        let taps = response(factor);
        let tangent = |share: f64| (PI * share / factor as f64).tan();
        for step in 1..=500 {
            let share = 0.5 * factor as f64 * f64::from(step) / 501.0;
            let ratio = tangent(0.5) / tangent(share);
            let angle = if ratio > 1.0 { ratio.acosh() } else { ratio.acos() };
            let chebyshev = if ratio > 1.0 { (12.0 * angle).cosh() } else { (12.0 * angle).cos() };
            let stop = 10.0_f64.powf(-6.6);
            let squared = stop * chebyshev * chebyshev / (1.0 - stop + stop * chebyshev * chebyshev);
            let magnitude = spectrum(&taps, TAU * share / factor as f64).norm();
            assert!(
                (magnitude - squared.sqrt()).abs() < 2.0e-3,
                "at {share} by {factor}: {magnitude} for {}",
                squared.sqrt()
            );
        }
    }
}

#[test]
fn the_low_pass_is_the_one_that_scipy_designs() {
    // SciPy 1.17.1, `signal.cheby2(12, 66, 1 / factor)`: taps 0, 1, 5, 10 and 20 of the response.
    let designed = [
        (2, [0.012_877_3, 0.067_594_3, 0.239_418, 0.125_907, 0.053_456_5]),
        (3, [0.003_344_22, 0.014_652_6, 0.198_327, -0.021_536_8, -0.061_123_9]),
        (12, [0.000_496_03, 0.000_501_836, 0.002_893_21, 0.010_427_4, 0.042_517_1]),
    ];
    for (factor, designed) in designed {
        let taps = response(factor);
        for (at, tap) in [0, 1, 5, 10, 20].into_iter().zip(designed) {
            assert!((taps[at] - tap).abs() < 1.0e-6, "tap {at} by {factor}: {} for {tap}", taps[at]);
        }
    }
    assert_eq!(response(1), [1.0]);
}

#[test]
fn the_low_pass_is_flat_below_and_silent_above() {
    for factor in [2, 3, 6, 12] {
        let taps = response(factor);
        let decibels = |share: f64| 20.0 * spectrum(&taps, TAU * share / factor as f64).norm().log10();
        let steps =
            |from: f64, to: f64| (0..=200).map(move |step| from + (to - from) * f64::from(step) / 200.0);
        let uneven = steps(0.0, 0.35).map(|share| decibels(share).abs()).fold(0.0, f64::max);
        let leak = steps(0.50, 0.5 * factor as f64).map(decibels).fold(f64::MIN, f64::max);
        assert!(uneven < 0.05 && leak < -64.0, "by {factor}: {uneven} dB uneven, {leak} dB through");
        let edge = decibels(0.40);
        assert!((-3.0..0.0).contains(&edge), "by {factor}: {edge} dB at the edge of the pass band");
    }
}

/// Group delay by its definition, the slope of the phase, in seconds.
fn group_delay(taps: &[f64], hz: f64, rate: f64) -> f64 {
    let (omega, step) = (TAU * hz / rate, 1.0e-4);
    let turned = spectrum(taps, omega + step) * spectrum(taps, omega - step).conj();
    -turned.arg() / (2.0 * step * rate)
}

#[test]
fn the_delay_is_the_slope_of_the_phase() {
    for rate in [32_000.0, 44_100.0, 48_000.0, 96_000.0, 192_000.0] {
        let front = Front::new(rate);
        let taps = response(front.factor());
        let said = front.delay() / rate;
        for (hz, error) in [(80.0, 1.0e-6), (1_000.0, 4.0e-6), (2_000.0, 1.5e-5), (4_000.0, 7.0e-5)] {
            let delay = group_delay(&taps, hz, rate);
            assert!((delay - said).abs() < error, "{hz} Hz at {rate} Hz: {delay} s, {said} s are told");
        }
        assert!(said < 0.2e-3, "{said} s at {rate} Hz");
    }
}

#[test]
fn the_filter_that_runs_is_the_one_that_was_designed() {
    let mut front = Front::new(48_000.0);
    let taps = response(3);
    // The impulse comes at each place between two outputs in turn, far from the filter of the offset's slow tail.
    for shift in 0..3 {
        front.reset();
        let heard: Vec<f32> =
            (0..200).filter_map(|n| front.push(if n == shift { 1.0 } else { 0.0 })).collect();
        for (k, sample) in heard.iter().enumerate() {
            let tap = (3 * k + 2).checked_sub(shift).and_then(|n| taps.get(n)).copied().unwrap_or(0.0);
            assert!((f64::from(*sample) - tap).abs() < 5.0e-3, "tap {k} from {shift}: {sample} for {tap}");
        }
    }
}
