//! What is measured over a stretch.

use crate::Figures;
use crate::aim::Aim;
use crate::tone::{hnr_db, level_spread_db, vibrato};
use crate::track::{Point, Track, half_spread, quantile};
use std::f64::consts::PI;
use std::ops::Range;

/// The held part begins within this of its centre, cents, unless the note is less steady than that …
const NEAR_CENTS: f64 = 15.0;
/// … and once it has stayed so for this long, seconds.
const SETTLED_S: f64 = 0.1;
/// Readings further than this from the median are no part of the note: a click, a wrong octave.
const STRAY_CENTS: f64 = 100.0;

/// Measures the stretch `range` of a try whose first sound was at `began` seconds. `None` if it is empty.
pub(crate) fn measure(track: &Track, range: Range<usize>, began: f64, aim: &Aim) -> Option<Figures> {
    let stretch = without_strays(track.points().get(range)?);
    // The middle half shows what the note is like, whatever leads into it and out of it.
    let quarter = stretch.len() / 4;
    let (rough, near) = core(&stretch[quarter..stretch.len() - quarter])?;
    let is_near = |point: &Point| (point.cents - rough).abs() <= near;
    let skip = settled_at(&stretch, is_near)?;
    let end = stretch.iter().rposition(is_near)? + 1;
    let held = stretch.get(skip..end)?;
    let (first, last) = (held.first()?, held.last()?);
    let ordered = sorted(held.iter());
    let (centre, slope) = line(held, quantile(&ordered, 0.5), near)?;
    Some(Figures {
        cents_off: centre,
        depth_semitones: aim.depth_semitones(centre),
        reach_s: (first.t - began).max(0.0),
        held_s: last.t - first.t,
        spread_cents: half_spread(&ordered),
        drift_cents_per_s: slope,
        overshoot_cents: overshoot(track.before(first.t), centre, near, aim),
        sigma_cents: median_sigma(held),
        level_spread_db: level_spread_db(held),
        hnr_db: hnr_db(held),
        vibrato: vibrato(held, (centre, slope)),
    })
}

/// The median of what the ear tells of its own error.
fn median_sigma(held: &[Point]) -> f64 {
    let mut sigmas: Vec<f64> = held.iter().map(|point| point.sigma).collect();
    sigmas.sort_by(f64::total_cmp);
    quantile(&sigmas, 0.5)
}

/// Spread of everything heard that the target's hole can sound, cents; for a note that was never still.
pub(crate) fn whole_spread(points: &[Point], aim: &Aim) -> f64 {
    let inside = sorted(points.iter().filter(|point| aim.in_span(point.cents)));
    if inside.is_empty() { half_spread(&sorted(points.iter())) } else { half_spread(&inside) }
}

/// The points that belong to the note.
fn without_strays(points: &[Point]) -> Vec<Point> {
    let median = quantile(&sorted(points.iter()), 0.5);
    points.iter().copied().filter(|point| (point.cents - median).abs() <= STRAY_CENTS).collect()
}

/// Centre of the inner part of a stretch, and how far from it the note as a whole may be for all its vibrato and drift.
pub(crate) fn core(inner: &[Point]) -> Option<(f64, f64)> {
    let (first, last) = (inner.first()?, inner.last()?);
    let ordered = sorted(inner.iter());
    let (centre, slope) = line(inner, quantile(&ordered, 0.5), STRAY_CENTS)?;
    // The whole stretch is twice as long as its inner half, so it drifts from the centre by slope times inner half.
    let near = 2.0 * half_spread(&ordered) + slope.abs() * (last.t - first.t);
    Some((centre, near.max(NEAR_CENTS)))
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

/// Centre (cents) and slope (cents per second) of the straight line that fits best what lies within `near` of the
/// median, the ends weighing less than the middle (a raised cosine). `None` of nothing.
///
/// The pitch of a vibrato is its mean (Shonle & Horan, JASA 67 (1980), from memory). Plain means and medians lean to
/// the side on which it happens to be cut off; under the raised cosine what is cut off hardly counts (Harris, Proc.
/// IEEE 66 (1978)). Of a steady note the centre is the median. Every reading stands for the time around it, so that
/// readings missing on one side of a vibrato do not shift it.
pub(crate) fn line(points: &[Point], median: f64, near: f64) -> Option<(f64, f64)> {
    let (first, last) = (points.first()?.t, points.last()?.t);
    let middle = f64::midpoint(first, last);
    let weigh = |index: usize| {
        let before = points[index.saturating_sub(1)].t;
        let after = points[(index + 1).min(points.len() - 1)].t;
        let Point { t, cents, .. } = points[index];
        let weight = (after - before) * (PI * (t - first) / (last - first)).sin().powi(2);
        (weight, t - middle, cents - median)
    };
    // Sums of weight, weight·t, weight·c, weight·t², weight·t·c.
    let [w, wt, wc, wtt, wtc] = (0..points.len())
        .map(weigh)
        .filter(|(weight, _, c)| *weight > 0.0 && c.abs() <= near)
        .fold([0.0; 5], |[w, wt, wc, wtt, wtc], (weight, t, c)| {
            [w + weight, wt + weight * t, wc + weight * c, wtt + weight * t * t, wtc + weight * t * c]
        });
    if w <= 0.0 {
        return Some((median, 0.0));
    }
    let variance = wtt - wt * wt / w;
    let slope = if variance > 0.0 { (wtc - wt * wc / w) / variance } else { 0.0 };
    Some((median + wc / w, slope))
}

/// How far the approach went beyond the held value, in the direction of [`Aim::beyond`]; 0 if it stayed `near`.
///
/// The median of three neighbouring readings is used, so one wild reading is no overshoot, and what the hole cannot
/// sound (the pop of an overblow, a squeak) is not counted.
fn overshoot(approach: &[Point], held: f64, near: f64, aim: &Aim) -> f64 {
    let beyond = approach
        .windows(3)
        .map(|three| quantile(&sorted(three.iter()), 0.5))
        .filter(|cents| aim.in_span(*cents))
        .map(|cents| (cents - held) * aim.beyond())
        .fold(0.0, f64::max);
    if beyond > near { beyond } else { 0.0 }
}

fn sorted<'a>(points: impl Iterator<Item = &'a Point>) -> Vec<f64> {
    let mut values: Vec<f64> = points.map(|point| point.cents).collect();
    values.sort_by(f64::total_cmp);
    values
}
