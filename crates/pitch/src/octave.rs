//! The one decision about the octave of a note that sounds: whether it is really at another whole ratio of the pitch it
//! is taken for. *Octave* stands here for any of the ratios 1/3, 1/2, 2, 3 and 4.
//!
//! The correlation chooses the first pitch of a note, and a strong second or third harmonic misleads it. So the pitch f
//! competes with f/3, f/2, 2f, 3f and 4f. Every frame adds evidence, in nats, to the belief in each competing pitch; beliefs
//! add up as in the cumulative sum test (Page, Biometrika 41 (1954)), and the first belief beyond [`DECIDES`] moves the
//! note. There are two kinds of evidence:
//!
//! * *What the harmonics of f leave over* speaks for f/2 and f/3 within two periods. If the note is an octave lower,
//!   the residual is no noise but the odd harmonics of f/2, each at its place. Two measures must agree: the share of
//!   what does not repeat after 1/f that repeats after 2/f, and the share of the power between the even harmonics of
//!   f/2 that lies at its odd ones. The logarithm of the ratio of the residuals is, but for a factor, the likelihood
//!   ratio of two nested models (Christensen & Jakobsson, Multi-Pitch Estimation (2009), chapter 2). Where a second
//!   reed holds much of the residual, neither measure tells, so the odd harmonics of f/2 are looked for in long windows
//!   as well, once in 40 ms.
//! * *Harmonics that are missing* speak for 2f, 3f and 4f: only every second (third, fourth) harmonic of f has power.
//!   They are looked for in the usual window and in the longest that is fitted, and missing in one of them is
//!   missing. The longest holds the note before for so long that after a leap of a twelfth upwards its harmonics stand
//!   for those of the new note; the usual one does not keep the lines of a second reed apart from them. Harmonics that
//!   are heard speak against these pitches, down to [`REFUTED`].
//!
//! A note that is heard changes its octave here and nowhere else: no octave of it begins a note of its own ([`competes`]).

use crate::candidates::Candidates;
use crate::note::near;
use crate::refine::{Fit, Refiner};
use std::ops::RangeInclusive;

/// The pitches that compete with f: f times the first number over the second one. f/2 stands there twice, and either belief
/// in it decides: the first one rests on short windows, the last one on long windows.
const COMPETING: [(u32, u32); 6] = [(1, 3), (1, 2), (2, 1), (3, 1), (4, 1), (1, 2)];
/// The belief that decides, nats: one frame in which 0.78 of the residual is explained, or more frames with less.
const DECIDES: f64 = 0.6;
/// Share of the residual that speaks neither for f/2 nor against it. One line of a second reed that happens to lie at the
/// place of an odd harmonic holds about half of the residual, for as long as both reeds sound.
const NEITHER: f64 = 0.6;
/// Harmonics that hold less than this share of the power (-25 dB) are not a reed's; nor is any residual taken to be less.
const LEAST_POWER: f64 = 0.003;
/// Of the harmonics that speak for a lower pitch two neighbours have to hold at least this share each of what all of
/// them hold: of a second reed a third, a fourth or a fifth away every second harmonic at most lies at their places.
const SPREAD: f64 = 0.01;
/// Greatest distance of a line from the place of its harmonic, in bins of the window.
const IN_PLACE: f64 = 0.15;
/// Harmonics count as missing if they hold less than the first share of all power and the second share of the noise.
const MISSING: (f64, f64) = (0.002, 0.3);
/// Evidence of one frame in which harmonics are missing, nats: four frames decide, because noise or a beat of two reeds
/// may hide harmonics for less. A frame in which they are not missing speaks half as loudly against it, because noise
/// may stand in for them.
const MISSING_NATS: f64 = 0.151;
/// The least belief in 2f, 3f and 4f, nats: of a note whose harmonics were all heard for 40 ms, some have to be missing
/// for 30 ms. Those of two reeds that are tuned a little apart vanish for 10 to 20 ms in every beat.
const REFUTED: f64 = -1.2;
/// The most evidence of one long window, nats: two decide, because noise may happen to lie at the places of odd
/// harmonics once.
const LONG_NATS: f64 = 0.4;

/// The beliefs in the pitches that compete with that of one note.
#[derive(Clone, Debug)]
pub(crate) struct Octave {
    range: RangeInclusive<f64>,
    belief: [f64; COMPETING.len()],
}

/// The sound as one frame shows it.
#[derive(Debug)]
pub(crate) struct View<'a> {
    pub(crate) history: &'a [f32],
    pub(crate) candidates: &'a Candidates,
    pub(crate) refiner: &'a mut Refiner,
    /// The fundamental of the note, cycles per sample.
    pub(crate) frequency: f64,
    /// The fits of the note over the usual window of the last frame, or else over the shortest window of this one, and
    /// over the longest window of the last frame, if any longer than the usual one was fitted.
    pub(crate) fits: [Option<Fit>; 2],
    /// The shortest window to fit f/2 and f/3 over, samples.
    pub(crate) shortest: f64,
    /// The long window to fit f/2 over, samples; in most frames none, because the last long window held nearly the same
    /// sound.
    pub(crate) long: Option<f64>,
}

impl Octave {
    /// For fundamentals in `range` (cycles per sample).
    pub(crate) fn new(range: RangeInclusive<f64>) -> Self {
        Self { range, belief: [0.0; COMPETING.len()] }
    }

    /// Forgets the note.
    pub(crate) fn clear(&mut self) {
        self.belief = [0.0; COMPETING.len()];
    }

    /// Adds the evidence of one frame; gives the pitch (cycles per sample) to which the note moves, if it does.
    pub(crate) fn decide(&mut self, view: &mut View) -> Option<f64> {
        self.hear_residual(view);
        self.hear_long(view);
        self.hear_missing(view);
        let decided = (0..COMPETING.len()).find(|at| {
            let pitch = competing(view.frequency, *at);
            self.belief[*at] > DECIDES && self.range.contains(&pitch)
        })?;
        self.clear();
        Some(competing(view.frequency, decided))
    }

    /// Adds nats to a belief, which falls no further than to `least`.
    fn add(&mut self, at: usize, nats: f64, least: f64) {
        self.belief[at] = (self.belief[at] + nats).max(least);
    }

    /// What the harmonics of f leave over, for f/3 and f/2.
    fn hear_residual(&mut self, view: &mut View) {
        for (at, (_, parts)) in COMPETING.into_iter().enumerate().take(2) {
            let share = view.share(competing(view.frequency, at), parts);
            self.add(at, explaining(share), 0.0);
        }
    }

    /// What lies between the harmonics of f in a long window, for f/2. A long window keeps the lines of a second reed
    /// apart from the odd harmonics of f/2, so the power of a second reed does not count as noise.
    fn hear_long(&mut self, view: &mut View) {
        let Some(length) = view.long else { return };
        let at = COMPETING.len() - 1;
        let lower = competing(view.frequency, at);
        let fit = view.refiner.fit(view.history, lower, Refiner::whole_periods(lower, length));
        let share = fit.map_or(0.0, |fit| share_between(&Fit { clarity: 1.0, ..fit }, lower, 2));
        self.add(at, explaining(share).min(LONG_NATS), 0.0);
    }

    /// Harmonics that are missing, for the greatest ratio at whose multiples all power lies.
    fn hear_missing(&mut self, view: &View) {
        let Some(ratio) = view.fits.iter().flatten().map(only_multiples_of).max() else { return };
        for (at, (times, _)) in COMPETING.into_iter().enumerate().skip(2).take(3) {
            let nats = if times == ratio { MISSING_NATS } else { -0.5 * MISSING_NATS };
            self.add(at, nats, REFUTED);
        }
    }
}

/// The evidence for a pitch that explains this share of the residual, nats.
fn explaining(share: f64) -> f64 {
    ((1.0 - NEITHER) / (1.0 - share).max(LEAST_POWER)).ln()
}

/// Whether one of the pitches that compete with a note is this one.
pub(crate) fn competes(note: f64, frequency: f64) -> bool {
    (0..COMPETING.len()).any(|at| near(competing(note, at), frequency))
}

/// The competing pitch at a place of [`COMPETING`], cycles per sample.
fn competing(frequency: f64, at: usize) -> f64 {
    let (times, parts) = COMPETING[at];
    frequency * f64::from(times) / f64::from(parts)
}

impl View<'_> {
    /// The share of the residual that a note so many times lower explains, by the weaker of the two measures.
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
        if broken - wholes > LEAST_POWER { 1.0 - wholes / broken } else { 0.0 }
    }
}

/// The share of what the harmonics at multiples of `parts` leave over that the others hold, in their places. The powers
/// and the clarity of a fit are freed of what noise gives by chance, so the share of mere noise is nothing on average.
pub(crate) fn share_between(fit: &Fit, frequency: f64, parts: u32) -> f64 {
    let (mut all, mut between, mut in_place) = (0.0, 0.0, 0.0);
    let (mut before, mut two) = (0.0, 0.0_f64);
    for (number, harmonic) in (1..).zip(fit.harmonics()) {
        all += harmonic.power;
        if number % parts != 0 {
            let bins = (harmonic.fundamental - frequency) * f64::from(number) * fit.length;
            let held = if bins.abs() < IN_PLACE { harmonic.power } else { 0.0 };
            between += harmonic.power;
            in_place += held;
            two = two.max(held.min(before));
            before = held;
        }
    }
    let noise = all * (1.0 - fit.clarity) / fit.clarity.max(1.0e-9);
    let spread = two > SPREAD * in_place;
    if in_place > LEAST_POWER * all && spread { in_place / (between + noise) } else { 0.0 }
}

/// The largest ratio, 1 to 4, at whose multiples all harmonics with any power lie.
pub(crate) fn only_multiples_of(fit: &Fit) -> u32 {
    let others = |ratio: u32| -> f64 {
        let harmonics = (1..).zip(fit.harmonics());
        harmonics.filter(|(number, _)| number % ratio != 0).map(|(_, harmonic)| harmonic.power).sum()
    };
    let bound = fit.power * (MISSING.0 + MISSING.1 * (1.0 - fit.clarity));
    (2..=4).rev().find(|ratio| fit.harmonics >= *ratio as usize && others(*ratio) < bound).unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn octave() -> Octave {
        Octave::new(0.005..=0.2)
    }

    #[test]
    fn evidence_adds_up_and_what_speaks_against_a_pitch_is_kept_to_a_bound() {
        let mut octave = octave();
        for nats in [0.2, -5.0, 0.3, 0.1] {
            octave.add(0, nats, 0.0);
        }
        assert!((octave.belief[0] - 0.4).abs() < 1.0e-12, "{:?}", octave.belief);
        // Harmonics that were heard for long have to be missing for long.
        for _ in 0..100 {
            octave.add(2, -0.04, REFUTED);
        }
        assert!((octave.belief[2] - REFUTED).abs() < 1.0e-12, "{:?}", octave.belief);
    }

    #[test]
    fn a_note_that_moved_leaves_behind_what_spoke_for_other_pitches() {
        let mut octave = octave();
        octave.belief = [0.1, 0.2, DECIDES + 0.01, 0.3, 0.4, 0.5];
        let (history, candidates) = (vec![0.0; 1_200], Candidates::new(16_000.0, 80.0, 3_800.0));
        let mut refiner = Refiner::new(600, 0.40);
        let mut view = View {
            history: &history,
            candidates: &candidates,
            refiner: &mut refiner,
            frequency: 0.02,
            fits: [None; 2],
            shortest: 56.0,
            long: None,
        };
        assert_eq!(octave.decide(&mut view), Some(0.04));
        assert_eq!(octave.belief, [0.0; COMPETING.len()]);
    }
}
