//! Measurements that know nothing of how the sound was made.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]
#![allow(dead_code, reason = "every test file uses its own part of this")]

use layout::{Breath, Harp, HarpKey, Technique, Way};
use std::f64::consts::TAU;
use synth::{Gesture, Played, SimulatedPlayer};

pub(crate) const RATE: f64 = 48_000.0;

pub(crate) fn harp(key: &str) -> Harp {
    Harp::richter(key.parse::<HarpKey>().unwrap())
}

pub(crate) fn way(hole: u8, breath: Breath, technique: Technique) -> Way {
    Way::new(hole, breath, technique)
}

/// A player in a room without noise.
pub(crate) fn quiet(harp: &Harp, rate: f64, seed: u64) -> SimulatedPlayer {
    SimulatedPlayer::new(harp, rate, seed).with_room(f64::NEG_INFINITY)
}

/// Renders until the player has nothing left.
pub(crate) fn render(player: &mut SimulatedPlayer) -> Vec<f32> {
    let mut sound = Vec::new();
    while !player.is_idle() {
        let mut block = [0.0; 480];
        player.fill(&mut block);
        sound.extend(block);
    }
    sound
}

/// Plays one gesture and renders it.
pub(crate) fn take(player: &mut SimulatedPlayer, gesture: Gesture) -> (Played, Vec<f32>) {
    let played = player.play(gesture).unwrap();
    (played, render(player))
}

/// The held part of a take, without the first and last tenth of a second.
pub(crate) fn held<'a>(played: &Played, sound: &'a [f32], rate: f64) -> &'a [f32] {
    let edge = (rate / 10.0) as usize;
    &sound[played.settled as usize + edge..played.released as usize - edge]
}

/// The samples under a 4-term Blackman–Harris window (Harris, Proc. IEEE 66 (1978): side lobes at −92 dB)
/// whose mean is 2.
fn windowed(samples: &[f32]) -> Vec<f64> {
    let turn = TAU / samples.len() as f64;
    let weigh = |(i, x): (usize, &f32)| {
        let cos = (turn * i as f64).cos();
        // cos 2x and cos 3x by the multiple-angle formulas.
        let (cos2, cos3) = (2.0 * cos * cos - 1.0, 4.0 * cos * cos * cos - 3.0 * cos);
        f64::from(*x) * 2.0 * (0.35875 - 0.48829 * cos + 0.14128 * cos2 - 0.01168 * cos3) / 0.35875
    };
    samples.iter().enumerate().map(weigh).collect()
}

/// Power at one frequency relative to a full-scale sine: a discrete Fourier transform at a frequency between
/// the bins.
fn transform(windowed: &[f64], hz: f64, rate: f64) -> f64 {
    let (sin, cos) = (TAU * hz / rate).sin_cos();
    let (mut x, mut y, mut re, mut im) = (1.0, 0.0, 0.0, 0.0);
    for w in windowed {
        re += w * x;
        im += w * y;
        (x, y) = (x * cos - y * sin, x * sin + y * cos);
    }
    (re * re + im * im) / (windowed.len() as f64).powi(2)
}

/// Power of the samples at one frequency, relative to a full-scale sine.
pub(crate) fn power_at(samples: &[f32], hz: f64, rate: f64) -> f64 {
    transform(&windowed(samples), hz, rate)
}

/// Least-squares fit of the fundamental near a guess, hertz: the frequency whose first three harmonics, as far as they
/// lie below half the rate, take the most power out of the windowed samples (Rife & Boorstyn, IEEE Trans. Inf. Theory
/// 20 (1974), for one sinusoid), by golden section.
pub(crate) fn fitted_hz(samples: &[f32], guess: f64, rate: f64) -> f64 {
    let windowed = windowed(samples);
    // A harmonic above half the rate would fold back: three times 1999 Hz beside 1999 Hz itself at 8 kHz.
    let harmonics = (1..=3).map(f64::from).filter(|k| 2.0 * k * guess < rate);
    let gain = |hz: f64| harmonics.clone().map(|k| transform(&windowed, k * hz, rate)).sum::<f64>();
    let inside = 2.0 / (1.0 + 5f64.sqrt());
    // Within a main lobe of the window (±4 bins) of its third harmonic the power has one summit.
    let reach = rate / samples.len() as f64;
    let (mut low, mut high) = (guess - reach, guess + reach);
    let mut inner = [high - inside * (high - low), low + inside * (high - low)];
    let mut power = inner.map(gain);
    while high - low > 1e-7 * guess {
        if power[0] > power[1] {
            high = inner[1];
            inner = [high - inside * (high - low), inner[0]];
            power = [gain(inner[0]), power[0]];
        } else {
            low = inner[0];
            inner = [inner[1], low + inside * (high - low)];
            power = [power[1], gain(inner[1])];
        }
    }
    f64::midpoint(low, high)
}

/// The level of some samples in decibels relative to a full-scale sine (AES17: a sine that just reaches full scale is
/// at 0 dBFS); −∞ for silence.
pub(crate) fn dbfs(samples: &[f32]) -> f64 {
    let power: f64 = samples.iter().map(|x| f64::from(*x).powi(2)).sum();
    10.0 * (2.0 * power / samples.len().max(1) as f64).log10()
}

/// Cents from `from` to `to` (Ellis).
pub(crate) fn cents(from: f64, to: f64) -> f64 {
    1200.0 * (to / from).log2()
}
