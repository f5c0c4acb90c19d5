//! A magnitude spectrum that partials can be read from and taken out of.

use rustfft::num_complex::Complex;
use rustfft::{Fft, FftPlanner};
use std::f64::consts::PI;
use std::fmt;
use std::sync::Arc;

/// Length of the window, seconds.
const WINDOW_S: f64 = 0.050;
/// Half the width of a partial's lobe under a Hann window, in units of one over its length.
const LOBE: f64 = 2.0;

/// Magnitudes of the newest stretch, scaled so that a sine shows its amplitude; owns its work space.
#[derive(Clone)]
pub(crate) struct Magnitudes {
    fft: Arc<dyn Fft<f32>>,
    window: Vec<f32>,
    buffer: Vec<Complex<f32>>,
    scratch: Vec<Complex<f32>>,
    original: Vec<f32>,
    left: Vec<f32>,
}

impl fmt::Debug for Magnitudes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Magnitudes").field("bins", &self.left.len()).finish_non_exhaustive()
    }
}

impl Magnitudes {
    /// For a working rate, hertz.
    pub(crate) fn new(rate: f64) -> Self {
        let length = (WINDOW_S * rate) as usize;
        let size = 2 * length.next_power_of_two();
        let fft = FftPlanner::new().plan_fft_forward(size);
        let hann = |n: usize| 0.5 - 0.5 * (2.0 * PI * (n as f64 + 0.5) / length as f64).cos();
        let gain: f64 = (0..length).map(hann).sum::<f64>() / 2.0;
        Self {
            window: (0..length).map(|n| (hann(n) / gain) as f32).collect(),
            buffer: vec![Complex::default(); size],
            scratch: vec![Complex::default(); fft.get_inplace_scratch_len()],
            original: vec![0.0; size / 2],
            left: vec![0.0; size / 2],
            fft,
        }
    }

    /// Samples of history it looks at.
    pub(crate) fn span(&self) -> usize {
        self.window.len()
    }

    /// Takes the spectrum of the newest stretch.
    pub(crate) fn look(&mut self, history: &[f32]) {
        let newest = &history[history.len() - self.window.len()..];
        self.buffer.fill(Complex::default());
        for (cell, (x, w)) in self.buffer.iter_mut().zip(newest.iter().zip(&self.window)) {
            cell.re = x * w;
        }
        self.fft.process_with_scratch(&mut self.buffer, &mut self.scratch);
        for (magnitude, bin) in self.original.iter_mut().zip(&self.buffer) {
            *magnitude = bin.norm_sqr().sqrt();
        }
        self.left.copy_from_slice(&self.original);
    }

    /// The height of the highest peak within a ratio of a frequency (cycles per sample) in what is left; 0 if none.
    pub(crate) fn peak(&self, frequency: f64, off: f64) -> f32 {
        self.place(&self.left, frequency, off).map_or(0.0, |bin| self.left[bin])
    }

    /// The same in the whole spectrum.
    pub(crate) fn original(&self, frequency: f64, off: f64) -> f32 {
        self.place(&self.original, frequency, off).map_or(0.0, |bin| self.original[bin])
    }

    /// Takes a partial of an amplitude out of what is left, with its lobe.
    pub(crate) fn subtract(&mut self, frequency: f64, off: f64, amplitude: f32) {
        let Some(bin) = self.place(&self.left, frequency, off) else { return };
        let (shift, top) = self.top(bin);
        let height = top / self.left[bin] * amplitude;
        let bins_per_lobe = self.buffer.len() as f64 / self.window.len() as f64;
        let reach = (3.0 * LOBE * bins_per_lobe) as usize;
        for k in bin.saturating_sub(reach)..(bin + reach + 1).min(self.left.len()) {
            let distance = (k as f64 - bin as f64 - f64::from(shift)).abs() / bins_per_lobe;
            self.left[k] = (self.left[k] - height * lobe(distance)).max(0.0);
        }
    }

    /// Where exactly the highest peak within a ratio of a frequency lies in what is left, cycles per sample.
    pub(crate) fn whereabouts(&self, frequency: f64, off: f64) -> Option<f64> {
        let bin = self.place(&self.left, frequency, off)?;
        Some((bin as f64 + f64::from(self.top(bin).0)) / self.buffer.len() as f64)
    }

    /// Offset in bins and height of the parabola through a peak.
    fn top(&self, bin: usize) -> (f32, f32) {
        let (before, at, after) = (self.left[bin - 1], self.left[bin], self.left[bin + 1]);
        let curve = before - 2.0 * at + after;
        let shift = if curve < 0.0 { 0.5 * (before - after) / curve } else { 0.0 };
        (shift, at - 0.25 * (before - after) * shift)
    }

    fn place(&self, spectrum: &[f32], frequency: f64, off: f64) -> Option<usize> {
        let size = self.buffer.len() as f64;
        let low = ((frequency / off * size).floor() as usize).max(1);
        let high = ((frequency * off * size).ceil() as usize + 1).min(spectrum.len() - 1);
        let is_peak = |k: &usize| spectrum[*k] > spectrum[*k - 1] && spectrum[*k] >= spectrum[*k + 1];
        (low..high).filter(is_peak).max_by(|a, b| spectrum[*a].total_cmp(&spectrum[*b]))
    }
}

/// The transform of a Hann window at a distance in units of one over its length, 1 at the centre; beyond the main lobe
/// the envelope of the side lobes, so that no ripple is left standing.
fn lobe(distance: f64) -> f32 {
    let x = distance;
    let envelope = if x > LOBE { 0.04 * (LOBE / x).powi(3) } else { 0.0 };
    let pole = (1.0 - x * x).abs() < 1.0e-6;
    let exact = match (x < 1.0e-6, pole) {
        (true, _) => 1.0,
        (_, true) => 0.5,
        _ => (PI * x).sin() / (PI * x) / (1.0 - x * x),
    };
    exact.abs().max(envelope) as f32
}
