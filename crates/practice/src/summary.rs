//! What a session comes to.

use crate::{Drill, Tried};
use layout::{Technique, Way};
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
    /// On which side of the pitch the tries near it lay, those of bends and overbends where the drill asks for any;
    /// `None` where they were too few to say.
    pub lean: Option<Lean>,
    /// What to practise next: of what did not always land, or landed without being centred, the worst. `None` if there
    /// is no such thing.
    pub weakest: Option<Way>,
}

/// On which side of the pitch tries lay.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lean {
    /// Tries below the pitch.
    pub flat: usize,
    /// Tries above it.
    pub sharp: usize,
    /// The middle one of all distances from the pitch, cents; negative is flat.
    pub median_cents: f64,
}

/// Fewer tries than this say nothing about a habit.
const LEAST_TRIES: usize = 4;

impl Lean {
    /// The share on one side from which that is called the habit.
    pub const MOSTLY: f64 = 0.75;
    /// A distance of less than this is not heard, cents: half of what musicians can just hear (10.1 cents at 528 Hz;
    /// Arndt, Schlemmer & van der Meer, Experimental Brain Research 238:247–258).
    pub const HEARD_CENTS: f64 = 5.0;

    /// Whether most tries lay below the pitch by enough to be heard.
    pub fn is_flat(&self) -> bool {
        self.mostly(self.flat) && self.median_cents <= -Self::HEARD_CENTS
    }

    /// Whether most tries lay above the pitch by enough to be heard.
    pub fn is_sharp(&self) -> bool {
        self.mostly(self.sharp) && self.median_cents >= Self::HEARD_CENTS
    }

    /// Tries that it was told from.
    pub fn tries(&self) -> usize {
        self.flat + self.sharp
    }

    fn mostly(&self, side: usize) -> bool {
        side as f64 >= Self::MOSTLY * self.tries() as f64
    }
}

impl Summary {
    pub(crate) fn of(drill: &Drill, results: &[Tried]) -> Self {
        let whole = Tally::of(results.iter());
        // Bends have a habit of their own. Many drills ask for natural notes between the bends; those are left out.
        let bends = Tally::of(results.iter().filter(|tried| tried.way().technique != Technique::Natural));
        let items = (0..drill.items.len())
            .map(|item| (item, Tally::of(results.iter().filter(|tried| tried.asked.item == item))));
        let weakest = weakest(items).and_then(|item| weakest_note(results, item));
        Self {
            tries: whole.tries,
            landed: whole.landed,
            centred: whole.centred,
            median_cents_off: median(&whole.off),
            lean: if bends.tries > 0 { bends.lean() } else { whole.lean() },
            weakest,
        }
    }
}

/// Which of these went worst; `None` if all tries of all landed in the centre.
fn weakest(tallies: impl Iterator<Item = (usize, Tally)>) -> Option<usize> {
    let missed = tallies.filter(|(_, tally)| tally.centred < tally.tries);
    missed.min_by(|(_, a), (_, b)| a.rank(b)).map(|(which, _)| which)
}

/// The note of an item that went worst.
fn weakest_note(results: &[Tried], item: usize) -> Option<Way> {
    let of_item = || results.iter().filter(move |tried| tried.asked.item == item);
    let last = of_item().map(|tried| tried.asked.note).max()?;
    let note = weakest(
        (0..=last).map(|note| (note, Tally::of(of_item().filter(move |tried| tried.asked.note == note)))),
    )?;
    of_item().find(|tried| tried.asked.note == note).map(Tried::way)
}

/// Tries of one item, or of all, added up.
struct Tally {
    tries: usize,
    landed: usize,
    centred: usize,
    /// Distances from the target without their sign, in order.
    off: Vec<f64>,
    /// The same with their sign, in order.
    signed: Vec<f64>,
}

impl Tally {
    fn of<'a>(results: impl Iterator<Item = &'a Tried>) -> Self {
        let mut tally = Self { tries: 0, landed: 0, centred: 0, off: Vec::new(), signed: Vec::new() };
        for tried in results {
            let verdict = tried.verdict;
            let off = verdict.figures.map(|figures| figures.cents_off);
            match verdict.outcome {
                Outcome::NotHeard(_) | Outcome::CannotTell(_) => continue,
                Outcome::Landed if tried.has_landed() => {
                    tally.landed += 1;
                    tally.centred += usize::from(off.is_some_and(|off| tried.tolerance.centred(off)));
                }
                _ => {}
            }
            tally.tries += 1;
            let near = !matches!(verdict.outcome, Outcome::AnotherNote(..) | Outcome::Unsteady(_));
            tally.off.extend(off.filter(|_| near).map(f64::abs));
            tally.signed.extend(off.filter(|_| near));
        }
        tally.off.sort_by(f64::total_cmp);
        tally.signed.sort_by(f64::total_cmp);
        tally
    }

    fn lean(&self) -> Option<Lean> {
        let flat = self.signed.iter().filter(|off| **off < 0.0).count();
        let lean = Lean { flat, sharp: self.signed.len() - flat, median_cents: median(&self.signed)? };
        (lean.tries() >= LEAST_TRIES).then_some(lean)
    }

    /// The worse one first: the smaller share landed, then the greater distance; no try near the target counts as the
    /// greatest.
    fn rank(&self, other: &Self) -> std::cmp::Ordering {
        let share = |tally: &Self| tally.landed as f64 / tally.tries as f64;
        let off = |tally: &Self| median(&tally.off).unwrap_or(f64::INFINITY);
        share(self).total_cmp(&share(other)).then(off(other).total_cmp(&off(self)))
    }
}

/// The middle of numbers in order, or that of the two in the middle.
fn median(ordered: &[f64]) -> Option<f64> {
    let (below, above) = (ordered.get(ordered.len().checked_sub(1)? / 2)?, ordered.get(ordered.len() / 2)?);
    Some(f64::midpoint(*below, *above))
}
