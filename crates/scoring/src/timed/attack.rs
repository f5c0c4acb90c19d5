//! What the level tells about the beginning of a note.

use pitch::Reading;
use std::collections::VecDeque;

/// How far back levels are kept, seconds: the 60 ms after which a note counts, and as much before it.
const KEPT_S: f64 = 0.12;
/// An attack follows a dip at least this deep, decibels: shimmer and noise stay within less.
const DIP_DB: f32 = 6.0;
/// An onset is where the level passes this far below the held one, decibels; a convention.
const ONSET_DB: f64 = -20.0;
/// The stretch over which the ear takes a level, seconds.
const LEVEL_S: f64 = 0.010;

/// A dip before an attack is looked for this far back, seconds: it reaches over the release of the note before, and not to
/// the attack of a note that has counted.
const DIP_S: f64 = 0.05;
/// A rise further than this from the first reading of a note is not its attack, seconds.
const FURTHEST_S: f64 = 0.03;

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

    /// Whether there was no dip that an attack could have followed.
    pub(super) fn are_even(&self) -> bool {
        let newest = self.points.back().map_or(0, |(known, _)| *known);
        let from = newest.saturating_sub((DIP_S * self.sample_rate) as u64);
        let late = || self.points.iter().filter(|(known, _)| *known >= from);
        loudest(late()) - quietest(late()) < DIP_DB
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
