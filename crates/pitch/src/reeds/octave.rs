//! Whether a reed sounds an octave above another: every harmonic of the upper one falls onto one of the lower.

use super::fit::{HARMONICS, Set};
use super::{Place, Reed};

/// By how much the even harmonics must stand out, decibels.
pub(super) const STANDS_OUT: f64 = 9.0;
/// Even harmonics that are compared with their neighbours.
const COMPARED: usize = 4;
/// Two reeds are an octave apart within this, as a share of the ratio (60 cents).
const WITHIN: f64 = 0.035;

/// Adds to a lone reed whose even harmonics stand out the reed an octave above it that one mouth reaches.
pub(super) fn complete(set: &mut Set, places: &[Place]) {
    let [low] = set.voices() else { return };
    let Some(reed) = low.reed else { return };
    let reaches =
        |other: Reed| other.draw == reed.draw && (2..=4).contains(&other.hole().abs_diff(reed.hole()));
    let upper = places.iter().find(|place| {
        !place.bent && place.reed.is_some_and(reaches) && (place.at / low.at / 2.0 - 1.0).abs() < WITHIN
    });
    let Some(upper) = upper else { return };
    if !low.bent && standing_out(&set.amplitudes[0]) >= STANDS_OUT {
        *set = set.with(*upper);
        share(set);
    }
}

/// By how much the even harmonics exceed their odd neighbours, decibels on average.
pub(super) fn standing_out(amplitudes: &[f64; HARMONICS]) -> f64 {
    let db = |i: usize| 20.0 * amplitudes[i].max(1.0e-6).log10();
    let excess = |n: usize| db(2 * n + 1) - f64::midpoint(db(2 * n), db(2 * n + 2));
    let fitted = amplitudes.iter().take_while(|a| **a > 0.0).count();
    let compared = (fitted.saturating_sub(1) / 2).min(COMPARED);
    (0..compared).map(excess).sum::<f64>() / (compared.max(2)) as f64
}

/// Gives the upper reed what the even harmonics have more than their neighbours.
fn share(set: &mut Set) {
    let low = set.amplitudes[0];
    let mut upper = [0.0; HARMONICS];
    for n in (1..HARMONICS).step_by(2) {
        let next = low.get(n + 1).copied().unwrap_or(low[n - 1]);
        let own = (low[n - 1] * next).sqrt().min(low[n]);
        upper[n / 2] = (low[n] * low[n] - own * own).sqrt();
        set.amplitudes[0][n] = own;
    }
    set.amplitudes[1] = upper;
}
