//! Which set of voices: a search that keeps a few sets of each size and adds one voice at a time.

use super::fit::{Fitter, Set};
use super::points::Points;
use super::{MAX_VOICES, Place, Reed};

/// Sets of each size that are kept.
const KEPT: usize = 6;
/// What each silent hole between sounding ones costs, nats.
const PER_GAP: f64 = 3.0;
/// A voice this much weaker than the strongest one is not believed, power: 26 dB, less in an attack.
const WEAKEST: (f64, f64) = (2.5e-3, 0.15);
/// A place must rise this far above the noise to be tried, nats.
const AUDIBLE: f64 = 2.0;
/// Holes between the outermost of a set, at most.
const SPAN: usize = 4;

/// Searches; owns its work space.
#[derive(Clone, Debug)]
pub(super) struct Chooser {
    pub(super) fitter: Fitter,
    kept: [Set; KEPT],
    next: [Set; KEPT],
}

impl Chooser {
    pub(super) fn new(count: usize) -> Self {
        Self { fitter: Fitter::new(count), kept: [Set::EMPTY; KEPT], next: [Set::EMPTY; KEPT] }
    }

    /// The set that explains the spectrum best with at most `most` voices; an empty one if none pays.
    pub(super) fn choose(&mut self, points: &Points, places: &[Place], most: usize) -> Set {
        let mut best = Set { cost: Fitter::unexplained(points), ..Set::EMPTY };
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

    /// Tries every voice that may be added to one of the kept sets.
    fn grow(&mut self, kept: usize, points: &Points, places: &[Place]) {
        for place in places.iter().filter(|place| place.salience > AUDIBLE) {
            let parent = self.kept[kept];
            if !fits(&parent, place) {
                continue;
            }
            let mut set = parent.with(*place);
            if self.next.iter().any(|other| same(other, &set)) {
                continue;
            }
            self.fitter.fit(points, &mut set);
            set.cost += PER_GAP * gaps(&set) as f64;
            if !believable(&set, WEAKEST.0 + WEAKEST.1 * points.unevenness.powi(2)) {
                continue;
            }
            let worst = KEPT - 1;
            if set.cost < self.next[worst].cost {
                self.next[worst] = set;
                self.next.sort_unstable_by(|a, b| a.cost.total_cmp(&b.cost));
            }
        }
    }
}

/// Whether one breath through neighbouring holes can sound this voice too; where no harp is known, whether it is
/// another one at all.
fn fits(set: &Set, place: &Place) -> bool {
    set.voices().iter().all(|other| match (place.reed, other.reed) {
        (Some(a), Some(b)) => {
            let reached = (1..=SPAN).contains(&a.hole().abs_diff(b.hole()));
            a.draw == b.draw && reached && !hidden(place.at, other.at)
        }
        _ => (place.at / other.at).ln().abs() > 0.04 && !hidden(place.at, other.at),
    })
}

/// Whether one voice lies at a harmonic of the other, so that all its lines fall onto lines of the other and a fit
/// cannot tell them apart.
pub(super) fn hidden(a: f64, b: f64) -> bool {
    let ratio = (a / b).max(b / a);
    ratio > 1.9 && (ratio / ratio.round() - 1.0).abs() < 0.04
}

/// Whether two sets hold the same places.
fn same(a: &Set, b: &Set) -> bool {
    a.count == b.count
        && b.voices()
            .iter()
            .all(|one| a.voices().iter().any(|other| one.low == other.low && one.high == other.high))
}

/// Silent holes between the sounding ones.
fn gaps(set: &Set) -> usize {
    let holes = || set.voices().iter().filter_map(|voice| voice.reed).map(Reed::hole);
    match (holes().min(), holes().max()) {
        (Some(low), Some(high)) => (high - low + 1).saturating_sub(set.count),
        _ => 0,
    }
}

/// Whether no voice is too weak beside the strongest.
fn believable(set: &Set, weakest: f64) -> bool {
    let powers = || (0..set.count).map(|voice| set.power(voice));
    let strongest = powers().fold(0.0, f64::max);
    powers().all(|power| power > weakest * strongest)
}
