//! Which set of voices: a search that keeps a few sets of each size and adds one voice at a time.

use super::fit::{Fitter, unexplained};
use super::places;
use super::points::Points;
use super::set::{Set, Spot, are_octave, hidden, reaches};

/// Sets of each size that are kept.
const KEPT: usize = 2;
/// Voices that are tried beside each.
const TRIED: usize = 5;
/// By how much another set must be better than the one held, nats.
const STAYS: f64 = 4.0;
/// What the rest leaves at a place must rise this far above the noise for it to be tried, nats.
const AUDIBLE: f64 = 2.0;

/// Searches; owns its work space.
#[derive(Clone, Debug)]
pub(super) struct Chooser {
    pub(super) fitter: Fitter,
    /// The best sets of one size, the best one first, and those of one voice less.
    kept: Vec<Set>,
    parents: Vec<Set>,
    left: Vec<f64>,
    tried: Vec<(f64, Spot)>,
}

impl Chooser {
    /// For spectra of so many points at most.
    pub(super) fn new(most: usize) -> Self {
        Self {
            fitter: Fitter::new(most),
            kept: Vec::with_capacity(KEPT + 1),
            parents: Vec::with_capacity(KEPT + 1),
            left: Vec::with_capacity(most),
            tried: Vec::with_capacity(places::MOST),
        }
    }

    /// The set that explains the spectrum best with at most `most` voices; an empty one if none pays. What was `held` so
    /// far, fitted to nothing yet, stays unless another set is better by more than chance. The upper reed of
    /// an octave is left out of the answer: whether it sounds is told from many frames (`octave`).
    pub(super) fn choose(&mut self, points: &Points, places: &[Spot], most: usize, held: &Set) -> Set {
        let mut held = *held;
        if held.count > 0 {
            self.fitter.fit(points, &mut held);
        }
        let best = self.search(points, places, most);
        let stays = held.count > 0 && held.cost < best.cost + STAYS;
        lower(if stays { &held } else { &best })
    }

    fn search(&mut self, points: &Points, places: &[Spot], most: usize) -> Set {
        let mut best = Set { cost: unexplained(points), ..Set::default() };
        self.kept.clear();
        self.kept.push(best);
        for _ in 0..most {
            std::mem::swap(&mut self.parents, &mut self.kept);
            self.kept.clear();
            for i in 0..self.parents.len() {
                self.grow(&self.parents[i].clone(), points, places);
            }
            best = self.kept.first().copied().filter(|set| set.cost < best.cost).unwrap_or(best);
        }
        best
    }

    /// Tries the voices that explain most of what a set leaves.
    fn grow(&mut self, parent: &Set, points: &Points, places: &[Spot]) {
        self.fitter.leave(points, parent, &mut self.left);
        let fitting = places.iter().filter(|place| fits(parent, place));
        let left = fitting.map(|place| (places::salience(&self.left, place.at * points.per_hertz), *place));
        self.tried.clear();
        self.tried.extend(left.filter(|(left, _)| *left > AUDIBLE));
        self.tried.sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
        for i in 0..self.tried.len().min(TRIED) {
            let mut set = parent.with(&self.tried[i].1);
            if self.kept.iter().any(|other| set.is_within(other)) {
                continue;
            }
            self.fitter.fit(points, &mut set);
            self.kept.extend(Some(set).filter(|set| set.cost.is_finite()));
            self.kept.sort_unstable_by(|a, b| a.cost.total_cmp(&b.cost));
            self.kept.truncate(KEPT);
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

/// A set without the upper reeds of its octaves, from the lowest voice up: where lines coincide, the voice that is fitted
/// first takes more of them, and a low voice that is not there betrays itself by other lines. From the highest voice down
/// twelve of 1080 right chords and splits were blamed in the exercise, and two are now.
fn lower(set: &Set) -> Set {
    let is_upper = |one: &Spot| set.voices().iter().any(|other| other.at < one.at && are_octave(one, other));
    let voices = set.voices().iter().filter(|voice| !is_upper(voice));
    let mut lower = voices.fold(Set::default(), |lower, voice| lower.with(voice));
    lower.voices[..lower.count].sort_unstable_by(|a, b| a.at.total_cmp(&b.at));
    lower
}
