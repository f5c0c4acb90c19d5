//! What a drill of chords comes to.

use super::ChordTried;
use crate::Drill;
use scoring::reeds::{ReedsOutcome, ReedsTarget};

/// What a drill of chords comes to. Tries that were not heard, or of which nothing can be told, count for nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ChordSummary {
    /// Tries that count.
    pub tries: usize,
    /// How many of them were right.
    pub right: usize,
    /// What to practise next: the chord with the smallest share of right tries. `None` if all were right.
    pub weakest: Option<ReedsTarget>,
    /// The hole that was missing most often, and how often.
    pub missing: Option<(u8, usize)>,
    /// The hole that leaked in most often, and how often.
    pub leaking: Option<(u8, usize)>,
}

impl ChordSummary {
    pub(crate) fn of(drill: &Drill, results: &[ChordTried]) -> Self {
        let counted = || results.iter().filter(|tried| !tried.verdict.asks_again());
        let right = |tried: &&ChordTried| tried.verdict.is_right();
        let share = |item: usize| {
            let own = || counted().filter(move |tried| tried.asked.item == item);
            let all = own().count();
            (all > 0).then(|| own().filter(right).count() as f64 / all as f64)
        };
        let items = (0..drill.items.len()).filter_map(|item| Some((item, share(item)?)));
        let worst = items.filter(|(_, share)| *share < 1.0).min_by(|a, b| a.1.total_cmp(&b.1));
        let off = |tried: &ChordTried| match tried.verdict.outcome {
            ReedsOutcome::Off { missing, leaked } => Some((missing, leaked)),
            _ => None,
        };
        let most = |has: &dyn Fn(&ChordTried, u8) -> bool| {
            let count = |hole: u8| counted().filter(|tried| has(tried, hole)).count();
            let all = (1..=16).map(|hole| (hole, count(hole))).filter(|(_, count)| *count > 0);
            // Of several holes that come equally often, the lowest.
            all.rev().max_by_key(|(_, count)| *count)
        };
        Self {
            tries: counted().count(),
            right: counted().filter(right).count(),
            weakest: worst.and_then(|(item, _)| drill.items.get(item)?.chord()),
            missing: most(&|tried, hole| off(tried).is_some_and(|(missing, _)| missing.contains(hole))),
            leaking: most(&|tried, hole| off(tried).is_some_and(|(_, leaked)| leaked.contains(hole))),
        }
    }
}
