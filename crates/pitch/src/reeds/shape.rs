//! The line that one sinusoid makes in the windowed spectrum.

use rustfft::num_complex::Complex;
use std::f64::consts::PI;

/// Spectrum points to each side of a line's middle that are computed; beyond them it is 45 dB down.
const REACH: usize = 6;
/// Points of one line.
pub(super) const WIDTH: usize = 2 * REACH + 1;
/// Spectrum points per bin of the unpadded transform.
pub(super) const PADDING: usize = 2;
/// Steps per spectrum point in the table.
const STEPS: usize = 64;

/// The transform of a Hann window at `x` bins from its middle, 1 at the middle: sinc(x) / (1 − x²) (Harris, Proc.
/// IEEE 66 (1978), section V.C, for a window of many samples).
pub(super) fn hann_line(x: f64) -> f64 {
    let x = x.abs();
    if x < 1.0e-6 {
        return 1.0;
    }
    if (x - 1.0).abs() < 1.0e-6 {
        return 0.5;
    }
    (PI * x).sin() / (PI * x) / (1.0 - x * x)
}

/// Heights and slopes of the line, tabulated.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    table: Vec<[f64; 2]>,
}

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
    /// Adds it with an amplitude to the points of a spectrum.
    pub(super) fn add(&self, amplitude: Complex<f64>, points: &mut [Complex<f64>]) {
        for (point, height) in points[self.first..].iter_mut().zip(&self.height) {
            *point += amplitude * height;
        }
    }
}

impl Shape {
    pub(super) fn new() -> Self {
        let height = |step: f64| hann_line((step / STEPS as f64 - (REACH + 1) as f64) / PADDING as f64);
        let slope = |step: f64| (height(step - 1.0) - height(step + 1.0)) * 0.5 * STEPS as f64;
        let steps = (0..=2 * (REACH + 1) * STEPS + 1).map(|i| i as f64);
        Self { table: steps.map(|step| [height(step), slope(step)]).collect() }
    }

    /// A line whose middle lies at `place`, in points.
    pub(super) fn line(&self, place: f64) -> Line {
        let first = (place.round() as usize).saturating_sub(REACH);
        let mut line = Line { first, height: [0.0; WIDTH], slope: [0.0; WIDTH] };
        let start = ((first + REACH + 1) as f64 - place).max(0.0) * STEPS as f64;
        let (index, part) = (start as usize, start.fract());
        for (i, (height, slope)) in line.height.iter_mut().zip(&mut line.slope).enumerate() {
            let Some([a, b]) = self.table.get(index + i * STEPS..).and_then(|rest| rest.first_chunk()) else {
                break;
            };
            (*height, *slope) = (a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part);
        }
        line
    }
}
