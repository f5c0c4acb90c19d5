//! What a session comes to.

use crate::{Drill, Tried};
use layout::Way;
use scoring::Outcome;

/// What a session comes to. Tries that were not heard or not scored count for nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Summary {
    /// Tries that count.
    pub tries: usize,
    /// How many of them landed.
    pub landed: usize,
    /// How many of those were centred.
    pub centred: usize,
    /// Median distance from the target, cents, without sign, over the tries near it; `None` if there was none.
    pub median_cents_off: Option<f64>,
    /// What to practise next: of what did not always land, or landed without being centred, the worst. `None` if there
    /// is no such thing.
    pub weakest: Option<Way>,
}

impl Summary {
    pub(crate) fn of(drill: &Drill, results: &[Tried]) -> Self {
        let whole = Tally::of(results.iter());
        let weakest = (0..drill.items.len())
            .map(|item| (item, Tally::of(results.iter().filter(|tried| tried.asked.item == item))))
            .filter(|(_, tally)| tally.tries > 0 && tally.centred < tally.tries)
            .min_by(|(_, a), (_, b)| a.rank(b))
            .and_then(|(item, _)| weakest_note(results, item));
        Self {
            tries: whole.tries,
            landed: whole.landed,
            centred: whole.centred,
            median_cents_off: whole.median(),
            weakest,
        }
    }
}

/// The note of an item that went worst.
fn weakest_note(results: &[Tried], item: usize) -> Option<Way> {
    let of_item = || results.iter().filter(move |tried| tried.asked.item == item);
    let last = of_item().map(|tried| tried.asked.note).max()?;
    let (note, _) = (0..=last)
        .map(|note| (note, Tally::of(of_item().filter(move |tried| tried.asked.note == note))))
        .filter(|(_, tally)| tally.tries > 0 && tally.centred < tally.tries)
        .min_by(|(_, a), (_, b)| a.rank(b))?;
    of_item().find(|tried| tried.asked.note == note).map(Tried::way)
}

/// Tries of one item, or of all, added up.
struct Tally {
    tries: usize,
    landed: usize,
    centred: usize,
    /// Distances from the target, in order.
    off: Vec<f64>,
}

impl Tally {
    fn of<'a>(results: impl Iterator<Item = &'a Tried>) -> Self {
        let mut tally = Self { tries: 0, landed: 0, centred: 0, off: Vec::new() };
        for tried in results {
            let verdict = tried.verdict;
            let off = verdict.figures.map(|figures| figures.cents_off);
            match verdict.outcome {
                Outcome::NotHeard(_) | Outcome::CannotTell(_) => continue,
                Outcome::Landed => {
                    tally.landed += 1;
                    tally.centred += usize::from(off.is_some_and(|off| tried.tolerance.centred(off)));
                }
                _ => {}
            }
            tally.tries += 1;
            let near = !matches!(verdict.outcome, Outcome::AnotherNote(..) | Outcome::Unsteady(_));
            tally.off.extend(off.filter(|_| near).map(f64::abs));
        }
        tally.off.sort_by(f64::total_cmp);
        tally
    }

    fn median(&self) -> Option<f64> {
        let (below, above) =
            (self.off.get(self.off.len().checked_sub(1)? / 2)?, self.off.get(self.off.len() / 2)?);
        Some(f64::midpoint(*below, *above))
    }

    /// The worse one first: the smaller share landed, then the greater distance; nothing near is the greatest.
    fn rank(&self, other: &Self) -> std::cmp::Ordering {
        let share = |tally: &Self| tally.landed as f64 / tally.tries as f64;
        let off = |tally: &Self| tally.median().unwrap_or(f64::INFINITY);
        share(self).total_cmp(&share(other)).then(off(other).total_cmp(&off(self)))
    }
}
