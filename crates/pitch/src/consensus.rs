//! One pitch from many harmonics, each with a past.
//!
//! White noise is not what disturbs a note: a second reed, a voice, the hum of the mains lie near some of its
//! harmonics and not near others. So each harmonic's say is judged by how far it has lately strayed from what all
//! said together (iteratively reweighted least squares: Holland & Welsch, Commun. Stat. A6 (1977)). A bend or a
//! vibrato moves all alike and costs no harmonic its say.

use crate::doubt::Said;
use crate::refine::{Fit, HARMONICS};

/// Share of a new window in the running unrest of a harmonic.
const NEWS: f64 = 0.1;
/// A harmonic draws the common pitch towards itself by its share of the weight; divided by this less that share its
/// stray is freed of it, and one that has all the say still leaves something.
pub(crate) const LEVER: f64 = 1.02;
/// A window whose harmonics stray this much more than they usually do begins to lose its own say.
const ODD: f64 = 4.0;

/// What a window that ends between two samples costs: an error of this much over the cube of its length in samples,
/// as a ratio to the frequency (measured: 0.12 cents at 54 samples, 0.016 at 102, 0.007 at 145).
const GRAIN: f64 = 11.0;

/// A pitch with its standard deviation as it is reckoned with, both cycles per sample, and how long ago it was, samples.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Estimate {
    pub(crate) frequency: f64,
    pub(crate) sigma: f64,
    pub(crate) lag: f64,
    /// How much later than it was this is told: the window's centre lies that far before, samples.
    pub(crate) late: f64,
    /// What the harmonics said.
    pub(crate) said: Said,
    /// Its standard deviation as the world is told it.
    pub(crate) doubt: f64,
}

/// The harmonics of one note over windows of one kind.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Consensus {
    unrest: [f64; HARMONICS],
    windows: f64,
}

impl Consensus {
    /// Takes one more window into account; tells what it says and how far it is to be trusted among its like, 0 to
    /// 1.
    pub(crate) fn estimate(&mut self, fit: &Fit) -> (Estimate, f64) {
        let variance = |this: &Self, h: usize| fit.each[h].variance + this.unrest[h];
        let (mut sum, mut weights) = (0.0, 0.0);
        for (h, harmonic) in fit.harmonics().iter().enumerate() {
            sum += harmonic.fundamental / variance(self, h);
            weights += 1.0 / variance(self, h);
        }
        let frequency = sum / weights;
        self.windows += 1.0;
        let news = NEWS.max(self.windows.recip());
        let mut said = Said { harmonics: fit.harmonics, ..Said::default() };
        let mut chi = 0.0;
        for (h, harmonic) in fit.harmonics().iter().enumerate() {
            let weight = variance(self, h).recip();
            (said.fundamentals[h], said.variances[h]) = (harmonic.fundamental, weight.recip());
            let stray = (harmonic.fundamental - frequency).powi(2);
            chi += stray * weight;
            // A harmonic draws the common pitch towards itself by its share of the weight; undo that.
            let alone = stray / (LEVER - weight / weights);
            self.unrest[h] += ((alone - harmonic.variance).max(0.0) - self.unrest[h]) * news;
        }
        let chi = (chi / fit.harmonics as f64).max(1.0);
        let grain = GRAIN * frequency / fit.length.powi(3);
        let sigma = (chi / weights + grain * grain).sqrt();
        let estimate = Estimate { frequency, sigma, lag: 0.5 * fit.length, late: 0.0, said, doubt: sigma };
        (estimate, (ODD / chi).min(1.0))
    }
}
