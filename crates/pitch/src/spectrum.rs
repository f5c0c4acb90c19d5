//! The long view: which fundamental the resolved harmonics of the last 64 ms belong to.
//!
//! The short correlation cannot tell a chord of two reeds from one note two octaves lower, of which the chord would
//! be some harmonics; the spectrum can, because most harmonics of that low note are missing. The measure is the one
//! of SWIPE' (Camacho & Harris, JASA 124 (2008)): square roots of magnitudes, the first and the prime harmonics only
//! (a subharmonic then shares at most one of them with the note), minus what lies half-way between them.

use crate::refine::HARMONICS;
use rustfft::num_complex::Complex;
use rustfft::{Fft, FftPlanner};
use std::f64::consts::PI;
use std::fmt;
use std::sync::Arc;

/// Length of the window, seconds.
const WINDOW_S: f64 = 0.064;
/// The first harmonic and the primes.
const NUMBERS: [f64; 7] = [1.0, 2.0, 3.0, 5.0, 7.0, 11.0, 13.0];

/// The spectrum of the newest stretch; owns its work space.
#[derive(Clone)]
pub(crate) struct Spectrum {
    fft: Arc<dyn Fft<f32>>,
    window: Vec<f32>,
    buffer: Vec<Complex<f32>>,
    scratch: Vec<Complex<f32>>,
    roots: Vec<f32>,
    /// Sum of the squares of the window.
    energy: f64,
    highest: f64,
}

impl fmt::Debug for Spectrum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Spectrum").field("bins", &self.roots.len()).finish_non_exhaustive()
    }
}

impl Spectrum {
    /// For a working rate (hertz) and harmonics up to `highest` (cycles per sample).
    pub(crate) fn new(rate: f64, highest: f64) -> Self {
        let length = (WINDOW_S * rate) as usize;
        let size = length.next_power_of_two();
        let fft = FftPlanner::new().plan_fft_forward(size);
        let hann = |n: usize| (0.5 - 0.5 * (2.0 * PI * (n as f64 + 0.5) / length as f64).cos()) as f32;
        let window: Vec<f32> = (0..length).map(hann).collect();
        Self {
            energy: window.iter().map(|w| f64::from(*w).powi(2)).sum(),
            window,
            buffer: vec![Complex::default(); size],
            scratch: vec![Complex::default(); fft.get_inplace_scratch_len()],
            roots: vec![0.0; size / 2],
            highest,
            fft,
        }
    }

    /// Samples of history it looks at.
    pub(crate) fn span(&self) -> usize {
        self.window.len()
    }

    /// Takes the spectrum of the newest stretch.
    pub(crate) fn analyse(&mut self, history: &[f32]) {
        let newest = &history[history.len() - self.window.len()..];
        let (windowed, rest) = self.buffer.split_at_mut(newest.len());
        for (cell, (x, w)) in windowed.iter_mut().zip(newest.iter().zip(&self.window)) {
            *cell = Complex::from(x * w);
        }
        rest.fill(Complex::default());
        self.fft.process_with_scratch(&mut self.buffer, &mut self.scratch);
        for (root, bin) in self.roots.iter_mut().zip(&self.buffer) {
            *root = bin.norm_sqr().sqrt().sqrt();
        }
    }

    /// How well a fundamental (cycles per sample) explains the spectrum; to be compared within one frame.
    pub(crate) fn salience(&self, frequency: f64) -> f32 {
        let (mut sum, mut norm) = (0.0, 0.0);
        for number in NUMBERS.iter().take_while(|number| **number * frequency < self.highest) {
            let between = self.at((number - 0.5) * frequency) + self.at((number + 0.5) * frequency);
            sum += (self.at(number * frequency) - 0.5 * between) / number.sqrt() as f32;
            norm += 1.0 / number;
        }
        sum / (norm.max(1.0) as f32).sqrt()
    }

    /// The noise around each harmonic, taken half-way to its neighbours, where a Hann window shows nothing of them: the
    /// power of the white noise that would be as strong there.
    pub(crate) fn noise(&self, frequency: f64) -> [f64; HARMONICS] {
        let spacing = frequency * self.buffer.len() as f64;
        let between = |place: f64| {
            let middle = (place * spacing).round() as usize;
            let near = self.roots.get(middle.saturating_sub(1)..middle + 2).unwrap_or_default();
            near.iter().map(|root| f64::from(*root).powi(4)).sum::<f64>() / 3.0 / self.energy
        };
        std::array::from_fn(|index| {
            let number = (index + 1) as f64;
            f64::midpoint(between(number - 0.5), between(number + 0.5))
        })
    }

    /// The square root of the magnitude at a frequency, between bins by a straight line.
    fn at(&self, frequency: f64) -> f32 {
        let place = frequency * self.buffer.len() as f64;
        let bin = place as u32;
        let (first, part) = (bin as usize, (place - f64::from(bin)) as f32);
        match self.roots.get(first..first + 2) {
            Some(two) => two[0] + (two[1] - two[0]) * part,
            None => 0.0,
        }
    }
}
