//! Which bars stand where: side by side in columns of two, each in its place for as long as it is shown.

use ratatui::layout::Rect;

/// The least columns that bars side by side take.
const LEAST: u16 = 58;
/// The most columns of bars side by side, two bars in each.
const MOST: u16 = 4;
/// Columns that are enough for a column of bars; and the least and the most columns of a panel beside them.
const ENOUGH: u16 = 84;
const PANEL: (u16, u16) = (34, 60);
/// A step takes this many rows at most: more would pull apart what is read together.
const TALLEST: u16 = 3;

/// The places for bars in an area.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Places {
    area: Rect,
    /// Bars in the run, and steps of a bar.
    bars: usize,
    steps: u16,
    columns: u16,
    /// Columns of the screen that a column of bars takes.
    pub(super) wide: u16,
    /// Rows of a step.
    pub(super) tall: u16,
    /// Too low for two bars: the steps move up through the area instead.
    pub(super) moves: bool,
}

impl Places {
    pub(super) fn new(area: Rect, bars: usize, steps: u16) -> Self {
        let pair = bars.clamp(1, 2) as u16;
        let steps = steps.max(1);
        let moves = area.height < pair * (steps + 1);
        let pairs = u16::try_from(bars.div_ceil(2)).unwrap_or(MOST);
        let columns = if moves { 1 } else { (area.width / LEAST).min(pairs).clamp(1, MOST) };
        let spare = area.width.saturating_sub(columns * ENOUGH);
        let panel = if spare < PANEL.0 { 0 } else { spare.min(PANEL.1) };
        let tall = (area.height.saturating_sub(pair) / (pair * steps)).clamp(1, TALLEST);
        let wide = (area.width - panel) / columns;
        Self { area, bars, steps, columns, wide, tall: if moves { 1 } else { tall }, moves }
    }

    /// How many bars are shown at once.
    pub(super) fn count(&self) -> usize {
        usize::from(self.columns) * self.bars.clamp(1, 2)
    }

    /// The bars that are shown when this many bars are over, each with its place. A bar gives up its place half a bar
    /// after it is over, so that what came of its last note is seen, and nothing else moves.
    pub(super) fn shown(&self, over: f64) -> Vec<(usize, Rect)> {
        let oldest = (over - 0.5).max(0.0) as usize;
        let first = oldest.min(self.bars.saturating_sub(self.count()));
        let place = |bar: usize| {
            let place = (bar % self.count()) as u16;
            let height = self.steps * self.tall + 1;
            let pair = self.bars.clamp(1, 2) as u16;
            let (x, y) = (self.area.x + place / pair * self.wide, self.area.y + place % pair * height);
            (bar, Rect { x, y, width: self.wide, height })
        };
        (first..self.bars.min(first + self.count())).map(place).collect()
    }

    /// What is left beside the bars, if it is enough to say something.
    pub(super) fn panel(&self) -> Option<Rect> {
        let taken = self.columns * self.wide;
        let area = Rect { x: self.area.x + taken, width: self.area.width.saturating_sub(taken), ..self.area };
        (area.width >= PANEL.0).then_some(area)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(width: u16, height: u16, bars: usize, steps: u16) -> Places {
        Places::new(Rect::new(0, 3, width, height), bars, steps)
    }

    #[test]
    fn a_full_screen_shows_two_bars_of_eighths_and_a_wide_one_four_to_eight() {
        assert_eq!(places(80, 19, 8, 8).count(), 2);
        assert_eq!(places(120, 35, 8, 8).count(), 4);
        assert_eq!(places(200, 55, 8, 8).count(), 6);
        assert_eq!(places(240, 55, 8, 8).count(), 8);
        assert!(places(60, 13, 8, 8).moves);
    }

    #[test]
    fn every_bar_keeps_its_place_and_the_present_one_and_the_next_are_shown() {
        for (width, height, bars) in [(80, 19, 9), (120, 35, 9), (200, 55, 9), (80, 19, 1), (200, 55, 3)] {
            let places = places(width, height, bars, 8);
            let mut seen = std::collections::HashMap::new();
            for quarter in 0..bars * 4 {
                let shown = places.shown(quarter as f64 / 4.0);
                let now = quarter / 4;
                // For half a bar the next one may have to wait for the place of the last.
                let ahead = if quarter % 4 >= 2 { (now + 1).min(bars - 1) } else { now };
                for bar in now..=ahead {
                    assert!(shown.iter().any(|(other, _)| *other == bar), "{bar} at {quarter}: {shown:?}");
                }
                for (i, (bar, place)) in shown.iter().enumerate() {
                    assert_eq!(*seen.entry(*bar).or_insert(*place), *place, "a bar moves");
                    assert!(shown[i + 1..].iter().all(|(_, other)| !other.intersects(*place)));
                }
            }
        }
    }
}
