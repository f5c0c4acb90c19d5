//! What is measured over a stretch.

use crate::Figures;
use crate::aim::Aim;
use crate::track::{Point, Track, quantile};
use std::ops::Range;

/// The held part begins within this of its median, cents, unless the note is less steady than that.
const NEAR_CENTS: f64 = 15.0;
/// … and once it has stayed so for this long, seconds.
const SETTLED_S: f64 = 0.1;
/// The pitch is smoothed over this long before its median is taken: a cycle of vibrato, more or less.
const SMOOTH_S: f64 = 0.2;
/// Readings further than this from the median are no part of the note: a click, a wrong octave.
const STRAY_CENTS: f64 = 100.0;

/// Measures the stretch `range` of a try whose first sound was at `began` seconds. `None` if it is empty.
pub(crate) fn measure(track: &Track, range: Range<usize>, began: f64, aim: &Aim) -> Option<Figures> {
    let points = track.points();
    let stretch = points.get(range.clone())?;
    let (rough_median, rough_spread) = centre_and_spread(stretch)?;
    let near = NEAR_CENTS.max(2.0 * rough_spread);
    let is_near = |point: &Point| (point.cents - rough_median).abs() <= near;
    let skip = settled_at(stretch, is_near)?;
    let end = stretch.iter().rposition(is_near)? + 1;
    let held = stretch.get(skip..end)?;
    let (median, spread) = centre_and_spread(held)?;
    let (first, last) = (held.first()?, held.last()?);
    Some(Figures {
        cents_off: median,
        depth_semitones: aim.depth_semitones(median),
        reach_s: (first.t - began).max(0.0),
        held_s: last.t - first.t,
        spread_cents: spread,
        drift_cents_per_s: drift(held),
        overshoot_cents: overshoot(&points[..range.start + skip], median, near, aim),
    })
}

/// Index from which the pitch is near and stays so for a while; an overshoot lies before it.
fn settled_at(stretch: &[Point], is_near: impl Fn(&Point) -> bool) -> Option<usize> {
    let mut candidate: Option<usize> = None;
    for (index, point) in stretch.iter().enumerate() {
        if !is_near(point) {
            candidate = None;
        } else if point.t - stretch[*candidate.get_or_insert(index)].t >= SETTLED_S {
            return candidate;
        }
    }
    stretch.iter().position(is_near)
}

/// Centre, and half the distance between the 16th and the 84th percentile, both without strays.
fn centre_and_spread(points: &[Point]) -> Option<(f64, f64)> {
    let kept = without_strays(points);
    Some((centre(&kept)?, half_spread(&sorted(kept.iter().map(|point| point.cents)))))
}

/// The points that belong to the note.
fn without_strays(points: &[Point]) -> Vec<Point> {
    let median = quantile(&sorted(points.iter().map(|point| point.cents)), 0.5);
    points.iter().copied().filter(|point| (point.cents - median).abs() <= STRAY_CENTS).collect()
}

/// The median of the pitch smoothed over [`SMOOTH_S`], in which the ends weigh less than the middle (a raised cosine).
///
/// The pitch of a vibrato is its mean (Shonle & Horan, JASA 67 (1980), from memory). A plain median would lean to the
/// side on which the vibrato happens to be cut off. `None` of nothing.
fn centre(points: &[Point]) -> Option<f64> {
    let step = std::f64::consts::PI / points.len() as f64;
    let weight = |index: usize| (step * (index as f64 + 0.5)).sin().powi(2);
    let smooth = smoothed(points);
    let mut weighted: Vec<(f64, f64)> =
        smooth.into_iter().enumerate().map(|(index, cents)| (cents, weight(index))).collect();
    weighted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut left = weighted.iter().map(|(_, weight)| weight).sum::<f64>() / 2.0;
    let middle = weighted.iter().find(|(_, weight)| {
        left -= weight;
        left <= 0.0
    });
    middle.or(weighted.last()).map(|(cents, _)| *cents)
}

/// The mean around every point, over half of [`SMOOTH_S`] either way as far as there is any.
fn smoothed(points: &[Point]) -> Vec<f64> {
    let (mut from, mut to, mut sum) = (0, 0, 0.0);
    let mean = |point: &Point| {
        while let Some(next) = points.get(to).filter(|next| next.t <= point.t + SMOOTH_S / 2.0) {
            sum += next.cents;
            to += 1;
        }
        while points[from].t < point.t - SMOOTH_S / 2.0 {
            sum -= points[from].cents;
            from += 1;
        }
        sum / (to - from) as f64
    };
    points.iter().map(mean).collect()
}

/// Half the distance between the 16th and the 84th percentile of sorted values: one standard deviation of a normal
/// distribution.
fn half_spread(sorted: &[f64]) -> f64 {
    (quantile(sorted, 0.84) - quantile(sorted, 0.16)) / 2.0
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values
}

/// Spread of everything heard that the target's hole can sound, cents; for a note that was never still.
pub(crate) fn whole_spread(points: &[Point], aim: &Aim) -> f64 {
    let inside = sorted(points.iter().map(|point| point.cents).filter(|cents| aim.in_span(*cents)));
    if inside.is_empty() {
        half_spread(&sorted(points.iter().map(|point| point.cents)))
    } else {
        half_spread(&inside)
    }
}

/// Slope in cents per second by the resistant line: the medians of the first and the last third, joined (Tukey,
/// *Exploratory Data Analysis*, 1977). Outliers and vibrato do not tilt it.
fn drift(held: &[Point]) -> f64 {
    let kept = without_strays(held);
    let third = kept.len() / 3;
    if third < 2 {
        return 0.0;
    }
    let middle = |points: &[Point], of: fn(&Point) -> f64| quantile(&sorted(points.iter().map(of)), 0.5);
    let (early, late) = (&kept[..third], &kept[kept.len() - third..]);
    let rise = middle(late, |point| point.cents) - middle(early, |point| point.cents);
    let run = middle(late, |point| point.t) - middle(early, |point| point.t);
    if run > 0.0 { rise / run } else { 0.0 }
}

/// How far the approach went beyond the held value, in the direction that the technique pulls; 0 if it stayed `near`.
///
/// The median of three neighbouring readings is used, so one wild reading is no overshoot, and what the hole cannot
/// sound (the pop of an overblow, a squeak) is not counted.
fn overshoot(approach: &[Point], held: f64, near: f64, aim: &Aim) -> f64 {
    let beyond = approach
        .windows(3)
        .map(|three| quantile(&sorted(three.iter().map(|point| point.cents)), 0.5))
        .filter(|cents| aim.in_span(*cents))
        .map(|cents| (cents - held) * aim.pull())
        .fold(0.0, f64::max);
    if beyond > near { beyond } else { 0.0 }
}
