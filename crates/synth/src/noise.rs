//! Noise of a known level.

use crate::biquad::Biquad;
use crate::level::rms;
use crate::random::{generator, signed};
use oorandom::Rand32;
use std::f64::consts::TAU;

/// Number of poles of pink noise: one an octave from 20 Hz to 41 kHz.
const POLES: usize = 12;

/// RMS of a number that is uniform from −1 to 1.
const UNIFORM_RMS: f64 = 0.577_350_269_189_625_8;

/// How the power of a noise lies over frequency.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// The same in every hertz.
    White,
    /// The same in every octave (power falls as 1/f) from 20 Hz up.
    Pink,
}

/// Endless noise of a given colour and level.
///
/// Pink noise is the sum of independent white noises through first-order low-passes an octave apart, each an
/// octave's worth quieter than the one below. Computed from the filters, the sum follows 1/f to within one
/// decibel from 40 Hz to 7 kHz, and two decibels down to 20 Hz and up to 0.45 of the sample rate. Its level is
/// known exactly: a first-order low-pass `x ← x + a·(w − x)` of white noise `w` has `a/(2 − a)` of its variance.
#[derive(Clone, Debug)]
pub struct Noise {
    random: Rand32,
    poles: [Pole; POLES],
    count: usize,
    white_gain: f64,
}

#[derive(Clone, Copy, Debug, Default)]
struct Pole {
    coefficient: f64,
    gain: f64,
    state: f64,
}

impl Noise {
    /// Noise at `dbfs` decibels relative to a full-scale sine; −∞ is silence.
    pub fn new(sample_rate: f64, colour: Colour, dbfs: f64, seed: u64) -> Self {
        let random = generator(seed, 0x6e6f_6973);
        let silent = Self { random, poles: [Pole::default(); POLES], count: 0, white_gain: 0.0 };
        match colour {
            Colour::White => Self { white_gain: rms(dbfs) / UNIFORM_RMS, ..silent },
            Colour::Pink => silent.pink(sample_rate, rms(dbfs)),
        }
    }

    fn pink(mut self, sample_rate: f64, rms: f64) -> Self {
        let mut variance = 0.0;
        for (octave, pole) in (0i32..).zip(&mut self.poles) {
            let hz = 20.0 * 2f64.powi(octave);
            if hz > 0.4 * sample_rate {
                break;
            }
            pole.coefficient = 1.0 - (-TAU * hz / sample_rate).exp();
            pole.gain = 2f64.powi(octave).sqrt().recip();
            variance += pole.gain.powi(2) * pole.coefficient / (2.0 - pole.coefficient);
            self.count += 1;
        }
        let scale = rms / (UNIFORM_RMS * variance.sqrt());
        for pole in &mut self.poles {
            pole.gain *= scale;
        }
        self
    }

    /// The next sample.
    pub fn sample(&mut self) -> f64 {
        if self.count == 0 {
            return self.white_gain * signed(&mut self.random);
        }
        let mut sum = 0.0;
        for pole in &mut self.poles[..self.count] {
            pole.state += pole.coefficient * (signed(&mut self.random) - pole.state);
            sum += pole.gain * pole.state;
        }
        sum
    }

    /// Adds the noise to some sound.
    pub fn add(&mut self, samples: &mut [f32]) {
        for sample in samples {
            *sample += self.sample() as f32;
        }
    }
}

/// The rush of air through a hole: noise around 1.8 kHz with an RMS of 1 (the colour is our choice).
#[derive(Clone, Debug)]
pub(crate) struct Breath {
    random: Rand32,
    filter: Biquad,
    gain: f64,
}

impl Breath {
    pub(crate) fn new(sample_rate: f64, seed: u64) -> Self {
        let filter = Biquad::band_pass(sample_rate, 1800.0, 0.5);
        Self { random: generator(seed, 0x6272_6561), filter, gain: 1.0 / (UNIFORM_RMS * filter.noise_gain()) }
    }

    /// The next sample.
    pub(crate) fn sample(&mut self) -> f64 {
        self.gain * self.filter.next(signed(&mut self.random))
    }
}
