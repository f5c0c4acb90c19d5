//! What the level tells about the beginning of a note.

use pitch::Reading;
use std::collections::VecDeque;

/// How far back levels are kept, seconds: the 60 ms after which a note counts, and as much before it.
const KEPT_S: f64 = 0.12;
/// An attack raises the level by so much within so short a time, decibels and seconds, whatever the ear says of the pitch. Shimmer and
/// noise stay within less, and a tremolo of the hand is slower: one of 9 dB, seven times a second, raises it by 3 dB in that time.
const RISE_DB: f32 = 4.0;
const RISE_S: f64 = 0.015;
/// An onset is where the level passes this far below the held one, decibels; a convention.
const ONSET_DB: f64 = -20.0;
/// The stretch over which the ear takes a level, seconds.
const LEVEL_S: f64 = 0.010;

/// A rise further than this from the first reading of a note is not its attack, seconds: the ear may need so long to find a low
/// note, and shorter notes than that there are none.
const FURTHEST_S: f64 = 0.05;

/// The levels of late.
#[derive(Clone, Debug)]
pub(super) struct Levels {
    sample_rate: f64,
    /// Samples known, and dBFS.
    points: VecDeque<(u64, f32)>,
}

impl Levels {
    /// None is known yet.
    pub(super) fn new(sample_rate: f64) -> Self {
        Self { sample_rate, points: VecDeque::new() }
    }

    /// Takes the level of a reading.
    pub(super) fn push(&mut self, reading: &Reading) {
        let kept = (KEPT_S * self.sample_rate) as u64;
        while self.points.front().is_some_and(|(known, _)| known + kept < reading.known) {
            self.points.pop_front();
        }
        self.points.push_back((reading.known, reading.level_dbfs));
    }

    /// Whether the level has just risen as it does in an attack: at this reading, and not yet at the one before.
    pub(super) fn rises(&self) -> bool {
        let mut newest = self.points.iter().rev();
        let (Some(last), Some(before)) = (newest.next(), newest.next()) else { return false };
        self.has_risen(*last) && !self.has_risen(*before)
    }

    fn has_risen(&self, (known, level): (u64, f32)) -> bool {
        let from = known.saturating_sub((RISE_S * self.sample_rate) as u64);
        let lately = self.points.iter().filter(|(at, _)| (from..known).contains(at));
        level - quietest(lately) >= RISE_DB
    }

    /// When a note first read at `began` was attacked: where the level passed -20 dB of the held level, above what noise there
    /// was before. `None` where it did not rise from below that.
    pub(super) fn attack(&self, began: u64) -> Option<u64> {
        let power = |db: f64| 10_f64.powf(db / 10.0);
        let (loudest, quietest) = (f64::from(loudest(&self.points)), f64::from(quietest(&self.points)));
        let onset_db = 10.0 * (power(loudest + ONSET_DB) + power(quietest)).log10();
        let pairs = self.points.iter().zip(self.points.iter().skip(1));
        let mut rises = pairs.filter(|((_, before), (_, after))| {
            f64::from(*before) < onset_db && f64::from(*after) >= onset_db
        });
        let ((from, before), (to, after)) = rises.next_back()?;
        let share = (onset_db - f64::from(*before)) / f64::from(after - before);
        let apart = to.saturating_sub(*from) as f64;
        let per_s = f64::from(after - before) * self.sample_rate / apart.max(1.0);
        let at = *from as f64 + share * apart - known_later_s(per_s) * self.sample_rate;
        let off_s = (at - began as f64) / self.sample_rate;
        (off_s.abs() <= FURTHEST_S).then_some(at.max(0.0) as u64)
    }
}

/// How much later a level is known to have passed a value than it did, seconds, while it rises by so many decibels a second. A power
/// that grows as exp(gt) has a mean of (1 - exp(-gw))/gw of itself over the stretch w before: as much as ln(gw/(1 - exp(-gw)))/g
/// ago.
fn known_later_s(db_per_s: f64) -> f64 {
    let growth = db_per_s / 10.0 * std::f64::consts::LN_10;
    let over = growth * LEVEL_S;
    (over / (1.0 - (-over).exp())).ln() / growth
}

fn loudest<'a>(points: impl IntoIterator<Item = &'a (u64, f32)>) -> f32 {
    points.into_iter().map(|(_, level)| *level).fold(f32::NEG_INFINITY, f32::max)
}

fn quietest<'a>(points: impl IntoIterator<Item = &'a (u64, f32)>) -> f32 {
    points.into_iter().map(|(_, level)| *level).fold(f32::INFINITY, f32::min)
}
