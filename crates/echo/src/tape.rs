//! What was sounded, readable between its samples.

use pitch::History;
use std::f64::consts::PI;

/// Zero crossings of the sinc to either side, of the slower rate.
const CROSSINGS: f64 = 16.0;
/// Edge of what is kept, as a share of the slower rate: with the window's slope it is whole to 7 kHz at 16 kHz.
const EDGE: f64 = 0.47;
/// Shape of the Kaiser window: 60 dB of stop band.
const BETA: f64 = 5.7;
/// Places between two samples for which the taps are worked out; between them, they lie on a straight line.
const STEPS: usize = 256;

/// Keeps what was handed to a loudspeaker, at its rate, and gives it at any moment for a listener of another rate: by a
/// sinc under a Kaiser window (Oppenheim & Schafer, Discrete-Time Signal Processing, section 7.5), which also takes out
/// what the listener's rate cannot carry. Allocates nothing after `new`.
#[derive(Clone, Debug)]
pub struct Tape {
    kept: History,
    keep: u64,
    end: u64,
    /// Taps of one place.
    width: usize,
    /// A row of taps for each step from one sample to the next.
    table: Vec<f32>,
}

impl Tape {
    /// A tape at `rate` for a listener at `working_rate`, hertz, that keeps so many samples.
    pub fn new(rate: f64, working_rate: f64, keep: usize) -> Self {
        let slower = working_rate.min(rate);
        let half = (CROSSINGS * rate / slower).ceil();
        let width = 2 * half as usize;
        let cut = EDGE * slower / rate;
        let tap = |step: usize, i: usize| {
            let t = i as f64 - (half - 1.0) - step as f64 / STEPS as f64;
            let sinc = if t == 0.0 { 2.0 * cut } else { (2.0 * PI * cut * t).sin() / (PI * t) };
            sinc * bessel_i0(BETA * (1.0 - (t / half).powi(2)).max(0.0).sqrt()) / bessel_i0(BETA)
        };
        let table = (0..=STEPS).flat_map(|step| (0..width).map(move |i| tap(step, i) as f32)).collect();
        let keep = keep.max(width);
        Self { kept: History::new(keep), keep: keep as u64, end: 0, width, table }
    }

    /// Adds the next sample.
    pub fn push(&mut self, sample: f32) {
        self.kept.push(if sample.is_finite() { sample } else { 0.0 });
        self.end += 1;
    }

    /// Leaves out so many samples, as silence.
    pub fn skip(&mut self, samples: u64) {
        for _ in 0..samples.min(self.keep) {
            self.kept.push(0.0);
        }
        self.end += samples;
    }

    /// Samples so far.
    pub fn end(&self) -> u64 {
        self.end
    }

    /// How many samples beyond a place have to be known before it can be read.
    pub fn ahead(&self) -> f64 {
        self.width as f64 / 2.0
    }

    /// The sound at a sample with its fraction; silence where it is not, or no longer, known.
    pub fn at(&self, place: f64) -> f32 {
        let whole = place.floor();
        let first = whole + 1.0 - self.width as f64 / 2.0;
        if first < 0.0 {
            return 0.0;
        }
        let back = self.end.saturating_sub(first as u64);
        if back > self.keep || back < self.width as u64 {
            return 0.0;
        }
        let samples = &self.kept.last(back as usize)[..self.width];
        let fine = (place - whole) * STEPS as f64;
        let step = (fine as usize).min(STEPS - 1);
        let part = (fine - step as f64) as f32;
        let rows = &self.table[step * self.width..(step + 2) * self.width];
        let (low, high) = rows.split_at(self.width);
        let taps = low.iter().zip(high).map(|(low, high)| low + part * (high - low));
        taps.zip(samples).map(|(tap, x)| tap * x).sum()
    }
}

/// Modified Bessel function of order zero by its power series (Abramowitz & Stegun 9.6.12).
fn bessel_i0(x: f64) -> f64 {
    let terms = (1..40).scan(1.0, |term, k| {
        *term *= (x / (2.0 * f64::from(k))).powi(2);
        Some(*term)
    });
    1.0 + terms.sum::<f64>()
}
