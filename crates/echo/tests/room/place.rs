//! A loudspeaker, a room and the clocks of two devices.

use crate::playing::Playing;
use oorandom::Rand64;
use rustfft::FftPlanner;
use rustfft::num_complex::Complex;
use std::f64::consts::PI;

/// Samples per second of both devices, by their own word.
pub(crate) const RATE: f64 = 48_000.0;

/// Where it was tried: echo against harp in decibels, how far the loudspeaker is driven, reverberation time and delay
/// in seconds.
pub(crate) const CASES: [(f64, f64, f64, f64); 6] = [
    (0.0, 0.3, 0.3, 0.005),
    (0.0, 0.3, 0.6, 0.06),
    (0.0, 0.1, 0.6, 0.02),
    (-6.0, 0.3, 0.6, 0.02),
    (-12.0, 0.3, 0.3, 0.02),
    (-20.0, 0.3, 0.3, 0.02),
];

/// Millionths by which the loudspeaker's clock is fast; the two clocks tell it roughly.
pub(crate) const PPM: f64 = 50.0;

/// Where a band is played.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Place {
    /// Reverberation time, seconds.
    pub(crate) rt60_s: f64,
    /// From the loudspeaker's frame to the microphone's, seconds.
    pub(crate) delay_s: f64,
    /// How much faster the loudspeaker's frames go than the microphone's, millionths.
    pub(crate) ppm: f64,
    /// How far the loudspeaker is driven: tanh(clip · x / rms) · rms / clip; 0 for a straight one.
    pub(crate) clip: f64,
    /// Level of the echo against the harp in its notes, decibels.
    pub(crate) echo_db: f64,
    /// Decides the room.
    pub(crate) seed: u64,
}

impl Place {
    /// What the microphone hears of the loudspeaker.
    pub(crate) fn echo(&self, reference: &[f32], playing: &Playing) -> Vec<f32> {
        let loud = self.raw(reference);
        let rms = |all: &mut dyn Iterator<Item = f32>| {
            let (mut sum, mut count) = (0.0f64, 0.0f64);
            for x in all {
                sum += f64::from(x).powi(2);
                count += 1.0;
            }
            (sum / count).sqrt()
        };
        let harp =
            rms(&mut playing.samples.iter().enumerate().filter(|(n, _)| playing.sounds(*n)).map(|(_, x)| *x));
        let gain = harp / rms(&mut loud.iter().copied()) * 10f64.powf(self.echo_db / 20.0);
        loud.iter().map(|x| (f64::from(*x) * gain) as f32).collect()
    }

    /// The echo before its level is set.
    pub(crate) fn raw(&self, reference: &[f32]) -> Vec<f32> {
        let rms =
            (reference.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / reference.len() as f64).sqrt();
        let driven: Vec<f64> = reference
            .iter()
            .map(|x| {
                let x = f64::from(*x);
                if self.clip > 0.0 { (self.clip * x / rms).tanh() * rms / self.clip } else { x }
            })
            .collect();
        let shifted: Vec<f64> =
            (0..driven.len()).map(|n| between(&driven, n as f64 * (1.0 + self.ppm * 1e-6))).collect();
        convolved(&shifted, &self.response())
    }

    /// The room: the direct sound, and behind it noise that dies away.
    fn response(&self) -> Vec<f64> {
        let mut random = Rand64::new(u128::from(self.seed) << 20 | (self.rt60_s * 1000.0) as u128);
        let length = (1.2 * self.rt60_s * RATE) as usize;
        let delay = (self.delay_s * RATE) as usize;
        let mut response = vec![0.0; delay + length];
        let decay = 6.91 / (self.rt60_s * RATE);
        let mut energy = 0.0;
        for n in 0..length {
            let noise = random.rand_float() + random.rand_float() + random.rand_float() - 1.5;
            let x = noise * (-decay * n as f64).exp();
            response[delay + n] = x;
            energy += x * x;
        }
        // Direct sound as strong as the reverberation: at the room's critical distance.
        response[delay] += energy.sqrt();
        response
    }
}

/// A signal between its samples, by a sinc under a Hann window.
fn between(samples: &[f64], place: f64) -> f64 {
    const HALF: i64 = 16;
    let whole = place.floor();
    let part = place - whole;
    let mut sum = 0.0;
    for i in 1 - HALF..=HALF {
        let t = i as f64 - part;
        let sinc = if t == 0.0 { 1.0 } else { (PI * t).sin() / (PI * t) };
        let window = (PI * t / (2.0 * HALF as f64)).cos().powi(2);
        let at = whole as i64 + i;
        let x = usize::try_from(at).ok().and_then(|at| samples.get(at)).copied().unwrap_or(0.0);
        sum += x * sinc * window;
    }
    sum
}

fn convolved(samples: &[f64], response: &[f64]) -> Vec<f32> {
    let size = (samples.len() + response.len()).next_power_of_two();
    let mut planner = FftPlanner::new();
    let (forward, inverse) = (planner.plan_fft_forward(size), planner.plan_fft_inverse(size));
    let spectrum = |x: &[f64]| {
        let mut cells = vec![Complex::default(); size];
        for (cell, x) in cells.iter_mut().zip(x) {
            *cell = Complex::from(*x);
        }
        forward.process(&mut cells);
        cells
    };
    let mut product = spectrum(samples);
    for (a, b) in product.iter_mut().zip(spectrum(response)) {
        *a *= b;
    }
    inverse.process(&mut product);
    product[..samples.len()].iter().map(|x| (x.re / size as f64) as f32).collect()
}

/// What the clocks of the two devices tell of their frames.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Clocks {
    /// How much faster the loudspeaker's frames go than the microphone's, millionths.
    pub(crate) ppm: f64,
    /// Callbacks come late by chance, so that the clocks are off: decides by how much.
    pub(crate) seed: u64,
}

/// The reading of the clocks is renewed so often, seconds, each time with an error of this standard deviation, seconds:
/// over an hour of sound servers in live tests the speed that they told was off by 20 to 70 millionths in the first
/// half minute.
const LAID_S: f64 = 2.0;
const OFF_S: f64 = 0.06e-3;

impl Clocks {
    /// The frame of the loudspeaker beside a moment of the microphone, seconds, and by what share it is faster.
    pub(crate) fn told(self, at_s: f64) -> (f64, f64) {
        let off = |laid: f64| {
            let mut random = Rand64::new(u128::from(self.seed) << 32 | laid as u128);
            OFF_S * (random.rand_float() + random.rand_float() + random.rand_float() - 1.5) * 2.0
        };
        let laid = (at_s / LAID_S).floor();
        let (from, to) = (off(laid), off(laid + 1.0));
        let slope = (to - from) / LAID_S;
        let off_s = from + slope * (at_s - LAID_S * laid);
        ((at_s * (1.0 + self.ppm * 1e-6) + off_s) * RATE, self.ppm * 1e-6 + slope)
    }
}
