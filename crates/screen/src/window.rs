//! Which rows of a list are seen, and that it goes on.

use crate::Look;
use crate::pen::{Pen, count};

/// The part of a list that is seen: its rows from `top` on. Where it goes on above or below, the outermost row says so
/// instead of what would stand there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Window {
    top: usize,
    rows: usize,
    count: usize,
}

/// With fewer rows than this there is no room to say that a list goes on.
const LEAST: usize = 3;

impl Window {
    /// The part of a list of `count` around the row that is looked at, in so many rows.
    pub(crate) fn around(looked_at: usize, count: usize, rows: i32) -> Self {
        let room = rows.max(0) as usize;
        // Below the row that is looked at stands the row that says how many follow.
        let top = if room < LEAST { looked_at + 1 } else { looked_at + 2 }.saturating_sub(room);
        Self::scrolled(top, count, rows)
    }

    /// The part of a list of `count` that is scrolled by `top` rows, as far as it goes, in so many rows.
    pub(crate) fn scrolled(top: usize, count: usize, rows: i32) -> Self {
        let rows = rows.max(0) as usize;
        Self { top: top.min(count.saturating_sub(rows)), rows, count }
    }

    /// The index of what is seen, each with its row.
    pub(crate) fn seen(self) -> impl Iterator<Item = (i32, usize)> {
        let last = (self.top + self.rows).min(self.count);
        let first = self.top + usize::from(self.above() > 0);
        let last = last - usize::from(self.below() > 0);
        (first..last).map(move |index| (count(index - self.top), index))
    }

    /// Says in the outermost rows, from row `y` on, how much lies above and below.
    pub(crate) fn ends(self, pen: &mut Pen<'_>, (x, y): (i32, i32), look: &Look) {
        let style = look.theme.faint;
        if self.above() > 0 {
            pen.text(x, y, &format!("… {} more above", self.above()), style);
        }
        if self.below() > 0 {
            pen.text(x, y + count(self.rows) - 1, &format!("… {} more below", self.below()), style);
        }
    }

    /// How many are hidden above.
    pub(crate) fn above(self) -> usize {
        if self.top == 0 || self.rows < LEAST { 0 } else { self.top + 1 }
    }

    /// How many are hidden below.
    pub(crate) fn below(self) -> usize {
        let hidden = self.count.saturating_sub(self.top + self.rows);
        if hidden == 0 || self.rows < LEAST { 0 } else { hidden + 1 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_looked_at_is_seen_and_everything_is_accounted_for() {
        for count in 0..20 {
            for rows in 1..12 {
                for looked_at in 0..count {
                    let window = Window::around(looked_at, count, rows);
                    let seen: Vec<usize> = window.seen().map(|(_, index)| index).collect();
                    assert!(seen.contains(&looked_at), "{looked_at} of {count} in {rows}: {seen:?}");
                    assert!(window.seen().all(|(row, _)| (0..rows).contains(&row)));
                    if rows >= 3 {
                        assert_eq!(window.above() + seen.len() + window.below(), count, "{window:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_list_that_fits_says_nothing_of_its_ends() {
        let window = Window::scrolled(7, 5, 5);
        assert_eq!((window.above(), window.below(), window.seen().count()), (0, 0, 5));
    }
}
