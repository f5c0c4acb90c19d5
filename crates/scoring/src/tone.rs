//! What a held note is like beside its pitch: vibrato, steadiness of the breath, breath noise.

use crate::Vibrato;
use crate::track::{Point, half_spread, quantile};

/// A vibrato is told from this depth on, cents either side: smaller swings are the unsteadiness of any player.
const LEAST_DEPTH_CENTS: f64 = 8.0;
/// Rates that players use, hertz; slower swings are drift. Common practice, no source.
const RATES_HZ: std::ops::RangeInclusive<f64> = 2.0..=10.0;
/// Whole swings that have to be heard.
const LEAST_SWINGS: f64 = 3.0;
/// Half swings of a vibrato last alike: their spread is at most this share of their mean.
const IRREGULAR: f64 = 0.4;
/// A crossing of the centre counts once the pitch has gone this share of the depth beyond it, so that a wavering
/// reading is no swing.
const BEYOND: f64 = 0.3;
/// Of a sine, the 84th percentile lies at this share of its amplitude: sin(0.34 π).
const SINE_SHARE: f64 = 0.876;
/// Clarity is held below 1 by this much, because a ratio without noise has no decibels: 60 dB at most.
const LEAST_NOISE: f64 = 1e-6;

/// The vibrato of a held part about a straight line: centre (cents, in the middle of the part) and slope (cents per
/// second).
pub(crate) fn vibrato(held: &[Point], (centre, slope): (f64, f64)) -> Option<Vibrato> {
    let middle = f64::midpoint(held.first()?.t, held.last()?.t);
    let off: Vec<(f64, f64)> =
        held.iter().map(|point| (point.t, point.cents - centre - slope * (point.t - middle))).collect();
    let mut sizes: Vec<f64> = off.iter().map(|(_, cents)| *cents).collect();
    sizes.sort_by(f64::total_cmp);
    let depth_cents = half_spread(&sizes) / SINE_SHARE;
    if depth_cents < LEAST_DEPTH_CENTS {
        return None;
    }
    let half_swings = half_swings(&off, BEYOND * depth_cents);
    let mean = half_swings.iter().sum::<f64>() / half_swings.len().max(1) as f64;
    let variance =
        half_swings.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / half_swings.len().max(1) as f64;
    let rate_hz = 0.5 / mean;
    let regular = half_swings.len() as f64 >= 2.0 * LEAST_SWINGS && variance.sqrt() <= IRREGULAR * mean;
    (regular && RATES_HZ.contains(&rate_hz)).then_some(Vibrato { rate_hz, depth_cents })
}

/// Seconds between one change of side and the next.
fn half_swings(off: &[(f64, f64)], beyond: f64) -> Vec<f64> {
    let mut side: Option<bool> = None;
    let mut changed: Option<f64> = None;
    let mut swings = Vec::new();
    for (t, cents) in off.iter().filter(|(_, cents)| cents.abs() > beyond) {
        let sharp = *cents > 0.0;
        if side.is_some_and(|side| side != sharp) {
            swings.extend(changed.map(|before| t - before));
            changed = Some(*t);
        }
        side = Some(sharp);
    }
    swings
}

/// How steady the level was, dB.
pub(crate) fn level_spread_db(held: &[Point]) -> f64 {
    half_spread(&in_order(held.iter().map(|point| point.level)))
}

/// Harmonics-to-noise ratio by the height of the autocorrelation at the period, r: 10 lg r / (1 − r) (Boersma,
/// Proceedings of the Institute of Phonetic Sciences Amsterdam 17:97–110, 1993; from memory); of the median reading,
/// dB.
pub(crate) fn hnr_db(held: &[Point]) -> f64 {
    let clarity = quantile(&in_order(held.iter().map(|point| point.clarity)), 0.5);
    let r = clarity.clamp(LEAST_NOISE, 1.0 - LEAST_NOISE);
    10.0 * (r / (1.0 - r)).log10()
}

fn in_order(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.filter(|value| value.is_finite()).collect();
    values.sort_by(f64::total_cmp);
    values
}
