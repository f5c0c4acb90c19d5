//! The pitch lines of earlier tries, seen faintly beside the line of the present try, and one by one at the end.

use crate::trace::Trace;
use layout::Way;
use scoring::Trace as Kept;
use std::collections::{BTreeMap, VecDeque};

/// Seconds between two points of an earlier line: finer than a row of the plumb line on any screen.
pub(crate) const STEP_S: f64 = 0.0125;
/// How much of a try is kept, seconds before its verdict: what the plumb line shows.
const KEPT_S: f64 = 4.0;
/// Tries that are kept, for the end of a long drill: about a megabyte.
const KEPT: usize = 200;

/// One earlier try.
#[derive(Clone, Debug)]
struct Ghost {
    way: Way,
    /// Fundamentals, hertz, from the verdict backwards.
    hz: Vec<Option<f64>>,
}

/// Earlier tries.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ghosts {
    /// Those of a drill, the newest first.
    drill: VecDeque<Ghost>,
    /// Those of other days at each way, the newest first: cents from the target, from the verdict backwards in steps of
    /// [`Kept::STEP_S`].
    older: BTreeMap<Way, VecDeque<Vec<Option<f64>>>>,
}

impl Ghosts {
    /// Forgets the tries of the drill; the tries of other days stay.
    pub(crate) fn clear(&mut self) {
        self.drill.clear();
    }

    /// Keeps the line of a try that was judged just now.
    pub(crate) fn keep(&mut self, way: Way, trace: &Trace) {
        let rows = trace.rows(STEP_S, (KEPT_S / STEP_S) as usize);
        let hz = rows.into_iter().map(|row| row.map(|swing| swing.last)).collect();
        self.drill.push_front(Ghost { way, hz });
        self.drill.truncate(KEPT);
    }

    /// The line of a try, fundamentals in hertz from its verdict backwards in steps of [`STEP_S`]; the newest try is 0.
    pub(crate) fn line(&self, index: usize) -> &[Option<f64>] {
        self.drill.get(index).map_or(&[], |ghost| &ghost.hz)
    }

    /// Takes the tries of other days, the latest one last.
    pub(crate) fn remember(&mut self, traces: Vec<(Way, Kept)>) {
        self.older.clear();
        for (way, trace) in traces {
            let mut cents: Vec<Option<f64>> = trace.cents().collect();
            cents.reverse();
            self.older.entry(way).or_default().push_front(cents);
        }
    }

    /// The tries of other days at a way, the newest first: cents from the target, from the verdict backwards.
    pub(crate) fn older(&self, way: Way) -> impl Iterator<Item = &[Option<f64>]> {
        self.older.get(&way).into_iter().flatten().map(Vec::as_slice)
    }

    /// The pitch, hertz, of the newest `count` tries at a way, so many seconds before their verdicts: tries of this
    /// drill first, then of other days. Tries of other days are kept in cents from their target, which is `target_hz`
    /// on the present harp.
    pub(crate) fn at(&self, (way, target_hz): (Way, f64), count: usize, before_s: f64) -> Vec<f64> {
        let index = (before_s / STEP_S) as usize;
        let drill: Vec<&Ghost> = self.drill.iter().filter(|ghost| ghost.way == way).take(count).collect();
        let older = self.older.get(&way).into_iter().flatten().take(count - drill.len());
        let earlier = (before_s / Kept::STEP_S) as usize;
        let older = older.filter_map(|cents| cents.get(earlier).copied().flatten());
        let drill = drill.into_iter().filter_map(|ghost| ghost.hz.get(index).copied().flatten());
        drill.chain(older.map(|cents| target_hz * (cents / 1200.0).exp2())).collect()
    }
}
