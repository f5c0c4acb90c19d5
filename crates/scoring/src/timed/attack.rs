//! What the level tells about the beginning of a note.

use pitch::Reading;
use std::collections::VecDeque;

/// How far back levels are kept, seconds: the 60 ms after which a note counts, and as much before it.
const KEPT_S: f64 = 0.12;
/// An attack raises the level by so much within so short a time, decibels and seconds, whatever the ear says of the
/// pitch. Shimmer and noise stay within less, and a tremolo of the hand is slower: one of 9 dB, seven times a second,
/// raises the level by 3 dB in that time.
const RISE_DB: f32 = 4.0;
const RISE_S: f64 = 0.015;
/// An onset is where the level passes this far below the held one, decibels; a convention.
const ONSET_DB: f64 = -20.0;
/// The stretch over which the ear takes a level, seconds.
const LEVEL_S: f64 = 0.010;

/// The tail of the previous note hides an onset if it is louder than this against the held level, decibels: a little
/// above `ONSET_DB`.
const HIDES_DB: f64 = -18.0;
/// The decay of the previous note is taken from this long to so long before the quietest moment, seconds: that note has
/// begun to fall, and the new one does not yet add to it.
const FALLING_S: (f64, f64) = (0.015, 0.0075);
/// The rise of a note is taken between these shares of its held amplitude, within `FOLLOWED_S` seconds after the
/// quietest moment: below, the tail of the previous note is as loud; above, the rise flattens.
const FOLLOWED: (f64, f64) = (0.4, 0.85);
const FOLLOWED_S: f64 = 0.04;
/// A level is that of the held note from so long after the first reading on, seconds.
const SETTLES_S: f64 = 0.01;

/// A rise further than this from the first reading of a note is not its attack, seconds: the ear may need so long to
/// find a low note, and no note is shorter.
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

    /// When a note first read at `began` was attacked: where its level passed -20 dB of the held one. `None` where it
    /// did not rise from below that, or only further than `FURTHEST_S` from `began`.
    pub(super) fn attack(&self, began: u64) -> Option<u64> {
        let held = median(self.points.iter().filter(|(known, _)| self.seconds(began, *known) >= SETTLES_S))?;
        let before = self.points.iter().filter(|(known, _)| self.seconds(began, *known) < 2.0 * SETTLES_S);
        let quietest = before.copied().min_by(|a, b| a.1.total_cmp(&b.1))?;
        let hidden = f64::from(quietest.1) > held + HIDES_DB;
        let followed = if hidden { self.followed_back(held, quietest) } else { None };
        let at = followed.or_else(|| self.passed(held, f64::from(quietest.1)))?;
        let off_s = (at - began as f64) / self.sample_rate;
        (off_s.abs() <= FURTHEST_S).then_some(at.max(0.0) as u64)
    }

    /// Where the level passed -20 dB of the held one, above what noise there was before, samples.
    fn passed(&self, held: f64, quietest: f64) -> Option<f64> {
        let onset_db = 10.0 * (power(held + ONSET_DB) + power(quietest)).log10();
        let pairs = self.points.iter().zip(self.points.iter().skip(1));
        let mut rises = pairs.filter(|((_, before), (_, after))| {
            f64::from(*before) < onset_db && f64::from(*after) >= onset_db
        });
        let ((from, before), (to, after)) = rises.next_back()?;
        let share = (onset_db - f64::from(*before)) / f64::from(after - before);
        let apart = to.saturating_sub(*from) as f64;
        let per_s = f64::from(after - before) * self.sample_rate / apart.max(1.0);
        Some(*from as f64 + share * apart - known_later_s(per_s) * self.sample_rate)
    }

    /// The onset where the tail of the previous note hides where the level passes -20 dB, samples. The tail dies away
    /// exponentially, as everything that is left to swing does: its level falls along a line, and is subtracted. The
    /// amplitude that remains grows along a line too, which is followed back to a tenth of the held one.
    fn followed_back(&self, held: f64, (lowest, _): (u64, f32)) -> Option<f64> {
        let seconds = |known: u64| known as f64 / self.sample_rate - lowest as f64 / self.sample_rate;
        let levels = self.points.iter().map(|(known, level)| (seconds(*known), f64::from(*level)));
        let (from_s, to_s) = FALLING_S;
        let falling = line(levels.clone().filter(|(s, _)| (-from_s..=-to_s).contains(s)))?;
        let amplitude = |(s, level): (f64, f64)| {
            let left = power(level) - power(falling.0 + falling.1.min(0.0) * s);
            (s, (left.max(0.0) / power(held)).sqrt())
        };
        let (least, most) = FOLLOWED;
        let rise: Vec<(f64, f64)> = levels
            .filter(|(s, _)| (0.0..FOLLOWED_S).contains(s))
            .map(amplitude)
            .filter(|(_, amplitude)| (least..=most).contains(amplitude))
            .collect();
        let (_, mut per_s) = line(rise.iter().copied())?;
        let mut at_lowest = 0.0;
        // The mean square of an amplitude that grows along a line, over the stretch w, is that of its middle and a
        // twelfth of (growth times w) squared. Two turns settle the growth.
        for _ in 0..2 {
            let spread = (per_s * LEVEL_S).powi(2) / 12.0;
            (at_lowest, per_s) = line(rise.iter().map(|(s, a)| (*s, (a * a - spread).max(0.0).sqrt())))?;
        }
        let tenth = 10_f64.powf(ONSET_DB / 20.0);
        let at_s = (tenth - at_lowest) / per_s - LEVEL_S / 2.0;
        (per_s > 0.0).then_some(lowest as f64 + at_s * self.sample_rate)
    }

    /// From one sample to another, seconds; negative if the other comes first.
    fn seconds(&self, from: u64, to: u64) -> f64 {
        (to as f64 - from as f64) / self.sample_rate
    }
}

fn power(db: f64) -> f64 {
    10_f64.powf(db / 10.0)
}

/// The line of least squares through points: its value at 0, and its slope. `None` of less than three points.
fn line(points: impl Iterator<Item = (f64, f64)> + Clone) -> Option<(f64, f64)> {
    let count = points.clone().count();
    if count < 3 {
        return None;
    }
    let n = count as f64;
    let (sum_x, sum_y) = points.clone().fold((0.0, 0.0), |(x, y), point| (x + point.0, y + point.1));
    let (mean_x, mean_y) = (sum_x / n, sum_y / n);
    let (over, under) = points.fold((0.0, 0.0), |(over, under), (x, y)| {
        (over + (x - mean_x) * (y - mean_y), under + (x - mean_x).powi(2))
    });
    (under > 0.0).then(|| (mean_y - over / under * mean_x, over / under))
}

/// The middle level, decibels; `None` of none.
fn median<'a>(points: impl Iterator<Item = &'a (u64, f32)>) -> Option<f64> {
    let mut levels: Vec<f32> = points.map(|(_, level)| *level).collect();
    levels.sort_by(f32::total_cmp);
    levels.get(levels.len() / 2).map(|level| f64::from(*level))
}

/// How far the measured level lags behind the true one, seconds, while it rises by so many decibels a second. Over the
/// last w seconds, a power that grows as exp(gt) has a mean of (1 - exp(-gw))/gw of its present value. It had that
/// value itself ln(gw/(1 - exp(-gw)))/g ago.
fn known_later_s(db_per_s: f64) -> f64 {
    let growth = db_per_s / 10.0 * std::f64::consts::LN_10;
    let over = growth * LEVEL_S;
    (over / (1.0 - (-over).exp())).ln() / growth
}

fn quietest<'a>(points: impl IntoIterator<Item = &'a (u64, f32)>) -> f32 {
    points.into_iter().map(|(_, level)| *level).fold(f32::INFINITY, f32::min)
}
