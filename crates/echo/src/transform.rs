//! Spectra of real blocks: rustfft, with its work space.

use rustfft::num_complex::Complex;
use rustfft::{Fft, FftPlanner};
use std::fmt;
use std::sync::Arc;

/// Transforms blocks of `size` real samples to `size / 2 + 1` bins and back.
#[derive(Clone)]
pub(crate) struct Transform {
    forward: Arc<dyn Fft<f32>>,
    inverse: Arc<dyn Fft<f32>>,
    cells: Vec<Complex<f32>>,
    scratch: Vec<Complex<f32>>,
}

impl fmt::Debug for Transform {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Transform").field("size", &self.cells.len()).finish_non_exhaustive()
    }
}

impl Transform {
    pub(crate) fn new(size: usize) -> Self {
        let mut planner = FftPlanner::new();
        let (forward, inverse) = (planner.plan_fft_forward(size), planner.plan_fft_inverse(size));
        let scratch = forward.get_inplace_scratch_len().max(inverse.get_inplace_scratch_len());
        Self {
            forward,
            inverse,
            cells: vec![Complex::default(); size],
            scratch: vec![Complex::default(); scratch],
        }
    }

    /// The spectrum of `before` silent samples followed by `samples`, filled up with silence.
    pub(crate) fn spectrum(&mut self, before: usize, samples: &[f32], bins: &mut [Complex<f32>]) {
        self.cells.fill(Complex::default());
        for (cell, x) in self.cells[before..].iter_mut().zip(samples) {
            cell.re = *x;
        }
        self.forward.process_with_scratch(&mut self.cells, &mut self.scratch);
        bins.copy_from_slice(&self.cells[..bins.len()]);
    }

    /// The first samples of the signal that has this spectrum.
    pub(crate) fn samples(&mut self, bins: &[Complex<f32>], samples: &mut [f32]) {
        let size = self.cells.len();
        self.cells[..bins.len()].copy_from_slice(bins);
        for (cell, bin) in self.cells[size / 2 + 1..].iter_mut().rev().zip(&bins[1..]) {
            *cell = bin.conj();
        }
        self.inverse.process_with_scratch(&mut self.cells, &mut self.scratch);
        let scale = 1.0 / size as f32;
        for (sample, cell) in samples.iter_mut().zip(&self.cells) {
            *sample = cell.re * scale;
        }
    }
}
