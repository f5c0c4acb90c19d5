//! Which set of voices: a search that keeps a few sets of each size and adds one voice at a time.

use super::fit::{Fitter, Harmonics};
use super::places;
use super::points::Points;
use super::set::{Set, Spot, are_octave, hidden, reaches, same};
use super::told::MAX_VOICES;

/// Sets of each size that are kept.
const KEPT: usize = 2;
/// Voices that are tried beside each.
const TRIED: usize = 5;
/// By how much another set must be better than the one held, nats.
const STAYS: f64 = 4.0;
/// A voice this much weaker than the strongest one is not believed, power: 26 dB, less in an attack.
const WEAKEST: (f64, f64) = (2.5e-3, 0.15);
/// A place must rise this far above the noise to be tried, nats.
const AUDIBLE: f64 = 2.0;

/// Searches; owns its work space.
#[derive(Clone, Debug)]
pub(super) struct Chooser {
    fitter: Fitter,
    kept: [Set; KEPT],
    next: [Set; KEPT],
    left: Vec<f64>,
    tried: Vec<(f64, usize)>,
}

impl Chooser {
    /// Judges sets by the first `count` of `all` points.
    pub(super) fn new(count: usize, all: usize) -> Self {
        Self {
            fitter: Fitter::new(count, all),
            kept: [Set::EMPTY; KEPT],
            next: [Set::EMPTY; KEPT],
            left: vec![0.0; count],
            tried: Vec::with_capacity(places::MOST),
        }
    }

    /// The set that explains the spectrum best with at most `most` voices; an empty one if none pays. What was `held` so
    /// far, fitted to nothing yet, stays unless another set is better by more than chance. An upper reed that a fit could
    /// tell is left out of the answer: whether it sounds is told from many frames (`octave`).
    pub(super) fn choose(&mut self, points: &Points, places: &[Spot], most: usize, held: &Set) -> Set {
        let mut held = *held;
        if held.count > 0 {
            self.fit(points, &mut held);
        }
        let best = self.search(points, places, most);
        let stays = held.count > 0 && held.cost < best.cost + STAYS;
        lower(if stays { &held } else { &best }, places)
    }

    /// The harmonics of the voices of a fitted set.
    pub(super) fn harmonics(&mut self, points: &Points, set: &Set) -> Harmonics {
        self.fitter.harmonics(points, set)
    }

    fn search(&mut self, points: &Points, places: &[Spot], most: usize) -> Set {
        let mut best = Set { cost: self.fitter.unexplained(points), ..Set::EMPTY };
        self.kept = [Set::EMPTY; KEPT];
        self.kept[0] = best;
        for size in 1..=most.min(MAX_VOICES) {
            self.next = [Set::EMPTY; KEPT];
            for i in 0..KEPT {
                if self.kept[i].count + 1 == size && self.kept[i].cost.is_finite() {
                    self.grow(i, points, places);
                }
            }
            self.kept = self.next;
            if self.kept[0].cost < best.cost {
                best = self.kept[0];
            }
        }
        best
    }

    /// Tries the voices that explain most of what one of the kept sets leaves.
    fn grow(&mut self, kept: usize, points: &Points, places: &[Spot]) {
        let parent = self.kept[kept];
        self.fitter.leave(points, &parent, &mut self.left);
        self.tried.clear();
        for (i, place) in places.iter().enumerate() {
            let left = places::salience(&self.left, place.at);
            if place.salience > AUDIBLE && left > AUDIBLE && fits(&parent, place) {
                self.tried.push((left, i));
            }
        }
        self.tried.sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
        for i in 0..self.tried.len().min(TRIED) {
            let mut set = parent.with(places[self.tried[i].1]);
            if self.next.iter().any(|other| same(other, &set)) {
                continue;
            }
            self.fit(points, &mut set);
            let worst = KEPT - 1;
            if set.cost < self.next[worst].cost {
                self.next[worst] = set;
                self.next.sort_unstable_by(|a, b| a.cost.total_cmp(&b.cost));
            }
        }
    }

    /// Fits a set; one that is not believed costs more than anything.
    fn fit(&mut self, points: &Points, set: &mut Set) {
        self.fitter.fit(points, set);
        if !believable(set, WEAKEST.0 + WEAKEST.1 * points.unevenness.powi(2)) {
            set.cost = f64::INFINITY;
        }
    }
}

/// Whether a place can be added to a set so that a fit can tell it from the rest. Two reeds of a harp that are meant to be
/// an octave apart are tried: the more they are off it, as while one scoops into its pitch, the better a fit tells them,
/// and where only one of the two were tried, a third reed would be told for the lines of the other.
fn fits(set: &Set, place: &Spot) -> bool {
    let told_apart = |other: &Spot| !hidden(place.at, other.at) || are_octave(place, other);
    set.voices().iter().all(|other| reaches(place, other) && told_apart(other))
}

/// A set without the upper reeds of its octaves. Of two reeds of one pitch the first is told, as where none was tried: only
/// an upper reed that sounds says which of the two it is (`octave`).
fn lower(set: &Set, places: &[Spot]) -> Set {
    let mut lower = *set;
    for voice in (0..set.count).rev() {
        let one = &set.voices[voice];
        if set.voices().iter().any(|other| other.at < one.at && are_octave(one, other)) {
            lower = lower.without(voice);
        }
    }
    if lower.count < set.count {
        for voice in 0..lower.count {
            let low = lower.voices[voice];
            let is_twin = |place: &&Spot| place.is_times(1.0, &low) && lower.admits(place, voice);
            if let Some(twin) = places.iter().find(is_twin).filter(|_| !low.bent) {
                lower = lower.replaced(voice, Spot { at: low.at, ..*twin });
            }
        }
    }
    lower
}

/// Whether no voice is too weak beside the strongest.
fn believable(set: &Set, weakest: f64) -> bool {
    let powers = || (0..set.count).map(|voice| set.power(voice));
    let strongest = powers().fold(0.0, f64::max);
    powers().all(|power| power > weakest * strongest)
}
