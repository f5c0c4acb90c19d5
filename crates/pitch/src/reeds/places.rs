//! Where a voice may lie: near the reeds of the harp, or near the notes of the scale.

use super::points::{Points, between};
use super::set::Spot;
use super::told::Reed;

/// Cents by which a reed may be off its pitch.
const OFF: f64 = 50.0;
/// The deepest bend stays this far above the other reed of its hole, cents.
const ABOVE_OTHER: f64 = 60.0;
/// Cents between two places that are tried.
const STEP: f64 = 5.0;
/// Harmonics by which a place is judged; each counts one over the root of its number.
const JUDGED: u32 = 5;
/// The lowest fundamental where no harp is known, hertz; the highest lies `MOST` semitones above.
const LOWEST_HZ: f64 = 82.4;
/// The most places there can be.
pub(super) const MOST: usize = 64;

/// Cents up, as a factor.
fn up(cents: f64) -> f64 {
    (cents / 1_200.0).exp2()
}

/// The places near the reeds of a harp and the bends below them. `per_hertz` is points per hertz.
pub(super) fn of_harp(points: &Points, harp: &[[f64; 2]], per_hertz: f64, places: &mut Vec<Spot>) {
    places.clear();
    for (hole, pair) in harp.iter().enumerate() {
        for (draw, hz) in [(false, pair[0]), (true, pair[1])] {
            let Some(reed) = Reed::new(hole, draw) else { continue };
            let other = if draw { pair[0] } else { pair[1] };
            let at = hz * per_hertz;
            let range = (at * up(-OFF), at * up(OFF));
            let natural = Spot { reed: Some(reed), place: places.len(), ..Spot::default() };
            places.push(best_in(points, range, natural));
            let deepest = other * up(ABOVE_OTHER) * per_hertz;
            if deepest < range.0 * up(-STEP) && places.len() < MOST {
                let bent = Spot { bent: true, place: places.len(), ..natural };
                places.push(best_in(points, (deepest, range.0), bent));
            }
        }
    }
}

/// The best place in a range of points.
fn best_in(points: &Points, (low, high): (f64, f64), like: Spot) -> Spot {
    let mut best = Spot { at: f64::midpoint(low, high), low, high, ..like };
    let mut most = f64::NEG_INFINITY;
    let mut at = low;
    while at <= high {
        let salience = salience(&points.risen, at);
        if salience > most {
            (most, best.at) = (salience, at);
        }
        at *= up(STEP);
    }
    best
}

/// How far the first harmonics rise above the noise, nats, the low ones counting most. `risen` is that of each point.
pub(super) fn salience(risen: &[f64], at: f64) -> f64 {
    (1..=JUDGED).map(f64::from).map(|k| between(risen, at * k) / k.sqrt()).sum()
}

/// The places within half a semitone of each note of the equal scale, where no harp is known.
pub(super) fn of_scale(points: &Points, per_hertz: f64, places: &mut Vec<Spot>) {
    places.clear();
    for semitone in 0..MOST {
        let at = LOWEST_HZ * up(100.0 * semitone as f64) * per_hertz;
        places.push(best_in(
            points,
            (at * up(-OFF), at * up(OFF)),
            Spot { place: semitone, ..Spot::default() },
        ));
    }
}
