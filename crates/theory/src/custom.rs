//! What most players do: it breaks ties between choices that cost nearly the same.

use crate::Position;
use layout::Harp;

/// How far apart two choices may cost and still count as tied, points a note: a fifth of a point is less than what one
/// bent note in ten costs. Custom never outweighs more than this. Ours; common practice, no source.
pub const TIE: f64 = 0.2;

/// The part of [`TIE`] that the position can fill, points.
const BY_POSITION: f64 = TIE / 2.0;
/// The part of [`TIE`] that the tuning can fill, points.
const BY_TUNING: f64 = TIE / 2.0;

/// What a choice costs more because fewer players make it, from 0 to [`TIE`] points.
pub(crate) fn rarity(harp: &Harp, position: Position) -> f64 {
    of_position(position) + of_tuning(harp.tuning().name())
}

/// The part of the tuning: most harps are Richter harps, some others are sold in every key, the rest are made to order
/// (common practice, no source; that the country tuning is among the commonest stands on a hobby page).
fn of_tuning(name: &str) -> f64 {
    match name {
        "Richter" => 0.0,
        "natural minor" | "harmonic minor" | "country" => BY_TUNING / 2.0,
        _ => BY_TUNING,
    }
}

/// The part of the position: players use the second most, then the first, the third, then the fourth, fifth and twelfth,
/// and the others seldom (common practice, no source).
pub(crate) fn of_position(position: Position) -> f64 {
    let steps = match position.number() {
        2 => 0.0,
        1 => 1.0,
        3 => 2.0,
        4 | 5 | 12 => 3.0,
        _ => 4.0,
    };
    BY_POSITION * steps / 4.0
}
