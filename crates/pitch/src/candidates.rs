//! Where the fundamental could be: peaks of the normalised cross-correlation, each lag on its own short window.
//!
//! For a lag of T samples the newest T samples (at least 2 ms; up to seven samples more, because eight lags share a
//! window) are compared with those T earlier, so a low note is given two periods and a high note a few milliseconds,
//! and neither waits for the other. The correlation is normalised by the root of both energies (Talkin, "A robust
//! algorithm for pitch tracking", 1995), so that a level which rises exponentially costs it nothing. The NSDF of
//! `McLeod` & Wyvill (2005) divides by the mean of the two, and the difference function of de Cheveigné & Kawahara,
//! JASA 111 (2002), does not allow for the level at all: both mark a rising attack down although it is periodic.

use crate::front::{LANES, dot};
use crate::note::SAME;
use rustfft::num_complex::Complex;
use std::f64::consts::PI;

/// The shortest stretch that tells anything, seconds: samples are compared over it, levels measured, and a sound that
/// repeats over it can be believed in one frame; of a short period so many multiples are looked at.
pub(crate) const LASTING_S: f64 = 0.002;
/// Peaks below this are not worth a frame.
const FAINT: f32 = 0.3;
/// A lag of fewer samples is too coarse for a parabola: about such a peak the correlation is interpolated first.
const COARSE: usize = 44;
/// Distance from a peak at which the correlation is interpolated, samples.
const BESIDE: f64 = 0.25;
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
    /// No period is shorter, samples: that of the highest note, a little sharp.
    shortest: f64,
    shortest_window: usize,
    /// By lag from `-REACH` on, where it is mirrored.
    correlation: Vec<f32>,
    /// Energy of the newest samples, by their number.
    energy: Vec<f64>,
    /// Room for every peak, of which there is never more than one in two lags; and how many were found.
    found: Vec<Candidate>,
    count: usize,
}

impl Candidates {
    /// For a working rate and a range of fundamentals, hertz.
    pub(crate) fn new(rate: f64, low_hz: f64, high_hz: f64) -> Self {
        let longest = (rate / low_hz).ceil() as usize + 2;
        let shortest_window = (LASTING_S * rate).ceil() as usize;
        let lags = (longest + REACH + 1).next_multiple_of(LANES);
        Self {
            longest,
            shortest: rate / high_hz / SAME,
            shortest_window,
            correlation: vec![0.0; REACH + lags],
            energy: vec![0.0; lags + lags.max(shortest_window) + 1],
            found: vec![Candidate::default(); longest],
            count: 0,
        }
    }

    /// How many samples of history it looks at.
    pub(crate) fn span(&self) -> usize {
        self.energy.len() - 1
    }

    /// Energy of the newest `stretch` samples of the last frame, and of as many before them.
    pub(crate) fn energies(&self, stretch: usize) -> (f64, f64) {
        let stretch = stretch.min(self.span() / 2);
        (self.energy[stretch], self.energy[2 * stretch] - self.energy[stretch])
    }

    /// The correlation at any lag in samples, whole or not, as of the last frame.
    pub(crate) fn at(&self, lag: f64) -> f32 {
        let whole = lag.floor();
        let first = whole as usize + 1;
        let around = self.correlation.get(first..first + 2 * REACH);
        around.map_or(0.0, |around| dot(&taps(lag - whole), around))
    }

    /// The candidates of the last frame.
    pub(crate) fn found(&self) -> &[Candidate] {
        &self.found[..self.count]
    }

    /// The longest lag that a frame covers, samples.
    pub(crate) fn longest(&self) -> f64 {
        self.longest as f64
    }

    /// The candidates at the end of the history, from the shortest period to the longest.
    pub(crate) fn find(&mut self, history: &[f32]) -> &[Candidate] {
        let x = &history[history.len() - self.span()..];
        let mut sum = 0.0;
        for (energy, sample) in self.energy[1..].iter_mut().zip(x.iter().rev()) {
            sum += f64::from(*sample).powi(2);
            *energy = sum;
        }
        for lag in (0..self.correlation.len() - REACH).step_by(LANES) {
            self.correlate(x, lag);
        }
        for lag in 1..=REACH {
            self.correlation[REACH - lag] = self.correlation[REACH + lag];
        }
        self.count = 0;
        for lag in (self.shortest as usize).max(2)..self.longest {
            if let Some(peak) =
                self.peak(lag).filter(|peak| peak.period >= self.shortest && peak.strength >= FAINT)
            {
                self.found[self.count] = peak;
                self.count += 1;
            }
        }
        self.found()
    }

    /// Correlates at the few lags from `first` on, side by side in vector registers, over the window of the longest.
    fn correlate(&mut self, x: &[f32], first: usize) {
        let last = first + LANES - 1;
        let window = last.max(self.shortest_window);
        let start = x.len() - window;
        // The longest lag comes first, as its samples do.
        let mut sums = [0.0; LANES];
        for (x, earlier) in x[start..].iter().zip(x[start - last..].windows(LANES)) {
            for (sum, earlier) in sums.iter_mut().zip(earlier) {
                *sum += x * earlier;
            }
        }
        for (lag, sum) in (first..).zip(sums.iter().rev()) {
            let there = self.energy[window + lag] - self.energy[lag];
            let norm = self.energy[window] as f32 * there as f32;
            self.correlation[REACH + lag] = if norm > 0.0 { sum / norm.sqrt() } else { 0.0 };
        }
    }

    /// The peak about a lag, if the correlation is higher there than beside it.
    fn peak(&self, lag: usize) -> Option<Candidate> {
        let [a, b, c] = [0, 1, 2].map(|i| self.correlation[REACH + lag - 1 + i]);
        if !(b > a && b >= c) {
            return None;
        }
        let (shift, height) = parabola([a, b, c]);
        let period = lag as f64 + shift;
        if lag >= COARSE {
            return Some(Candidate { period, strength: height.min(1.0) });
        }
        let (shift, height) = parabola([-BESIDE, 0.0, BESIDE].map(|off| self.at(period + off)));
        Some(Candidate { period: period + BESIDE * shift, strength: height.min(1.0) })
    }
}

/// The place of the peak through three points, in steps from the middle one, and its height.
fn parabola([a, b, c]: [f32; 3]) -> (f64, f32) {
    let curve = a - 2.0 * b + c;
    let shift = if curve < 0.0 { (0.5 * (a - c) / curve).clamp(-1.0, 1.0) } else { 0.0 };
    (f64::from(shift), b - 0.25 * (a - c) * shift)
}

/// Hann-windowed sinc taps for a fraction of a sample.
fn taps(part: f64) -> [f32; 2 * REACH] {
    let reach = REACH as f64;
    let wave = (PI * part).sin() / PI;
    let (mut turn, step) = (Complex::cis(PI * (1.0 - part) / reach - PI), Complex::cis(PI / reach));
    std::array::from_fn(|i| {
        let place = i as f64 + 1.0 - reach - part;
        let window = 0.5 + 0.5 * turn.re;
        turn *= step;
        // The sines of the sinc differ from tap to tap by their sign only.
        let sign = if i % 2 == REACH % 2 { wave } else { -wave };
        let sinc = if place == 0.0 { 1.0 } else { sign / place };
        (window * sinc) as f32
    })
}
