//! The low pass before a decimation: designed with linear phase, then given the least delay its magnitude allows.

use rustfft::FftPlanner;
use rustfft::num_complex::Complex;
use std::f64::consts::PI;

/// Attenuation in the stop band that the window is designed for, decibels; with a whole number of taps it gives 68 to 74.
const STOP_DB: f64 = 72.0;
/// Edge of the pass band, share of the output rate: harmonics are used up to here, cycles per sample.
pub(crate) const PASS: f64 = 0.40;
/// Edge of the stop band: the folding edge. A harmonic that folded, even to where no harmonic is used, would be heard by
/// the correlation as something that does not repeat: where the third of a high note is its strongest, that hides it.
const STOP: f64 = 0.50;
/// Points of the transform per tap, so that the cepstrum does not fold back onto itself.
const DENSITY: usize = 128;
/// Magnitudes below this are taken for it: the logarithm of a zero on the unit circle has no value.
const LEAST: f64 = 1.0e-5;

/// Linear-phase taps for a decimation by `factor`, by a Kaiser window (Oppenheim & Schafer, Discrete-Time Signal
/// Processing, section 7.5): flat to 0.4 of the output rate, 6 dB down at 0.45, and at least 67 dB down from the folding
/// edge, 0.5, on. Their sum is 1.
pub(crate) fn linear_phase(factor: usize) -> Vec<f64> {
    if factor == 1 {
        return vec![1.0];
    }
    let beta = 0.1102 * (STOP_DB - 8.7);
    let half = ((STOP_DB - 8.0) / (2.285 * 2.0 * PI * (STOP - PASS)) / 2.0 * factor as f64).round();
    let cut = f64::midpoint(PASS, STOP) / factor as f64;
    let count = 2 * half as usize + 1;
    let raw = |i: usize| {
        let t = i as f64 - half;
        let sinc = if t == 0.0 { 2.0 * cut } else { (2.0 * PI * cut * t).sin() / (PI * t) };
        sinc * bessel_i0(beta * (1.0 - (t / half).powi(2)).max(0.0).sqrt()) / bessel_i0(beta)
    };
    let sum: f64 = (0..count).map(raw).sum();
    (0..count).map(|i| raw(i) / sum).collect()
}

/// As many taps with the same magnitude at every frequency and the least delay: the cepstrum of the logarithm of the
/// magnitude is folded onto positive times (Oppenheim & Schafer, sections 12.1 and 13.5). Periods are left as they
/// are; the taps that follow are too small to matter (below the stop band).
pub(crate) fn minimum_phase(linear: &[f64]) -> Vec<f64> {
    let size = (DENSITY * linear.len()).next_power_of_two();
    let mut planner = FftPlanner::new();
    let (forward, inverse) = (planner.plan_fft_forward(size), planner.plan_fft_inverse(size));
    let mut cells = vec![Complex::default(); size];
    for (cell, tap) in cells.iter_mut().zip(linear) {
        cell.re = *tap;
    }
    forward.process(&mut cells);
    for cell in &mut cells {
        *cell = Complex::from(cell.norm().max(LEAST).ln() / size as f64);
    }
    inverse.process(&mut cells);
    for (n, cell) in cells.iter_mut().enumerate() {
        let fold = if n == 0 || n == size / 2 { 1.0 } else { 2.0 };
        *cell = Complex::from(if n <= size / 2 { fold * cell.re } else { 0.0 });
    }
    forward.process(&mut cells);
    for cell in &mut cells {
        *cell = cell.exp() / size as f64;
    }
    inverse.process(&mut cells);
    let sum: f64 = cells[..linear.len()].iter().map(|cell| cell.re).sum();
    cells[..linear.len()].iter().map(|cell| cell.re / sum).collect()
}

/// Modified Bessel function of order zero by its power series (Abramowitz & Stegun 9.6.12).
fn bessel_i0(x: f64) -> f64 {
    let mut term = 1.0;
    let mut sum = 1.0;
    for k in 1..40 {
        term *= (x / (2.0 * f64::from(k))).powi(2);
        sum += term;
    }
    sum
}
