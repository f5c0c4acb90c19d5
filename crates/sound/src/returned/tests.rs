//! Clicks that come back after a known time, through rooms and among other sounds.

use super::*;
use oorandom::Rand64;

const RATE: f64 = 48_000.0;

/// The click of `synth`: it rises within 0.3 ms and falls by e every 5 ms, and its pitch by two octaves within 12 ms.
fn click(t: f64, hz: f64) -> f64 {
    let swept = t.min(0.012);
    let periods = hz * (swept - 0.375 * swept * swept / 0.012 + 0.25 * (t - swept));
    if t < 0.0 { 0.0 } else { (t / 0.0003).min(1.0) * (-t / 0.005).exp() * (TAU * periods).sin() }
}

/// A room whose sound falls by 60 dB in 0.4 s: the direct sound, and from 3 ms on echoes of noise, `echo` times as loud
/// as the direct sound.
fn through_a_room(dry: &[f64], echo: f64, random: &mut Rand64) -> Vec<f64> {
    let taps: Vec<f64> = (0..(0.3 * RATE) as usize)
        .map(|n| match n {
            0 => 1.0,
            n if (n as f64) < 0.003 * RATE => 0.0,
            n => echo * (2.0 * random.rand_float() - 1.0) * (-6.91 * n as f64 / (0.4 * RATE)).exp(),
        })
        .collect();
    let mut wet = vec![0.0; dry.len()];
    // Outside the click there is nothing to convolve.
    for (n, &x) in dry.iter().enumerate().filter(|(_, x)| x.abs() > 1e-5) {
        for (out, tap) in wet[n..].iter_mut().zip(&taps) {
            *out += tap * x;
        }
    }
    wet
}

/// What is heard of a click that takes `delay_s`, from `QUIET_S` before it is due, with noise and a tone.
fn heard(delay_s: f64, hz: f64, (echo, noise, tone): (f64, f64, f64), seed: u128) -> Vec<f32> {
    let mut random = Rand64::new(seed);
    let count = (0.2 * RATE) as usize;
    let dry: Vec<f64> = (0..count).map(|n| 0.05 * click(n as f64 / RATE - QUIET_S - delay_s, hz)).collect();
    let wet = if echo > 0.0 { through_a_room(&dry, echo, &mut random) } else { dry };
    wet.into_iter()
        .enumerate()
        .map(|(n, x)| {
            let t = n as f64 / RATE;
            let reed: f64 =
                (1..12).map(|k| (TAU * 440.0 * f64::from(k) * t).sin() / f64::from(k)).sum::<f64>();
            (x + noise * (2.0 * random.rand_float() - 1.0) + tone * reed) as f32
        })
        .collect()
}

#[test]
fn a_click_is_found_within_a_millisecond_in_a_room() {
    for hz in [3_800.0, 5_200.0] {
        for (seed, delay_s) in [0.004, 0.0217, 0.05, 0.11].into_iter().enumerate() {
            for sounds in [(0.0, 0.002, 0.0), (0.2, 0.001, 0.0)] {
                let found = returned(&heard(delay_s, hz, sounds, 1 + seed as u128), RATE, hz);
                let error = found.map(|found| (found - delay_s).abs());
                assert!(error.is_some_and(|error| error < 0.001), "{hz}, {delay_s}, {sounds:?}: {found:?}");
            }
        }
    }
}

#[test]
fn what_sounds_without_a_click_is_none() {
    let nothing = |mut heard: Vec<f32>, with: &dyn Fn(f64) -> f64| {
        for (n, x) in heard.iter_mut().enumerate() {
            *x += with(n as f64 / RATE) as f32;
        }
        returned(&heard, RATE, 3_800.0)
    };
    let silence = vec![0.0; 9_600];
    assert_eq!(returned(&silence, RATE, 3_800.0), None);
    assert_eq!(returned(&[0.5; 100], RATE, 3_800.0), None, "too short");
    for seed in 1..40 {
        assert_eq!(nothing(heard(1.0, 3_800.0, (0.0, 0.1, 0.0), seed), &|_| 0.0), None, "noise {seed}");
    }
    // A tone at the very pitch of the click, and a harp's that goes on.
    assert_eq!(nothing(silence, &|t| 0.3 * (TAU * 3_800.0 * t).sin()), None);
    assert_eq!(nothing(heard(1.0, 3_800.0, (0.0, 0.001, 0.1), 3), &|_| 0.0), None);
}
