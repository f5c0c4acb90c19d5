//! Whether another harp is being played than the one that is listened for.

use crate::Tried;
use layout::{Harp, HarpKey};
use scoring::Outcome;

/// Tries that have to miss alike before anything is said.
const TRIES: usize = 3;
/// Misses by less than this are the player's, cents; the reeds of another harp lie a half step off at least.
const LEAST_CENTS: f64 = 80.0;
/// How far the misses may lie apart, cents: a player on another harp is off by the same interval every time.
const SPREAD_CENTS: f64 = 20.0;

/// The key of the harp that would explain the last tries: three in a row that missed by one interval of 80 cents or
/// more.
///
/// A bend that stops a half step short every time misses alike as well. So a miss counts only where the asked hole
/// cannot sound what was heard, or where a natural note was asked for. A natural note cannot be bent upwards, and three
/// of them are not bent down by one interval by chance.
pub(crate) fn other_key(results: &[Tried], harp: &Harp) -> Option<HarpKey> {
    let last = results.len().checked_sub(TRIES).and_then(|from| results.get(from..))?;
    let misses: Vec<f64> = last.iter().filter_map(miss).collect();
    if misses.len() < TRIES {
        return None;
    }
    let (low, high) = misses
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), cents| (low.min(*cents), high.max(*cents)));
    let mean = misses.iter().sum::<f64>() / misses.len() as f64;
    let half_steps = (mean / 100.0).round();
    let one_interval = high - low <= SPREAD_CENTS && (mean - 100.0 * half_steps).abs() <= SPREAD_CENTS;
    if !one_interval || mean.abs() < LEAST_CENTS {
        return None;
    }
    let wanted = HarpKey::from_blow_1(harp.key().blow_1().up(half_steps as i32)?);
    HarpKey::all().find(|key| *key == wanted)
}

/// By how much a try missed, cents, if that says something about the harp.
fn miss(tried: &Tried) -> Option<f64> {
    let off = tried.verdict.figures?.cents_off;
    match tried.verdict.outcome {
        // Sharp and flat are natural notes only; a bend stops short or goes past.
        Outcome::AnotherNote(..) | Outcome::Sharp(_) | Outcome::Flat(_) => Some(off),
        _ => None,
    }
}
