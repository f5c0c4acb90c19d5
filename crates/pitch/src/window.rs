//! Window selection: over how long a stretch the pitch of a note is estimated.
//!
//! Four kinds of window compete: the shortest (3.5 ms or two periods), the usual one (20 ms), the usual ones of up to 70 ms
//! (of low notes 240 ms) joined by `smooth`, and a note fitted along with a second reed (`joint`). The longest window whose
//! confidence interval meets those of all shorter windows is believed, so a note that moves is read over a short window.

#[cfg(test)]
mod tests;

use crate::bias::Bias;
use crate::consensus::{Consensus, Estimate};
use crate::floor::Floor;
use crate::frame::Frame;
use crate::joint::Joint;
use crate::note::near;
use crate::refine::{Fit, Refiner};
use crate::smooth::{MOST, Smoother, longest_that_agrees};
use crate::spectrum::Spectrum;
use crate::uncertainty::Uncertainty;

/// The shortest window a pitch is read from, and the usual one, seconds.
pub(crate) const SHORT_S: f64 = 0.0035;
pub(crate) const USUAL_S: f64 = 0.020;
/// Share of a new frame in the drift of a note: a time constant of 21 ms.
const NEWS: f64 = 0.12;
/// A squared difference of so many variances is no drift.
const NO_DRIFT: f64 = 1.5;
/// How many windows are joined: 30, 70, 120 or 240 ms of them.
const JOINED: [usize; 4] = [12, USUALLY, 48, MOST];
/// The most that are joined of a note that is not low, 90 ms with the window itself: the estimate is then as exact as
/// anyone can use. Below this pitch (hertz) rooms and breath are loud and a window holds few periods.
const USUALLY: usize = 28;
const LOW_HZ: f64 = 250.0;
/// The least share of noise in which a second reed is looked for (-26 dB).
const NEIGHBOUR: f64 = 0.0025;
/// A window laid this far beside the pitch still finds it, bins of the window.
const FORGIVEN: f64 = 0.02;
/// Seconds until a neighbour is fitted again, is confirmed, or is looked for again.
const AGAIN_S: f64 = 0.020;
const CONFIRM_S: f64 = 0.010;
const SEARCH_S: f64 = 0.080;
/// Half the width of a confidence interval, standard deviations.
const WIDTH: f64 = 4.0;
/// A pitch further off than this ratio less 1 (200 cents) is another note, however loud the noise.
const FURTHEST: f64 = 0.12;
/// Factor of the standard deviation of a window of few periods, whose harmonics leak into each other and agree by it.
const CAUTION: f64 = 1.6;
/// Periods below which a window is one of few.
const FEW_PERIODS: f64 = 4.5;
/// Seconds after which a movement lies before the windows that are joined.
const BEHIND_S: f64 = 0.025;
/// Factor of the standard deviation that the next frame starts from (measured); `uncertainty` has what is told.
const HONEST: f64 = 0.6;
/// A standard deviation that no longer window need improve, ratio (0.02 cents).
const ENOUGH: f64 = 1.2e-5;

/// What is known of a held note from frame to frame.
#[derive(Clone, Debug)]
pub(crate) struct WindowSelection {
    smoother: Smoother,
    consensus: [Consensus; 3],
    floor: Floor,
    /// How far from the note a short window may find it, as a ratio less 1.
    scatter: f64,
    uncertainty: Uncertainty,
    joint: Joint,
    /// The note without a neighbour that sounds along, and the frames until it is read anew.
    beside: Option<Estimate>,
    wait: u32,
    /// The last such estimate while the usual window leaned to neither side: the note moves if it leaves this one.
    anchor: Estimate,
    /// Mean square by which the usual window differs from the longest beyond its own variance.
    drift: f64,
    /// How the neighbour biases the shortest window and the usual one.
    biases: [Bias; 2],
    /// Frames until the last movement lies behind.
    moved: u32,
    rate: f64,
    hop: f64,
}

impl WindowSelection {
    /// For a working rate (hertz), a hop (samples) and harmonics up to `highest` (cycles per sample).
    pub(crate) fn new(rate: f64, hop: usize, highest: f64) -> Self {
        Self {
            smoother: Smoother::new(hop as f64),
            consensus: [Consensus::default(); 3],
            floor: Floor::new(rate),
            drift: 0.0,
            biases: [Bias::default(); 2],
            scatter: 0.0,
            uncertainty: Uncertainty::new(hop as f64),
            joint: Joint::new(rate, highest),
            beside: None,
            wait: 0,
            anchor: Estimate::default(),
            moved: 0,
            rate,
            hop: hop as f64,
        }
    }

    /// A time in seconds as frames.
    fn frames(&self, seconds: f64) -> u32 {
        (seconds * self.rate / self.hop).round() as u32
    }

    /// Samples of history it looks at.
    pub(crate) fn span(&self) -> usize {
        self.joint.span()
    }

    /// How much of a note that has sounded for so many frames a window may see, samples: what there is, but no more than
    /// is usual.
    pub(crate) fn since(&self, age: u32) -> f64 {
        (SHORT_S * self.rate + f64::from(age) * self.hop).min(USUAL_S * self.rate)
    }

    /// Whether a pitch is that of the note, as a short window sees it: noise scatters what it sees, and a neighbour that
    /// sounds along biases it to and fro, but not as far as half-way to itself as long as it is the weaker.
    pub(crate) fn is_note(&self, note: f64, frequency: f64) -> bool {
        let off = (frequency / note).ln().abs();
        let pulled = self.joint.distance(note).is_some_and(|distance| off < 0.5 * distance);
        near(note, frequency) || off < self.scatter.min(FURTHEST) || pulled
    }

    /// Forgets the note.
    pub(crate) fn clear(&mut self) {
        self.another_octave();
        self.floor.clear();
        (self.moved, self.drift, self.scatter) = (0, 0.0, 0.0);
    }

    /// The same sound with other harmonics, so other places between them.
    pub(crate) fn another_octave(&mut self) {
        self.smoother.clear();
        self.uncertainty.clear();
        self.consensus = [Consensus::default(); 3];
        self.floor.another_octave();
        self.alone();
        self.wait = 0;
    }

    /// Nothing sounds beside the note any more, and what it did to the windows is past.
    fn alone(&mut self) {
        self.joint.clear();
        (self.beside, self.biases) = (None, [Bias::default(); 2]);
        self.consensus[2] = Consensus::default();
    }

    /// The pitch over the window that suits the note: short while it moves, long while it stays.
    pub(crate) fn read(&mut self, refiner: &mut Refiner, frame: &Frame) -> Estimate {
        let floor = self.floor.before(frame);
        let since = self.since(frame.age);
        let known = self.floor.is_known();
        let [shorts, middles, _] = &mut self.consensus;
        let (mut short, _) = shorts.estimate(&frame.short.with_noise(&floor));
        short.sigma *= CAUTION * self.floor.odd_short(&frame.short);
        let middle = lay(refiner, frame, &short, since, known).with_noise(&floor);
        let (mut whole, trust) = middles.estimate(&middle);
        whole.sigma *= self.floor.odd_usual(&middle);
        if middle.length * middle.frequency < FEW_PERIODS {
            whole.sigma *= CAUTION;
        }
        self.floor.learn(frame, &middle);
        // The first windows still reach back before the attack, where harmonics leak into each other.
        if f64::from(frame.age) * self.hop >= 0.6 * middle.length {
            self.smoother.push(&middle, trust);
        }
        self.scatter = WIDTH * short.sigma / short.frequency;
        self.part(frame, middle.frequency);
        let apart = self.allow_for_pull(&mut short, &mut whole);
        let mut pitch = self.longest(short, whole, apart);
        // A window that grows by a period, or takes over from a shorter one, must not tell an older story than the last.
        let latest = if frame.age > 1 { frame.before.lag + self.hop } else { f64::INFINITY };
        let lag = pitch.lag.min(latest);
        pitch.late += pitch.lag - lag;
        let uncertainty = self.uncertainty.tell(&pitch);
        Estimate { lag, uncertainty, ..pitch }
    }

    /// Learns the noise around each harmonic from a spectrum.
    pub(crate) fn learn_noise(&mut self, spectrum: &Spectrum, frequency: f64) {
        self.floor.measure(spectrum, frequency);
    }

    /// Allows for what a known neighbour does to the short windows; gives the note apart from it, unless it moves.
    fn allow_for_pull(&mut self, short: &mut Estimate, whole: &mut Estimate) -> Option<Estimate> {
        let beside = self.beside?;
        let lag = whole.lag;
        for (window, pull) in [short, whole].into_iter().zip(&mut self.biases) {
            window.sigma = window.sigma.hypot(pull.see(window.frequency - beside.frequency));
        }
        // Slow beats lean to one side as well, for a while, but they do not move the note apart from the neighbour.
        if self.biases[1].leans() {
            self.wait = 0;
        } else {
            self.anchor = beside;
        }
        let doubt = WIDTH * (beside.sigma + self.anchor.sigma);
        let moves = (beside.frequency - self.anchor.frequency).abs() > doubt;
        // What holds for a note that stays holds for its newest frame as well.
        (!moves).then_some(Estimate { lag, late: beside.lag - lag, ..beside })
    }

    /// Reads the note apart from a neighbour now and then, if there is anything beside it.
    fn part(&mut self, frame: &Frame, frequency: f64) {
        let old_enough = f64::from(frame.age) * self.hop >= self.joint.window(frequency);
        if !old_enough || self.floor.share() < NEIGHBOUR {
            self.alone();
            return;
        }
        self.wait = self.wait.saturating_sub(1);
        if self.wait > 0 {
            return;
        }
        // A short window is pulled by the neighbour, so the note is looked for where it was apart from that; if the two
        // are lost there, both are looked for afresh.
        let fit = match self.beside {
            Some(beside) => self.joint.fit_apart(frame.history, beside.frequency),
            None => None,
        };
        let fit = fit.or_else(|| self.joint.fit_apart(frame.history, frequency));
        self.wait = self.frames(match fit {
            Some(_) => AGAIN_S,
            None if self.joint.distance(frequency).is_some() => CONFIRM_S,
            None => SEARCH_S,
        });
        let known = self.beside.is_some();
        if fit.is_none() {
            (self.consensus[2], self.biases) = (Consensus::default(), [Bias::default(); 2]);
        }
        self.beside = fit.map(|fit| self.consensus[2].estimate(&fit).0);
        if let (false, Some(beside)) = (known, self.beside) {
            self.anchor = beside;
        }
    }

    /// The longest window that agrees with the newest ones; after a movement not before it lies behind.
    fn longest(&mut self, short: Estimate, whole: Estimate, apart: Option<Estimate>) -> Estimate {
        let low = short.frequency * self.rate < LOW_HZ;
        let most = self.smoother.count().min(if low { MOST } else { USUALLY });
        let joins = if self.beside.is_some() { 0 } else { most };
        let longer = apart.is_some() || joins > 1;
        let smoother = &mut self.smoother;
        let joined = JOINED.into_iter().filter(|count| joins > 1 && *count / 2 < joins);
        let scales = [Some(short), Some(whole), apart].into_iter();
        let scales = scales.chain(joined.map(|count| smoother.estimate(count.min(joins))));
        let (longest, windows) = longest_that_agrees(scales, WIDTH, ENOUGH);
        let moves = windows < 3 && longer && longest.sigma > ENOUGH * longest.frequency;
        self.moved = if moves { self.frames(BEHIND_S) } else { self.moved.saturating_sub(1) };
        let late = windows > 2 && self.moved > 0 && self.beside.is_none();
        let mut pitch = if late { whole } else { longest };
        // A long window is late where the pitch drifts: by as much as the usual one differs beyond its own doubt.
        let apart = (pitch.frequency - whole.frequency).powi(2) - NO_DRIFT * whole.sigma.powi(2);
        self.drift += (apart - self.drift) * NEWS;
        pitch.sigma = (HONEST * pitch.sigma).hypot(self.drift.max(0.0).sqrt());
        pitch
    }
}

/// The usual window, at most `since` samples long. It must be laid about a pitch that is nearly right, or it finds its
/// own: about the mean of the newest estimate and of the one before, each weighed by its exactness. Where these exclude
/// each other the note has moved, or noise has led the newest one astray, so it is laid about both, and the one that
/// leaves less of the sound over is believed.
fn lay(refiner: &mut Refiner, frame: &Frame, newest: &Estimate, since: f64, known: bool) -> Fit {
    let mut about = |start: f64| {
        let periods = Refiner::whole_periods(start, since);
        refiner.fit(frame.level, start, periods).unwrap_or(frame.short)
    };
    let before = &frame.before;
    let (news, knew) = (newest.sigma.powi(2), before.sigma.powi(2));
    let apart = newest.frequency - before.frequency;
    if !known {
        return about(newest.frequency);
    }
    if apart.powi(2) <= WIDTH.powi(2) * (news + knew) {
        return about(newest.frequency - apart * news / (news + knew));
    }
    let moved = about(newest.frequency);
    if apart.abs() * since < FORGIVEN {
        return moved;
    }
    let stayed = about(before.frequency);
    let leaves = |fit: &Fit| fit.noise / fit.total;
    if leaves(&stayed) < leaves(&moved) { stayed } else { moved }
}
