//! The spectrum's second thoughts, from the sums that define a discrete Fourier transform, in double precision.

use super::{Dice, RATE};
use crate::candidates::Candidates;
use crate::octave::{Octave, View};
use crate::refine::Refiner;
use crate::spectrum::Spectrum;
use std::f64::consts::TAU;

/// Bins of the transform.
const SIZE: usize = 1_024;

/// A working rate, the window of 64 ms at it, and cosines and sines of a whole turn.
struct Transform {
    rate: f64,
    window: Vec<f64>,
    turn: Vec<(f64, f64)>,
}

impl Transform {
    fn new(rate: f64, length: usize) -> Self {
        let hann = |n: usize| 0.5 - 0.5 * (TAU * (n as f64 + 0.5) / length as f64).cos();
        let turn = |n: usize| (TAU * n as f64 / SIZE as f64).sin_cos();
        Self { rate, window: (0..length).map(hann).collect(), turn: (0..SIZE).map(turn).collect() }
    }

    /// Power of the windowed discrete Fourier transform of the newest samples at one bin.
    fn power(&self, x: &[f32], bin: usize) -> f64 {
        let newest = &x[x.len() - self.window.len()..];
        let (mut re, mut im) = (0.0, 0.0);
        for ((n, sample), window) in newest.iter().enumerate().zip(&self.window) {
            let (sin, cos) = self.turn[bin * n % SIZE];
            re += f64::from(*sample) * window * cos;
            im += f64::from(*sample) * window * sin;
        }
        re * re + im * im
    }

    /// The square root of the magnitude at a frequency in hertz, on the straight line between its two bins.
    fn root(&self, x: &[f32], hz: f64) -> f64 {
        let place = hz / self.rate * SIZE as f64;
        let (bin, part) = (place.floor() as usize, place.fract());
        let root = |bin: usize| self.power(x, bin).powf(0.25);
        if bin + 1 < SIZE / 2 { root(bin) * (1.0 - part) + root(bin + 1) * part } else { 0.0 }
    }

    /// SWIPE' (Camacho & Harris 2008) with the first and the prime harmonics, each against what lies
    /// half-way to its neighbours, weighed by one over the root of its number.
    fn salience(&self, x: &[f32], hz: f64) -> f64 {
        let numbers = [1.0, 2.0, 3.0, 5.0, 7.0, 11.0, 13.0].into_iter().filter(|h| h * hz < 0.40 * self.rate);
        let (mut sum, mut norm) = (0.0, 0.0_f64);
        for h in numbers {
            let valleys = self.root(x, (h - 0.5) * hz) + self.root(x, (h + 0.5) * hz);
            sum += (self.root(x, h * hz) - valleys / 2.0) / f64::sqrt(h);
            norm += 1.0 / h;
        }
        sum / norm.max(1.0).sqrt()
    }
}

/// 48 kHz over three and 44.1 kHz over three: the second window is shorter than its transform.
fn transforms() -> [Transform; 2] {
    [Transform::new(16_000.0, 1_024), Transform::new(14_700.0, 940)]
}

#[test]
fn the_salience_is_that_of_plain_sums() {
    for frame in transforms() {
        let mut spectrum = Spectrum::new(frame.rate, 0.40);
        for seed in 0..20 {
            let mut dice = Dice::new(seed);
            let (low, high) = (dice.ratio(80.0, 3_800.0), dice.ratio(80.0, 3_800.0));
            let noise = dice.ratio(1.0e-4, 0.1);
            let x = dice.sound(&[low, high], noise, 1_100);
            spectrum.analyse(&x);
            for hz in [low, high, 0.5 * low, 2.0 * high, dice.ratio(80.0, 3_800.0)] {
                let (quick, slow) = (f64::from(spectrum.salience(hz / frame.rate)), frame.salience(&x, hz));
                let scale = frame.root(&x, low).max(frame.root(&x, high));
                assert!((quick - slow).abs() < 1.0e-3 * scale, "{hz} Hz: {quick} for {slow} (seed {seed})");
            }
        }
    }
}

#[test]
fn the_noise_is_that_of_three_plain_sums_half_way_to_each_neighbour() {
    for frame in transforms() {
        let energy: f64 = frame.window.iter().map(|w| w * w).sum();
        let mut spectrum = Spectrum::new(frame.rate, 0.40);
        for seed in 0..10 {
            let mut dice = Dice::new(seed);
            let hz = dice.ratio(80.0, 600.0);
            let x = dice.sound(&[hz], 0.05, 1_100);
            spectrum.analyse(&x);
            let between = |number: f64| -> f64 {
                let middle = (number * hz / frame.rate * SIZE as f64).round() as usize;
                let three = middle - 1..=middle + 1;
                three.map(|bin| frame.power(&x, bin)).sum::<f64>() / 3.0 / energy
            };
            for (index, quick) in spectrum.noise(hz / frame.rate).into_iter().enumerate() {
                let number = (index + 1) as f64;
                if (number + 0.6) * hz < 0.49 * frame.rate {
                    let slow = f64::midpoint(between(number - 0.5), between(number + 0.5));
                    assert!((quick / slow - 1.0).abs() < 1.0e-3, "at {number} · {hz} Hz: {quick} for {slow}");
                }
            }
        }
    }
}

#[test]
fn white_noise_is_told_by_its_power() {
    let (mut spectrum, mut sum) = (Spectrum::new(RATE, 0.40), 0.0);
    for seed in 0..200 {
        let x = Dice::new(seed).sound(&[], 0.1, 1_024);
        spectrum.analyse(&x);
        sum += spectrum.noise(440.0 / RATE).iter().sum::<f64>() / 12.0;
    }
    let told = sum / 200.0;
    // Some 5000 bins that hardly depend on each other: a deviation of 2 %.
    assert!((told / 0.01 - 1.0).abs() < 0.06, "{told} for 0.01");
}

/// What the spectrum alone makes of a note, written out: of all that the note could be taken for, the pitch that explains
/// the spectrum best, and by 15 % better than the note does, gains a point and all others lose one; three points decide.
/// Where nothing repeats, nothing speaks for half the pitch.
struct PlainRule {
    transform: Transform,
    hz: f64,
    points: [u32; 6],
}

impl PlainRule {
    fn frame(&mut self, x: &[f32], fresh: f64) -> bool {
        let semitones = |a: f64, b: f64| (12.0 * (a / b).log2()).abs();
        let whole = [1.0 / 3.0, 0.5, 2.0, 3.0, 4.0].map(|ratio| ratio * self.hz);
        let known = whole.iter().chain([&self.hz]).any(|hz| semitones(*hz, fresh) < 0.7);
        let pitches = [whole[0], whole[1], whole[2], whole[3], whole[4], if known { 0.0 } else { fresh }];
        let (mut best, mut most) = (None, 1.15 * self.transform.salience(x, self.hz));
        for (at, hz) in pitches.into_iter().enumerate().filter(|(_, hz)| (80.0..=3_800.0).contains(hz)) {
            let salience = self.transform.salience(x, hz);
            (best, most) = if salience > most { (Some(at), salience) } else { (best, most) };
        }
        for (at, points) in self.points.iter_mut().enumerate() {
            *points = if best == Some(at) { *points + 1 } else { points.saturating_sub(1) };
        }
        self.points[1] = 0;
        let decided = self.points.iter().position(|points| *points == 3);
        if let Some(at) = decided {
            (self.hz, self.points) = (pitches[at], [0; 6]);
        }
        decided.is_some()
    }
}

#[test]
fn the_spectrum_decides_by_the_plain_rule() {
    let mut moved = 0;
    for seed in 0..150 {
        let mut dice = Dice::new(seed);
        let hz = dice.ratio(160.0, 1_900.0);
        let sounds = [hz, hz * [0.5, 1.0, 1.25, 1.5, 2.0, 3.0, 5.0][dice.pick(7)]];
        let count = 1 + dice.pick(2);
        let x = dice.sound(&sounds[..count], 0.01, 1_500);
        let number = (1 + dice.pick(4)) as f64;
        let first = if dice.pick(3) == 0 { hz * number } else { hz / number };
        let fresh = hz * [1.37, 0.29, 1.5][dice.pick(3)];
        let mut octave = Octave::new(RATE, 0.40, 80.0 / RATE..=3_800.0 / RATE);
        let (candidates, mut refiner) = (Candidates::new(RATE, 80.0, 3_800.0), Refiner::new(800, 0.40));
        let mut slow = PlainRule { transform: Transform::new(RATE, 1_024), hz: first, points: [0; 6] };
        let mut frequency = first / RATE;
        // One decision: what was left by it starts lower, which is not part of the plain rule.
        for frame in 0..5 {
            let history = &x[..1_100 + 80 * frame];
            let mut view = View {
                history,
                candidates: &candidates,
                refiner: &mut refiner,
                frequency,
                fit: None,
                fresh: Some(fresh / RATE),
                shortest: 56.0,
                settled: true,
                spectrum_due: true,
            };
            let other = octave.decide(&mut view, |_| true);
            let decided = slow.frame(history, fresh);
            assert_eq!(other.is_some(), decided, "frame {frame} of seed {seed}");
            frequency = other.unwrap_or(frequency);
            assert!((frequency * RATE / slow.hz - 1.0).abs() < 1.0e-9, "seed {seed}");
            if decided {
                moved += 1;
                break;
            }
        }
    }
    assert!((30..120).contains(&moved), "{moved} of 150 notes were moved: not a test of both");
}
