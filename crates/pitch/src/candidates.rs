//! Where the fundamental could be: peaks of the normalised cross-correlation, each lag on its own short window.
//!
//! For a lag of T samples the newest T samples (at least 2 ms) are compared with those T earlier, so a low note
//! is given two periods and a high note a few milliseconds, and neither waits for the other. The correlation is
//! normalised by both energies (Talkin, "A robust algorithm for pitch tracking", 1995; the difference function of
//! de Cheveigné & Kawahara, JASA 111 (2002), and the NSDF of `McLeod` & Wyvill (2005) divide by their mean instead,
//! which marks a rising attack down although it is periodic).

use crate::front::dot;
use std::f64::consts::PI;

/// How many candidates one look gives at most: every multiple of the shortest period has its peak.
const MOST: usize = 64;
/// The shortest stretch that is compared, seconds.
const SHORTEST_S: f64 = 0.0022;
/// Peaks below this are not worth a look.
const FAINT: f32 = 0.3;
/// Below this many samples a lag is too coarse for a parabola, so the correlation is interpolated first.
const COARSE: usize = 44;
/// Interpolated points per sample.
const FINE: usize = 4;
/// Half the number of taps of the interpolator.
const REACH: usize = 8;

/// A lag at which the sound repeats.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Candidate {
    /// The lag, samples.
    pub(crate) period: f64,
    /// Normalised cross-correlation there, at most 1.
    pub(crate) strength: f32,
}

/// Finds candidates; owns its work space.
#[derive(Clone, Debug)]
pub(crate) struct Candidates {
    longest: usize,
    least: usize,
    shortest_window: usize,
    correlation: Vec<f32>,
    fine: Vec<f32>,
    energy: Vec<f64>,
    kernel: [[f32; 2 * REACH]; FINE],
    found: [Candidate; MOST],
}

impl Candidates {
    /// For a working rate and a range of fundamentals, hertz.
    pub(crate) fn new(rate: f64, low_hz: f64, high_hz: f64) -> Self {
        let longest = (rate / low_hz).ceil() as usize + 2;
        let shortest_window = (SHORTEST_S * rate).ceil() as usize;
        Self {
            longest,
            least: ((rate / high_hz).floor() as usize).max(2),
            shortest_window,
            correlation: vec![0.0; longest + REACH + 1],
            fine: vec![0.0; COARSE * FINE + 1],
            energy: vec![0.0; 2 * (longest + REACH).max(shortest_window) + 3],
            kernel: interpolator(),
            found: [Candidate::default(); MOST],
        }
    }

    /// How many samples of history it looks at.
    pub(crate) fn span(&self) -> usize {
        self.energy.len()
    }

    /// Energy of the newest `stretch` samples of the last look, and of as many before them.
    pub(crate) fn energies(&self, stretch: usize) -> (f64, f64) {
        let stretch = stretch.min((self.energy.len() - 1) / 2);
        (self.energy[stretch], self.energy[2 * stretch] - self.energy[stretch])
    }

    /// The correlation at any lag in samples, whole or not, as of the last look.
    pub(crate) fn at(&self, lag: f64) -> f32 {
        let whole = lag.floor();
        let taps = taps(lag - whole);
        let first = whole as usize + 1;
        if first + REACH > self.correlation.len() {
            return 0.0;
        }
        (0..2 * REACH).map(|i| taps[i] * self.correlation[(first + i).abs_diff(REACH)]).sum()
    }

    /// The longest lag that the last look covered, samples.
    pub(crate) fn longest(&self) -> f64 {
        self.longest as f64
    }

    /// The candidates at the end of the history, from the shortest period to the longest.
    pub(crate) fn look(&mut self, history: &[f32]) -> &[Candidate] {
        let x = &history[history.len() - self.span()..];
        self.sum_energy(x);
        for lag in 0..self.correlation.len() {
            self.correlation[lag] = self.correlate(x, lag);
        }
        let count = self.pick();
        &self.found[..count]
    }

    /// Energy of the newest `n` samples, for every `n`.
    fn sum_energy(&mut self, x: &[f32]) {
        self.energy[0] = 0.0;
        let newest_first = x.iter().rev();
        for (n, sample) in newest_first.enumerate().take(self.energy.len() - 1) {
            self.energy[n + 1] = self.energy[n] + f64::from(*sample).powi(2);
        }
    }

    fn correlate(&self, x: &[f32], lag: usize) -> f32 {
        let window = lag.max(self.shortest_window);
        let end = x.len();
        let product = dot(&x[end - window..], &x[end - window - lag..end - lag]);
        let here = self.energy[window];
        let there = self.energy[window + lag] - self.energy[lag];
        let norm = (here * there).sqrt();
        if norm > 1.0e-12 { (f64::from(product) / norm) as f32 } else { 0.0 }
    }

    /// Peaks of the correlation, by parabolas; on a finer grid where a lag is only a few samples.
    fn pick(&mut self) -> usize {
        let mut count = 0;
        let fine_end = COARSE.min(self.longest);
        for step in self.least * FINE - 1..=fine_end * FINE {
            self.fine[step] = self.between(step);
        }
        for step in self.least * FINE..fine_end * FINE {
            if let Some(peak) = peak([self.fine[step - 1], self.fine[step], self.fine[step + 1]]) {
                count = self.keep(count, (step as f64 + peak.0) / FINE as f64, peak.1);
            }
        }
        for lag in fine_end..self.longest {
            let three = [self.correlation[lag - 1], self.correlation[lag], self.correlation[lag + 1]];
            if let Some(peak) = peak(three) {
                count = self.keep(count, lag as f64 + peak.0, peak.1);
            }
        }
        count
    }

    /// The correlation between whole lags, by a short windowed sinc.
    fn between(&self, step: usize) -> f32 {
        let (lag, part) = (step / FINE, step % FINE);
        if part == 0 {
            return self.correlation[lag];
        }
        let taps = &self.kernel[part];
        (0..2 * REACH).map(|i| taps[i] * self.correlation[(lag + i + 1).abs_diff(REACH)]).sum()
    }

    /// Adds a candidate, if it is strong enough and there is room.
    fn keep(&mut self, count: usize, period: f64, strength: f32) -> usize {
        if strength < FAINT || count == MOST {
            return count;
        }
        self.found[count] = Candidate { period, strength: strength.min(1.0) };
        count + 1
    }
}

/// The offset and height of a peak through three neighbouring points, if the middle one is the highest.
fn peak([a, b, c]: [f32; 3]) -> Option<(f64, f32)> {
    if !(b > a && b >= c) {
        return None;
    }
    let curve = a - 2.0 * b + c;
    let shift = if curve < 0.0 { 0.5 * (a - c) / curve } else { 0.0 };
    Some((f64::from(shift), b - 0.25 * (a - c) * shift))
}

/// Taps of the interpolator for each step between two samples.
fn interpolator() -> [[f32; 2 * REACH]; FINE] {
    std::array::from_fn(|part| taps(part as f64 / FINE as f64))
}

/// Hann-windowed sinc taps for a fraction of a sample.
fn taps(part: f64) -> [f32; 2 * REACH] {
    std::array::from_fn(|i| {
        let pt = PI * (i as f64 + 1.0 - REACH as f64 - part);
        let sinc = if pt == 0.0 { 1.0 } else { pt.sin() / pt };
        (sinc * 0.5 * (1.0 + (pt / REACH as f64).cos())) as f32
    })
}
