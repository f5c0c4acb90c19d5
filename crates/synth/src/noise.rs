//! The noise of a room and that of breath.

use crate::biquad::Biquad;
use crate::level::rms;
use crate::random::{generator, signed};
use oorandom::Rand32;
use std::f64::consts::TAU;

/// Number of poles of pink noise: one an octave from 20 Hz to 41 kHz.
const POLES: usize = 12;

/// RMS of a number that is uniform from −1 to 1.
const UNIFORM_RMS: f64 = 0.577_350_269_189_625_8;

/// Endless pink noise of a given level: its power is the same in every octave, so it falls as 1/f.
///
/// It is the sum of independent white noises through first-order low-passes an octave apart, each an
/// octave's worth quieter than the one below. Computed from the filters, the sum follows 1/f to within one
/// decibel from 40 Hz to 7 kHz, and two decibels down to 20 Hz and up to 0.45 of the sample rate. Its level is
/// known exactly: a first-order low-pass `x ← x + a·(w − x)` of white noise `w` has `a/(2 − a)` of its variance.
#[derive(Clone, Debug)]
pub(crate) struct Pink {
    random: Rand32,
    poles: [Pole; POLES],
    count: usize,
}

#[derive(Clone, Copy, Debug, Default)]
struct Pole {
    coefficient: f64,
    gain: f64,
    state: f64,
}

impl Pink {
    /// Noise at `dbfs` decibels relative to a full-scale sine; −∞ is silence.
    pub(crate) fn new(sample_rate: f64, dbfs: f64, seed: u64) -> Self {
        let mut poles = [Pole::default(); POLES];
        let (mut count, mut variance) = (0, 0.0);
        for (octave, pole) in (0i32..).zip(&mut poles) {
            let hz = 20.0 * 2f64.powi(octave);
            if hz > 0.4 * sample_rate {
                break;
            }
            pole.coefficient = 1.0 - (-TAU * hz / sample_rate).exp();
            pole.gain = 2f64.powi(octave).sqrt().recip();
            variance += pole.gain.powi(2) * pole.coefficient / (2.0 - pole.coefficient);
            count += 1;
        }
        let scale = rms(dbfs) / (UNIFORM_RMS * variance.sqrt());
        for pole in &mut poles {
            pole.gain *= scale;
        }
        Self { random: generator(seed, 0x6e6f_6973), poles, count }
    }

    /// The next sample.
    pub(crate) fn sample(&mut self) -> f64 {
        let mut sum = 0.0;
        for pole in &mut self.poles[..self.count] {
            pole.state += pole.coefficient * (signed(&mut self.random) - pole.state);
            sum += pole.gain * pole.state;
        }
        sum
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
