//! A second-order band-pass after the Audio EQ Cookbook (R. Bristow-Johnson; W3C Working Group Note,
//! 2021).

use std::f64::consts::TAU;

/// One filter section, transposed direct form II.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Biquad {
    b: [f64; 3],
    a: [f64; 2],
    z: [f64; 2],
}

impl Biquad {
    /// Band-pass at `hz` with a gain of 1 there.
    pub(crate) fn band_pass(sample_rate: f64, hz: f64, q: f64) -> Self {
        let (sin, cos) = (TAU * hz / sample_rate).sin_cos();
        // The cookbook's α.
        let alpha = sin / (2.0 * q);
        let a0 = 1.0 + alpha;
        let b = [alpha, 0.0, -alpha];
        Self { b: b.map(|b| b / a0), a: [-2.0 * cos / a0, (1.0 - alpha) / a0], z: [0.0; 2] }
    }

    /// One sample in, one out.
    pub(crate) fn next(&mut self, x: f64) -> f64 {
        let y = self.b[0] * x + self.z[0];
        self.z = [self.b[1] * x - self.a[0] * y + self.z[1], self.b[2] * x - self.a[1] * y];
        y
    }

    /// RMS of the output for white noise of RMS 1: the root of the energy of the impulse response.
    pub(crate) fn noise_gain(mut self) -> f64 {
        // 16384 samples are far beyond the decay of any section used here.
        let energy: f64 = (0..16_384).map(|n| self.next(if n == 0 { 1.0 } else { 0.0 }).powi(2)).sum();
        energy.sqrt()
    }
}
