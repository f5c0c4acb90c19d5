//! Whether a note is really an octave lower: its first reading may have been a strong second harmonic.
//!
//! If the period is twice as long as was thought, then what the note leaves over is no noise but the odd harmonics of
//! the lower note, each exactly at its place. Two measures of that must agree: of what does not repeat after the
//! short period, the share that does after the long one; and of what the even harmonics leave over, the share that
//! lies in the odd ones. Noise and the lines of a second reed give a share now and then; only odd harmonics give it
//! look after look. So the looks are added up as in the cumulative sum test (Page, Biometrika 41 (1954)); each adds
//! the logarithm of what one order leaves over to what the other does, which is, but for a factor, the likelihood
//! ratio of two nested models (Christensen & Jakobsson 2009, chapter 2, on orders and octave errors).

use crate::candidates::Candidates;
use crate::refine::{Fit, Refiner};

/// A share that speaks neither for nor against. One line of a second reed that happens to lie in place holds about
/// half of what is left over, and holds it for as long as both sound.
const NEITHER: f64 = 0.6;
/// The sum of logarithms that decides: one look at a share of 0.78, or more looks at smaller ones.
const DECIDES: f64 = 0.6;
/// Odd harmonics that hold less of the power than this (-25 dB) are not a reed's; a fit lifts a note below 0.002.
const LEAST: f64 = 0.003;
/// What no look can be surer than.
const FINEST: f64 = 1.0e-3;
/// By how much a first reading may be off, so that the correlation knows better than half of it does, ratios.
const MISHEARD: std::ops::Range<f64> = 0.02..0.08;
/// How far a line may lie from the place of its harmonic, in bins of the window.
const IN_PLACE: f64 = 0.15;

/// What speaks for the lower octave so far.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Division {
    pub(crate) evidence: f64,
}

/// The sound as the newest look sees it.
#[derive(Debug)]
pub(crate) struct View<'a> {
    pub(crate) history: &'a [f32],
    pub(crate) candidates: &'a Candidates,
    pub(crate) refiner: &'a mut Refiner,
    /// The fundamental that the correlation would choose, cycles per sample.
    pub(crate) fresh: Option<f64>,
    /// The shortest window to fit over, samples.
    pub(crate) shortest: f64,
}

impl Division {
    /// Weighs one more look at a note (cycles per sample); gives the lower pitch once it is certain.
    pub(crate) fn weigh(&mut self, view: &mut View, frequency: f64) -> Option<f64> {
        let half = 0.5 * frequency;
        let misheard = |fresh: &f64| MISHEARD.contains(&(fresh / half - 1.0).abs());
        let lower = view.fresh.filter(misheard).unwrap_or(half);
        let share = view.share(lower);
        self.evidence = (self.evidence + ((1.0 - NEITHER) / (1.0 - share).max(FINEST)).ln()).max(0.0);
        if self.evidence > DECIDES {
            self.evidence = 0.0;
            return Some(lower);
        }
        None
    }
}

impl View<'_> {
    /// The share that the lower octave explains, by the weaker of the two measures.
    fn share(&mut self, lower: f64) -> f64 {
        let repeats = self.repeats(lower.recip());
        // The fit costs more, and cannot raise the weaker measure.
        if repeats < NEITHER {
            return repeats;
        }
        let fit = self.refiner.fit(self.history, lower, Refiner::whole_periods(lower, self.shortest));
        fit.map_or(0.0, |fit| repeats.min(odd_share(&fit, lower)))
    }

    /// Of what does not repeat after half a period (samples), the share that does after a whole one; both at all the
    /// multiples that the window holds, of which the least favourable counts.
    fn repeats(&self, period: f64) -> f64 {
        if period > self.candidates.longest() {
            return 0.0;
        }
        let lacks = |lag: f64| (1.0 - f64::from(self.candidates.at(lag))).max(1.0e-9);
        let (mut halves, mut wholes) = (lacks(0.5 * period), lacks(period));
        let reach = self.shortest.min(self.candidates.longest());
        let mut lag = 2.0 * period;
        while 2.0 * lag < reach {
            halves = halves.min(lacks(lag - 0.5 * period));
            wholes = wholes.max(lacks(lag));
            lag += period;
        }
        if halves - wholes > LEAST { 1.0 - wholes / halves } else { 0.0 }
    }
}

/// The share of what the even harmonics of a fit leave over that the odd ones hold, in their places. The powers and
/// the clarity of a fit are freed of what noise gives by chance, so the share of mere noise is nothing on average.
pub(crate) fn odd_share(fit: &Fit, frequency: f64) -> f64 {
    let (mut all, mut odd, mut in_place) = (0.0, 0.0, 0.0);
    for (number, harmonic) in (1..).zip(fit.harmonics()) {
        all += harmonic.power;
        if number % 2 == 1 {
            let bins = (harmonic.fundamental - frequency) * f64::from(number) * fit.length;
            odd += harmonic.power;
            in_place += if bins.abs() < IN_PLACE { harmonic.power } else { 0.0 };
        }
    }
    let noise = all * (1.0 - fit.clarity) / fit.clarity.max(1.0e-9);
    if in_place > LEAST * all { in_place / (odd + noise) } else { 0.0 }
}
