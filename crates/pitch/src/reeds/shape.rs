//! The line that one sinusoid makes in the windowed spectrum.

use rustfft::num_complex::Complex;
use std::f64::consts::PI;

/// Spectrum points to each side of a line's middle that are computed; beyond them it is 45 dB down.
const REACH: usize = 6;
/// Points of one line.
pub(super) const WIDTH: usize = 2 * REACH + 1;
/// Spectrum points per bin of the unpadded transform.
pub(super) const PADDING: usize = 2;
/// A line whose middle lies nearer to a point is moved by so much, points: at a point itself its formula is 0/0.
const BESIDE: f64 = 1.0e-4;

/// One line laid onto the points of the spectrum.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line {
    /// The first point it covers.
    pub(super) first: usize,
    /// Its height at each point.
    pub(super) height: [f64; WIDTH],
    /// By how much each height changes when the line moves up by one point.
    pub(super) slope: [f64; WIDTH],
}

impl Line {
    /// The line whose middle lies at `place`, in points. It is the transform of a Hann window, at x bins from its middle
    /// sinc(x) / (1 − x²) (Harris, Proc. IEEE 66 (1978), section V.C, for a window of many samples).
    pub(super) fn at(place: f64) -> Self {
        let first = (place.round() as usize).saturating_sub(REACH);
        let middle = place - first as f64;
        let middle = if (middle - middle.round()).abs() < BESIDE { middle + BESIDE } else { middle };
        let mut line = Self { first, height: [0.0; WIDTH], slope: [0.0; WIDTH] };
        let mut turn = Complex::cis(-PI * middle / PADDING as f64);
        for (i, (height, slope)) in line.height.iter_mut().zip(&mut line.slope).enumerate() {
            let x = (i as f64 - middle) / PADDING as f64;
            let below = x * (1.0 - x * x);
            *height = turn.im / (PI * below);
            *slope = (*height * (1.0 - 3.0 * x * x) - turn.re) / (below * PADDING as f64);
            turn *= Complex::cis(PI / PADDING as f64);
        }
        line
    }

    /// Adds it with an amplitude to the points of a spectrum.
    pub(super) fn add(&self, amplitude: Complex<f64>, points: &mut [Complex<f64>]) {
        for (point, height) in points[self.first..].iter_mut().zip(&self.height) {
            *point += amplitude * height;
        }
    }
}
