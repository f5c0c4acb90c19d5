//! The weighted mean of the fundamentals that the harmonics of one window give.
//!
//! What disturbs a note is hardly ever white noise: a second reed, a voice or the hum of the mains lies near some of the
//! harmonics. So the variance of each harmonic is the one under white noise plus a running average of its squared residual
//! about the mean (iteratively reweighted least squares: Holland & Welsch, Commun. Stat. A6 (1977)). A bend or a vibrato
//! moves all harmonics alike, leaves no residual and takes no weight from a harmonic.

use crate::refine::{Fit, HARMONICS};

/// Share of a new window in the running average of the squared residual of a harmonic: a time constant of 25 ms.
const NEWS: f64 = 0.1;
/// The squared residual of harmonic k is divided by `(ceiling - w)`, w being its share of the total weight (the diagonal
/// of the hat matrix), because a harmonic draws the mean towards itself. A little above 1, so that one harmonic with all
/// the weight does not divide by zero.
pub(crate) const LEVERAGE_CEILING: f64 = 1.02;
/// A window whose mean squared residual, in units of the variances, is larger than this gets less weight among its like.
const ODD: f64 = 4.0;

/// Error, as a ratio to the frequency, of a window whose length is rounded to whole samples: `GRAIN / length³`. Measured:
/// 0.12 cents at 54 samples, 0.016 at 102, 0.007 at 145.
const GRAIN: f64 = 11.0;

/// Each harmonic's own estimate of the fundamental, cycles per sample.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct PerHarmonic {
    pub(crate) fundamentals: [f64; HARMONICS],
    /// The variance that each was taken to have: the inverse of its weight.
    pub(crate) variances: [f64; HARMONICS],
    pub(crate) harmonics: usize,
}

impl PerHarmonic {
    /// The weight of each harmonic, 1 in all.
    pub(crate) fn weights(&self) -> [f64; HARMONICS] {
        let mut weights = [0.0; HARMONICS];
        for (weight, variance) in weights.iter_mut().zip(&self.variances[..self.harmonics]) {
            *weight = variance.recip();
        }
        let sum: f64 = weights.iter().sum();
        weights.map(|weight| weight / sum)
    }
}

/// An estimate of the pitch, cycles per sample.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Estimate {
    pub(crate) frequency: f64,
    /// The standard deviation by which windows are selected, cycles per sample.
    pub(crate) sigma: f64,
    /// How long ago the moment lies for which the estimate is told, samples.
    pub(crate) lag: f64,
    /// How much further back the centre of the window lies, samples.
    pub(crate) late: f64,
    /// What the harmonics gave.
    pub(crate) said: PerHarmonic,
    /// The standard deviation that the user is told, cycles per sample.
    pub(crate) uncertainty: f64,
}

/// The harmonics of one note over windows of one kind.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Consensus {
    residual_variance: [f64; HARMONICS],
    windows: f64,
}

impl Consensus {
    /// Takes one more window into account; tells what it says and how far it is to be trusted among its like, 0 to
    /// 1.
    pub(crate) fn estimate(&mut self, fit: &Fit) -> (Estimate, f64) {
        let variance = |this: &Self, h: usize| fit.each[h].variance + this.residual_variance[h];
        let (mut sum, mut weights) = (0.0, 0.0);
        for (h, harmonic) in fit.harmonics().iter().enumerate() {
            sum += harmonic.fundamental / variance(self, h);
            weights += 1.0 / variance(self, h);
        }
        let frequency = sum / weights;
        self.windows += 1.0;
        let news = NEWS.max(self.windows.recip());
        let mut said = PerHarmonic { harmonics: fit.harmonics, ..PerHarmonic::default() };
        let mut chi = 0.0;
        for (h, harmonic) in fit.harmonics().iter().enumerate() {
            let weight = variance(self, h).recip();
            (said.fundamentals[h], said.variances[h]) = (harmonic.fundamental, weight.recip());
            let residual = (harmonic.fundamental - frequency).powi(2);
            chi += residual * weight;
            // A harmonic draws the common pitch towards itself by its share of the weight; undo that.
            let alone = residual / (LEVERAGE_CEILING - weight / weights);
            self.residual_variance[h] +=
                ((alone - harmonic.variance).max(0.0) - self.residual_variance[h]) * news;
        }
        let chi = (chi / fit.harmonics as f64).max(1.0);
        let grain = GRAIN * frequency / fit.length.powi(3);
        let sigma = (chi / weights + grain * grain).sqrt();
        let estimate =
            Estimate { frequency, sigma, lag: 0.5 * fit.length, late: 0.0, said, uncertainty: sigma };
        (estimate, (ODD / chi).min(1.0))
    }
}
