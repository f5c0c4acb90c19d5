//! The lines of earlier tries, to be seen faintly beside that of the present one, and one by one at the end.

use crate::trace::Trace;
use layout::Way;
use std::collections::VecDeque;

/// One point of an earlier line every so often, seconds: finer than a row of the plumb line on any screen.
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

/// The earlier tries of a drill, the newest first.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ghosts(VecDeque<Ghost>);

impl Ghosts {
    /// Forgets everything.
    pub(crate) fn clear(&mut self) {
        self.0.clear();
    }

    /// Keeps the line of a try that was judged just now.
    pub(crate) fn keep(&mut self, way: Way, trace: &Trace) {
        let rows = trace.rows(STEP_S, (KEPT_S / STEP_S) as usize);
        let hz = rows.into_iter().map(|row| row.map(|swing| swing.last)).collect();
        self.0.push_front(Ghost { way, hz });
        self.0.truncate(KEPT);
    }

    /// The line of a try, fundamentals in hertz from its verdict backwards in steps of [`STEP_S`]; the newest try is 0.
    pub(crate) fn line(&self, index: usize) -> &[Option<f64>] {
        self.0.get(index).map_or(&[], |ghost| &ghost.hz)
    }

    /// Where the newest `count` tries at `way` were so many seconds before their verdicts, hertz.
    pub(crate) fn at(&self, way: Way, count: usize, before_s: f64) -> impl Iterator<Item = f64> {
        let index = (before_s / STEP_S) as usize;
        let of_way = self.0.iter().filter(move |ghost| ghost.way == way).take(count);
        of_way.filter_map(move |ghost| ghost.hz.get(index).copied().flatten())
    }
}
