//! What most players play: it breaks ties between positions, and a harp that is no Richter harp has to be worth it.

use crate::Position;
use layout::{Breath, Harp, HarpKey, Tuning};

/// How far apart two choices may cost and still count as tied, points a note: a fifth of a point is what one note in
/// ten costs if it takes the cheapest bend. Custom never outweighs more than this. Ours; common practice, no source.
pub const TIE: f64 = 0.2;

/// What the least usual position costs more than the second, points.
const BY_POSITION: f64 = TIE / 2.0;

/// Points for a harp whose tuning is sold in every key: it has to be bought besides.
const SOLD: f64 = 0.1;
/// Points for a harp of which some reeds are retuned: it is made to order, and a player has to remember where it
/// differs.
const RETUNED: f64 = 0.3;
/// Points for a harp with another layout: everything has to be learned anew on it.
const ANOTHER_LAYOUT: f64 = 0.6;
/// The most reeds of a retuned harp that differ from a Richter harp; the harmonic minor harp has five.
const MOST_RETUNED: usize = 5;

/// What a position costs more because fewer players use it, from 0 to [`BY_POSITION`] points: players use the second
/// most, then the first, the third, then the fourth, fifth and twelfth, and the others seldom (common practice, no
/// source).
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

/// What a harp costs more because it is no Richter harp, points. Ours; common practice, no source; that the country
/// tuning is among the commonest stands on a hobby page.
pub(crate) fn of_harp(harp: &Harp) -> f64 {
    let name = harp.tuning().name();
    if matches!(name, "natural minor" | "harmonic minor" | "country") {
        return SOLD;
    }
    match reeds_unlike_richter(harp) {
        0 => 0.0,
        1..=MOST_RETUNED => RETUNED,
        _ => ANOTHER_LAYOUT,
    }
}

/// How many reeds lie another number of semitones above 1 blow than on a Richter harp.
fn reeds_unlike_richter(harp: &Harp) -> usize {
    let richter = Harp::new(HarpKey::default(), Tuning::richter(), harp.concert());
    let reeds = |of: &Harp| -> Vec<Option<i32>> {
        let base = of.reed(1, Breath::Blow).map_or(0, |note| i32::from(note.midi()));
        let ways = (1..=of.holes().max(richter.holes()))
            .flat_map(|hole| [(hole, Breath::Blow), (hole, Breath::Draw)]);
        ways.map(|(hole, breath)| of.reed(hole, breath).map(|note| i32::from(note.midi()) - base)).collect()
    };
    reeds(harp).iter().zip(reeds(&richter)).filter(|(own, richter)| **own != *richter).count()
}
