//! What a way costs a player.
//!
//! The points are ours; what they rest on is common practice, without a source: a deep bend is harder than a shallow
//! one; a bend that has to stop above its floor, the deepest bend of the hole, is much harder to place than one that
//! sinks to it; blow bends come after draw bends, overbends after both, overdraws last. The small reeds of the upper
//! holes speak less readily than the others, but a natural note on them is still easier than any bend.

use crate::{Ability, Mastery};
use layout::{Breath, Harp, Technique, Way};

/// Points for a note that cannot be had. Every note that can be had costs less.
pub const MISSING: u32 = 20;

/// Points for any bend, and for every half step of it.
const BEND: u32 = 1;
/// Points more for a bend that stops above its floor.
const PLACED: u32 = 2;
/// Points more for a bend on the blow.
const BLOW_BEND: u32 = 1;
/// Points for an overblow.
pub(crate) const OVERBLOW: u32 = 8;
/// Points for an overdraw.
const OVERDRAW: u32 = 9;
/// Points more for a way that the player is still learning.
pub(crate) const LEARNING: u32 = 3;
/// Points more above hole 6, where the reeds are small and speak less readily: half of the shallowest bend.
const HIGH: u32 = 1;

/// What a way costs a player, 0 for a natural note on holes 1 to 6, less than [`MISSING`]; `None` if the harp cannot
/// play it or the player does not reach it.
pub fn cost(harp: &Harp, way: Way, ability: &Ability) -> Option<u32> {
    harp.note(way).and_then(|_| cost_on(harp, way, ability))
}

/// What `cost` says, for a way that the harp is known to have.
pub(crate) fn cost_on(harp: &Harp, way: Way, ability: &Ability) -> Option<u32> {
    let command = match ability.mastery(way) {
        Mastery::Sure => 0,
        Mastery::Learning => LEARNING,
        Mastery::NotYet => return None,
    };
    let technique = match (way.technique, way.breath) {
        (Technique::Natural, _) => 0,
        (Technique::Overbend, Breath::Blow) => OVERBLOW,
        (Technique::Overbend, Breath::Draw) => OVERDRAW,
        (Technique::Bend(depth), breath) => {
            let placed = if depth < harp.deepest_bend(way.hole) { PLACED } else { 0 };
            let blow = if breath == Breath::Blow { BLOW_BEND } else { 0 };
            BEND + BEND * u32::from(depth) + placed + blow
        }
    };
    Some((technique + command + high(way.hole)).min(MISSING - 1))
}

/// Points more for a hole because of where it lies.
pub(crate) fn high(hole: u8) -> u32 {
    if hole > 6 { HIGH } else { 0 }
}

/// The cheapest of some ways and what it costs; the first of equals. `None` if the player reaches none.
pub(crate) fn cheapest(harp: &Harp, ways: &[Way], ability: &Ability) -> Option<(Way, u32)> {
    ways.iter().filter_map(|way| Some((*way, cost(harp, *way, ability)?))).min_by_key(|(_, cost)| *cost)
}
