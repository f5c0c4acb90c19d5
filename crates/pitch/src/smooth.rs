//! The held note: many short windows joined into one long one, harmonic by harmonic.
//!
//! A frequency is the slope of a phase, so the mean of the frequencies of overlapping windows is the slope over
//! their whole span, and a Hann-shaped mean of them has nearly the variance of one long window at no cost (Kay, "A
//! fast and accurate single frequency estimator", IEEE Trans. ASSP 37 (1989)). A second sound near a harmonic makes
//! its frequency swing about the true one at their difference, with a mean of zero as long as it is the weaker, so
//! the mean removes it too. Each harmonic is trusted by how little its own two halves disagree beyond what all
//! harmonics do together: a swing is its own, a bend or vibrato is common. A note that moves is not joined at all.

use crate::consensus::{Estimate, LEVERAGE_CEILING, PerHarmonic};
use crate::refine::{Fit, HARMONICS};
use std::f64::consts::PI;

/// The most windows that are joined.
pub(crate) const MOST: usize = 96;
/// Share of a new frame in the running average of the squared difference of a harmonic's halves: 31 ms.
const NEWS: f64 = 0.08;
/// Variance of the joint mean of two halves over the squared difference of the halves (measured).
const HALVES: f64 = 0.06;
/// The note moves if the step common to all harmonics, from half to half, exceeds so many standard deviations and this
/// ratio (0.1 cents).
const SURE: f64 = 4.0;
const STILL: f64 = 6.0e-5;
/// Ratio by which the squared residuals of the step may exceed the variances of the windows.
const MISTRUST: f64 = 16.0;

#[derive(Clone, Copy, Debug, Default)]
struct Windowed {
    fundamentals: [f64; HARMONICS],
    variances: [f64; HARMONICS],
    length: f64,
    weight: f64,
}

/// The last windows of one note.
#[derive(Clone, Debug)]
pub(crate) struct Smoother {
    frames: Vec<Windowed>,
    newest: usize,
    count: usize,
    harmonics: usize,
    residual_variance: [f64; HARMONICS],
    hop: f64,
}

impl Smoother {
    /// For windows that come every `hop` samples.
    pub(crate) fn new(hop: f64) -> Self {
        Self {
            frames: vec![Windowed::default(); MOST],
            newest: 0,
            count: 0,
            harmonics: 0,
            residual_variance: [0.0; HARMONICS],
            hop,
        }
    }

    /// Forgets the note.
    pub(crate) fn clear(&mut self) {
        self.count = 0;
        self.residual_variance = [0.0; HARMONICS];
    }

    /// How many windows it holds.
    pub(crate) fn count(&self) -> usize {
        self.count
    }

    /// Adds the newest window, with a weight of 0 to 1.
    pub(crate) fn push(&mut self, fit: &Fit, weight: f64) {
        self.newest = (self.newest + 1) % MOST;
        self.count = (self.count + 1).min(MOST);
        self.harmonics = if self.count == 1 { fit.harmonics } else { self.harmonics.min(fit.harmonics) };
        let mut frame = Windowed { weight, length: fit.length, ..Windowed::default() };
        for (index, harmonic) in fit.harmonics().iter().enumerate() {
            frame.fundamentals[index] = harmonic.fundamental;
            frame.variances[index] = harmonic.variance;
        }
        self.frames[self.newest] = frame;
    }

    /// The pitch over the newest `count` windows.
    pub(crate) fn estimate(&mut self, count: usize) -> Option<Estimate> {
        if count < 2 || count > self.count || self.harmonics == 0 {
            return None;
        }
        let whole = self.mean(0, count)?;
        let early = self.mean(count / 2, count - count / 2)?;
        let late = self.mean(0, count / 2)?;
        let span = self.frames[self.newest].length;
        // The variance of a slope falls with the cube of the span.
        let gain_of = |joined: f64| (span / (span + joined)).powi(3);
        let gain = gain_of(0.6 * count as f64 * self.hop);
        let (common, doubt) = self.common_step(&whole, &early, &late, gain_of(0.3 * count as f64 * self.hop));
        // A note that moves is not read over a window that would tell it late.
        if common.abs() > SURE * doubt + STILL * whole.fundamentals[0] {
            return None;
        }
        let late_by = 0.5 * (count - 1) as f64 * self.hop;
        let fundamentals = whole.fundamentals;
        let mut said = PerHarmonic { fundamentals, harmonics: self.harmonics, ..PerHarmonic::default() };
        let (mut sum, mut weights, mut spread) = (0.0, 0.0, 0.0);
        for h in 0..self.harmonics {
            let step = late.fundamentals[h] - early.fundamentals[h] - common;
            self.residual_variance[h] += (step * step - self.residual_variance[h]) * NEWS;
            let variance = whole.variances[h] * gain + HALVES * self.residual_variance[h].max(step * step);
            said.variances[h] = variance;
            sum += whole.fundamentals[h] / variance;
            weights += 1.0 / variance;
        }
        let frequency = sum / weights;
        for h in 0..self.harmonics {
            let variance = whole.variances[h] * gain + HALVES * self.residual_variance[h];
            spread += (whole.fundamentals[h] - frequency).powi(2) / variance;
        }
        let discord = (spread / self.harmonics as f64).max(1.0);
        // Only a note that stays is read over a long window, so what it says holds for the newest frame as well.
        let lag = 0.5 * span;
        let sigma = (discord / weights).sqrt();
        Some(Estimate { frequency, sigma, lag, late: late_by, said, uncertainty: sigma })
    }

    /// How much all harmonics moved together from the early half to the late one, and the deviation of that; the halves
    /// are exacter than their windows by `gain`, a ratio of variances.
    fn common_step(&self, whole: &Windowed, early: &Windowed, late: &Windowed, gain: f64) -> (f64, f64) {
        let step = |h: usize| late.fundamentals[h] - early.fundamentals[h];
        let weight = |h: usize| 1.0 / (whole.variances[h] + self.residual_variance[h]);
        let (mut sum, mut weights) = (0.0, 0.0);
        for h in 0..self.harmonics {
            sum += weight(h) * step(h);
            weights += weight(h);
        }
        let common = sum / weights;
        let mut variance = 0.0;
        for h in 0..self.harmonics {
            let share = weight(h) / weights;
            // A harmonic draws the common step towards itself by its share; undo that.
            let residuals = self.residual_variance[h].max((step(h) - common).powi(2))
                / (LEVERAGE_CEILING - share).powi(2);
            variance += share.powi(2) * residuals.min(MISTRUST * 2.0 * gain * whole.variances[h]);
        }
        (common, variance.sqrt())
    }

    /// Hann-weighted means over `count` windows, `skip` back from the newest.
    fn mean(&self, skip: usize, count: usize) -> Option<Windowed> {
        let mut mean = Windowed::default();
        // A cosine that turns on by multiplication, for the Hann window.
        let step = 2.0 * PI / count as f64;
        let ((mut sin, mut cos), (turn_sin, turn_cos)) = ((0.5 * step).sin_cos(), step.sin_cos());
        for i in 0..count {
            let frame = &self.frames[(self.newest + MOST - skip - i) % MOST];
            let weight = frame.weight * (0.5 - 0.5 * cos);
            (sin, cos) = (sin * turn_cos + cos * turn_sin, cos * turn_cos - sin * turn_sin);
            for h in 0..self.harmonics {
                mean.fundamentals[h] += weight * frame.fundamentals[h];
                mean.variances[h] += weight * frame.variances[h];
            }
            mean.weight += weight;
        }
        let usable = mean.weight > 0.2 * count as f64 * 0.5;
        for h in 0..self.harmonics {
            mean.fundamentals[h] /= mean.weight;
            mean.variances[h] /= mean.weight;
        }
        usable.then_some(mean)
    }
}

/// The longest window that does not contradict a shorter one: the intersection of confidence intervals (Goldenshluger
/// & Nemirovski, Math. Methods Stat. 6 (1997); Katkovnik, IEEE Trans. Signal Processing 47 (1999)). A note that moves
/// is read over a short window and a note that stays over a long one, without a threshold in cents; and no longer
/// than it takes to be exact `enough` (ratio of the deviation to the frequency).
///
/// Gives the estimate and how many of those there are agreed; the first one must be there. No more of them are asked
/// for than are needed.
pub(crate) fn longest_that_agrees(
    shortest_first: impl Iterator<Item = Option<Estimate>>,
    width: f64,
    enough: f64,
) -> (Estimate, usize) {
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let (mut best, mut agreed) = (Estimate::default(), 0);
    for estimate in shortest_first.flatten() {
        let reach = width * estimate.sigma;
        low = low.max(estimate.frequency - reach);
        high = high.min(estimate.frequency + reach);
        if low > high {
            break;
        }
        (best, agreed) = (estimate, agreed + 1);
        if best.sigma < enough * best.frequency {
            break;
        }
    }
    (best, agreed)
}
