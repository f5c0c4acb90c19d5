//! Where a voice may lie: near the reeds of the harp, or under the peaks of the spectrum.

use super::points::{Points, between};
use super::set::{SAME, SPAN, Spot};
use super::told::Reed;

/// Cents by which a reed may be off its pitch.
const OFF: f64 = 50.0;
/// The deepest bend stays this far above the other reed of its hole, cents.
const ABOVE_OTHER: f64 = 60.0;
/// What a bent reed costs more than a natural one, nats.
const BENT: f64 = 4.0;
/// Cents between two places that are tried.
const STEP: f64 = 5.0;
/// What each harmonic counts where a place is judged: one over the root of its number.
const WEIGHTS: [f64; 5] = [1.0, 0.707, 0.577, 0.5, 0.447];
/// Peaks that are considered where no harp is known, and into how many parts each is divided.
const PEAKS: usize = 8;
const PARTS: usize = 4;
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
            let octave = octave(harp, hole, draw);
            places.push(best_in(points, range, Spot { reed: Some(reed), octave, ..Spot::NONE }));
            let deepest = other * up(ABOVE_OTHER) * per_hertz;
            if deepest < range.0 * up(-STEP) && places.len() < MOST {
                let bent = Spot { reed: Some(reed), bent: true, cost: BENT, ..Spot::NONE };
                places.push(best_in(points, (deepest, range.0), bent));
            }
        }
    }
}

/// Whether a reed has another of its breath an octave above within reach of one mouth.
fn octave(harp: &[[f64; 2]], hole: usize, draw: bool) -> bool {
    let reed = |hole: usize| harp[hole][usize::from(draw)];
    let above = hole + 1..harp.len().min(hole + 1 + SPAN);
    above.into_iter().any(|other| (reed(other) / reed(hole) / 2.0).ln().abs() < SAME)
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
    Spot { salience: most, ..best }
}

/// How far the first harmonics rise above the noise, nats, the low ones counting most. `risen` is that of each point.
pub(super) fn salience(risen: &[f64], at: f64) -> f64 {
    WEIGHTS.iter().zip(1..).map(|(weight, k)| weight * between(risen, at * f64::from(k))).sum()
}

/// The strongest peaks and their whole parts, where no harp is known.
pub(super) fn of_peaks(points: &Points, (low, high): (f64, f64), places: &mut Vec<Spot>) {
    places.clear();
    let mut peaks = [(0.0, 0.0); PEAKS];
    for i in 2..points.power.len() - 2 {
        let here = points.power[i];
        let top = here > points.power[i - 1] && here >= points.power[i + 1];
        // The blur of a line is part of its noise, so only what stands clear of its neighbours counts.
        if top && here > 20.0 * points.noise[i] && here > peaks[PEAKS - 1].1 {
            peaks[PEAKS - 1] = (summit(&points.power[i - 1..=i + 1], i), here);
            peaks.sort_unstable_by(|a, b| b.1.total_cmp(&a.1));
        }
    }
    for (peak, _) in peaks.iter().filter(|(_, power)| *power > 0.0) {
        for part in 1..=PARTS {
            let at = peak / part as f64;
            let known = places.iter().any(|place: &Spot| (place.at / at).ln().abs() < 0.01);
            if (low..=high).contains(&at) && !known && places.len() < MOST {
                let range = (at * up(-OFF), at * up(OFF));
                let place = Spot { at, low: range.0, high: range.1, ..Spot::NONE };
                places.push(Spot { salience: salience(&points.risen, at), ..place });
            }
        }
    }
}

/// Where a parabola through the logarithms of three points has its top.
fn summit(three: &[f64], middle: usize) -> f64 {
    let [a, b, c] = [0, 1, 2].map(|i| three[i].max(1.0e-30).ln());
    middle as f64 + (0.5 * (a - c) / (a - 2.0 * b + c)).clamp(-0.5, 0.5)
}
