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

/// The places near the reeds of a harp and the bends below them.
pub(super) fn of_harp(points: &Points, harp: &[[f64; 2]], places: &mut Vec<Spot>) {
    places.clear();
    for (hole, [blow, draw]) in (1..).zip(harp) {
        for (hz, other, draw) in [(blow, draw, false), (draw, blow, true)] {
            let natural = Spot { reed: Some(Reed { hole, draw }), ..Spot::default() };
            let (low, high) = (hz * up(-OFF), hz * up(OFF));
            push_best(points, (low, high), &natural, places);
            let deepest = other * up(ABOVE_OTHER);
            if deepest < low * up(-STEP) && places.len() < MOST {
                push_best(points, (deepest, low), &Spot { bent: true, ..natural }, places);
            }
        }
    }
}

/// The places within half a semitone of each note of the equal scale, where no harp is known.
pub(super) fn of_scale(points: &Points, places: &mut Vec<Spot>) {
    places.clear();
    for semitone in 0..MOST {
        let at = LOWEST_HZ * up(100.0 * semitone as f64);
        push_best(points, (at * up(-OFF), at * up(OFF)), &Spot::default(), places);
    }
}

/// Adds the best place in a range, hertz.
fn push_best(points: &Points, (low, high): (f64, f64), like: &Spot, places: &mut Vec<Spot>) {
    let tried = std::iter::successors(Some(low), |at| Some(at * up(STEP))).take_while(|at| *at <= high);
    let judged = tried.map(|at| (salience(&points.risen, at * points.per_hertz), at));
    let at = judged.max_by(|a, b| a.0.total_cmp(&b.0)).map_or(low, |(_, at)| at);
    places.push(Spot { at, low, high, place: places.len(), ..*like });
}

/// How far the first harmonics of a fundamental at a point rise above the noise, nats, the low ones counting most;
/// `risen` is that of each point.
pub(super) fn salience(risen: &[f64], at: f64) -> f64 {
    (1..=JUDGED).map(f64::from).map(|k| between(risen, at * k) / k.sqrt()).sum()
}
