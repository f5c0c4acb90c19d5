//! A band by a few lines: bass, chords off the beat, brushes.

use crate::place::RATE;
use oorandom::Rand64;
use std::f64::consts::TAU;

const SWING: f64 = 2.0 / 3.0;

fn hz(midi: f64) -> f64 {
    440.0 * ((midi - 69.0) / 12.0).exp2()
}

/// Adds a plucked note: when and for how long in seconds, its pitch in hertz, its level, and the time in which it dies away.
fn note(out: &mut [f32], (at, length_s): (f64, f64), hz: f64, (level, decay_s): (f64, f64)) {
    let from = (at * RATE) as usize;
    for n in 0..(length_s * RATE) as usize {
        let Some(x) = out.get_mut(from + n) else { return };
        let t = n as f64 / RATE;
        let envelope = (t / 0.005).min((length_s - t) / 0.01).clamp(0.0, 1.0) * (-t / decay_s).exp();
        let mut sum = 0.0;
        for h in 1..=10 {
            let h = f64::from(h);
            if h * hz < 9_000.0 {
                sum += h.powf(-1.2) * (TAU * h * hz * t + h).sin() * (-t * h / decay_s * 0.3).exp();
            }
        }
        *x += (level * envelope * sum) as f32;
    }
}

/// Adds a burst of noise.
fn burst(out: &mut [f32], at: f64, (level, decay_s, bright): (f64, f64, f64), random: &mut Rand64) {
    let from = (at * RATE) as usize;
    let mut before = 0.0;
    for n in 0..(6.0 * decay_s * RATE) as usize {
        let noise = 2.0 * random.rand_float() - 1.0;
        let t = n as f64 / RATE;
        let Some(x) = out.get_mut(from + n) else { return };
        *x += (level * (noise - bright * before) * (-t / decay_s).exp()) as f32;
        before = noise;
    }
}

/// A twelve-bar shuffle in A at 100 beats a minute.
pub(crate) fn band(seed: u64, length: usize) -> Vec<f32> {
    let mut random = Rand64::new(u128::from(seed) + 5);
    let mut out = vec![0.0; length];
    let beat_s = 0.6;
    let roots = [45.0, 45.0, 45.0, 45.0, 50.0, 50.0, 45.0, 45.0, 52.0, 50.0, 45.0, 52.0];
    let beats = (length as f64 / RATE / beat_s) as usize;
    for beat in 0..beats {
        let root = roots[beat / 4 % 12];
        let at = beat as f64 * beat_s;
        let walk = [0.0, 4.0, 7.0, 9.0][beat % 4];
        note(&mut out, (at, 0.5), hz(root - 12.0 + walk), (0.25, 0.5));
        for (part, level) in [(0.0, 0.05), (SWING, 0.08)] {
            for third in [0.0, 4.0, 7.0, 10.0] {
                note(&mut out, (at + part * beat_s, 0.18), hz(root + third), (level, 0.3));
            }
            burst(&mut out, at + part * beat_s, (0.05, 0.02, 0.9), &mut random);
        }
        if beat % 2 == 1 {
            burst(&mut out, at, (0.12, 0.05, 0.3), &mut random);
        } else {
            note(&mut out, (at, 0.12), 55.0, (0.4, 0.05));
        }
    }
    out
}
