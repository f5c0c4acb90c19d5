//! Test signals made here by arithmetic, so that the truth is exact and owes nothing to the engine or the simulator.
#![allow(dead_code, reason = "each test file uses its part")]

use pitch::{Ear, Reading, Settings};
use std::f64::consts::PI;

/// Deterministic noise, uniform in -1 … 1 (Knuth's linear congruential generator, MMIX constants).
pub(crate) struct Noise(pub(crate) u64);

impl Noise {
    pub(crate) fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / f64::from(1_u32 << 30) - 1.0
    }
}

/// A tone with these amplitudes of its harmonics, silent before `from` and after `to` (seconds).
pub(crate) struct Tone<'a> {
    pub(crate) hz: f64,
    pub(crate) amplitudes: &'a [f64],
    pub(crate) from: f64,
    pub(crate) to: f64,
}

/// A reed as most are: the harmonics fall by about 6 dB an octave.
pub(crate) const REED: [f64; 8] = [1.0, 0.55, 0.35, 0.25, 0.2, 0.16, 0.14, 0.12];

/// Adds a tone with a linear attack and release of 10 ms; harmonics above 0.45 of the rate are left out.
pub(crate) fn add(out: &mut [f32], rate: f64, level: f64, tone: &Tone<'_>) {
    for (n, sample) in out.iter_mut().enumerate() {
        let t = n as f64 / rate;
        let envelope = ((t - tone.from) / 0.010).min((tone.to - t) / 0.010).clamp(0.0, 1.0);
        let partials = tone.amplitudes.iter().zip(1..).filter(|(_, h)| tone.hz * f64::from(*h) < 0.45 * rate);
        let wave: f64 =
            partials.map(|(a, h)| a * (2.0 * PI * tone.hz * f64::from(h) * t + f64::from(h)).sin()).sum();
        *sample += (level * envelope * wave) as f32;
    }
}

/// All readings of a signal with the standard settings.
pub(crate) fn readings(rate: f64, samples: &[f32]) -> Vec<Reading> {
    let mut ear = Ear::new(Settings::new(rate)).expect("a rate in range");
    let mut all = Vec::new();
    ear.push(samples, |reading| all.push(reading));
    all
}

/// Cents from `b` up to `a`.
pub(crate) fn cents(a: f64, b: f64) -> f64 {
    1_200.0 * (a / b).log2()
}
