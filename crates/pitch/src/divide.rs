//! Whether a note is really an octave or a twelfth lower: its first reading may have been a strong second or third
//! harmonic.
//!
//! If the period is twice (three times) as long as was thought, then what the note leaves over is no noise but the other
//! harmonics of the lower note, each exactly at its place. Two measures of that must agree: of what does not repeat
//! after the short period, the share that does after the long one; and of what the multiples of two (three) leave over,
//! the share that lies in the other harmonics. Noise and the lines of a second reed give a share now and then; only such
//! harmonics give it look after look. So the looks are added up as in the cumulative sum test (Page, Biometrika 41
//! (1954)); each adds the logarithm of what one order leaves over to what the other does, which is, but for a factor, the
//! likelihood ratio of two nested models (Christensen & Jakobsson 2009, chapter 2, on orders and octave errors).

use crate::candidates::Candidates;
use crate::refine::{Fit, Refiner};

/// A share that speaks neither for nor against. One line of a second reed that happens to lie in place holds about
/// half of what is left over, and holds it for as long as both sound.
const NEITHER: f64 = 0.6;
/// The sum of logarithms that decides: one look at a share of 0.78, or more looks at smaller ones.
const DECIDES: f64 = 0.6;
/// Harmonics in between that hold less of the power than this (-25 dB) are not a reed's; a fit lifts a note below 0.002.
const LEAST: f64 = 0.003;
/// What no look can be surer than.
const FINEST: f64 = 1.0e-3;
/// By how much a first reading may be off, so that the correlation knows better than half of it does, ratios.
const MISHEARD: std::ops::Range<f64> = 0.02..0.08;
/// Of what the multiples of three leave over, the least share of each of the lowest others. A reed a fourth above has
/// its lines at every fourth place only.
const SPREAD: f64 = 0.01;
/// How far a line may lie from the place of its harmonic, in bins of the window.
const IN_PLACE: f64 = 0.15;

/// What speaks for a lower note so far: one of which this one is the second harmonic, or the third.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Division {
    pub(crate) evidence: [f64; 2],
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
    /// The note is young: it may still be a third harmonic.
    pub(crate) young: bool,
}

impl Division {
    /// Weighs one more look at a note (cycles per sample); gives the lower pitch once it is certain.
    pub(crate) fn weigh(&mut self, view: &mut View, frequency: f64) -> Option<f64> {
        let orders = if view.young { 2..=3 } else { 2..=2 };
        let found = orders.zip(&mut self.evidence).find_map(|(parts, evidence)| {
            let exact = frequency / f64::from(parts);
            let misheard = |fresh: &f64| MISHEARD.contains(&(fresh / exact - 1.0).abs());
            let lower = view.fresh.filter(misheard).unwrap_or(exact);
            let share = view.share(lower, parts);
            *evidence = (*evidence + ((1.0 - NEITHER) / (1.0 - share).max(FINEST)).ln()).max(0.0);
            (*evidence > DECIDES).then_some(lower)
        });
        if found.is_some() {
            *self = Self::default();
        }
        found
    }
}

impl View<'_> {
    /// The share that a note so many times lower explains, by the weaker of the two measures.
    fn share(&mut self, lower: f64, parts: u32) -> f64 {
        let repeats = self.repeats(lower.recip(), parts);
        // The fit costs more, and cannot raise the weaker measure.
        if repeats < NEITHER {
            return repeats;
        }
        let fit = self.refiner.fit(self.history, lower, Refiner::whole_periods(lower, self.shortest));
        fit.map_or(0.0, |fit| repeats.min(share_between(&fit, lower, parts)))
    }

    /// Of what does not repeat after a part of a period (samples), the share that does after a whole one; both at all the
    /// multiples that the window holds, of which the least favourable counts.
    fn repeats(&self, period: f64, parts: u32) -> f64 {
        if period > self.candidates.longest() {
            return 0.0;
        }
        let lacks = |lag: f64| (1.0 - f64::from(self.candidates.at(lag))).max(1.0e-9);
        let (mut broken, mut wholes) = (f64::INFINITY, 0.0_f64);
        let reach = self.shortest.min(self.candidates.longest());
        let mut lag = period;
        while lag == period || 2.0 * lag < reach {
            for part in 1..parts {
                broken = broken.min(lacks(lag - period * f64::from(part) / f64::from(parts)));
            }
            wholes = wholes.max(lacks(lag));
            lag += period;
        }
        if broken - wholes > LEAST { 1.0 - wholes / broken } else { 0.0 }
    }
}

/// The share of what the harmonics at multiples of `parts` leave over that the others hold, in their places. The powers
/// and the clarity of a fit are freed of what noise gives by chance, so the share of mere noise is nothing on average.
pub(crate) fn share_between(fit: &Fit, frequency: f64, parts: u32) -> f64 {
    let (mut all, mut between, mut in_place) = (0.0, 0.0, 0.0);
    let mut weakest = f64::INFINITY;
    for (number, harmonic) in (1..).zip(fit.harmonics()) {
        all += harmonic.power;
        if number % parts != 0 {
            let bins = (harmonic.fundamental - frequency) * f64::from(number) * fit.length;
            let held = if bins.abs() < IN_PLACE { harmonic.power } else { 0.0 };
            between += harmonic.power;
            in_place += held;
            weakest = if number <= parts + 2 { weakest.min(held) } else { weakest };
        }
    }
    let noise = all * (1.0 - fit.clarity) / fit.clarity.max(1.0e-9);
    let spread = parts == 2 || weakest > SPREAD * in_place;
    if in_place > LEAST * all && spread { in_place / (between + noise) } else { 0.0 }
}
