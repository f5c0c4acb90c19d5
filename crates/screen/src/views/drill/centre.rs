//! The middle of the drill: what to play and the cents, the row of the hole, and the plumb line with its band.

use super::{Drill, FAR_CENTS};
use crate::big::{self, Size};
use crate::hole::HoleRow;
use crate::pen::{Pen, width};
use crate::plumb::{self, Plumb};
use crate::scale::{self, Scale};
use practice::Phase;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;

/// Columns left of the picture, for the hole's number, and right of it, for the time. They are equal, so that the
/// target stands in the middle of the window.
const BESIDE: u16 = 8;
/// The plumb line shows about this much, seconds; in more rows than [`HIGH`] twice as much.
const SEEN_S: f64 = 2.0;
const HIGH: u16 = 26;
/// The least and the most time of one row of the plumb line, seconds.
const ROW_S: (f64, f64) = (0.05, 0.25);
/// With a shorter hold asked for than this, seconds, the band does not fill.
const NO_HOLD_S: f64 = 0.05;
/// Columns between the middle and the large signs on either side.
const APART: i32 = 4;

impl Drill<'_> {
    /// Draws the middle.
    pub(super) fn centre(&self, area: Rect, buf: &mut Buffer) {
        let size = self.size;
        let head = size.map_or(1, |size| size.rows() + 1).min(area.height);
        let mut pen = Pen::new(buf, Rect { height: head, ..area });
        match size {
            Some(size) => self.head_large(&mut pen, size),
            None => self.head(&mut pen),
        }
        self.picture(Rect { y: area.y + head, height: area.height - head, ..area }, buf);
    }

    /// What to play and where the pitch is, in one row.
    fn head(&self, pen: &mut Pen<'_>) {
        let theme = &self.look.theme;
        let tab = self.look.tab(self.shown.way);
        let x = pen.text(1, 0, &tab, theme.strong) + 2;
        let off = self.off_words();
        let room = pen.width() - 1 - x - if off.is_empty() { 0 } else { width(&off) + 2 };
        let wordings = [self.ask(), self.ask_briefly(), self.ask_shortest()];
        let ask = wordings.into_iter().find(|text| width(text) <= room);
        pen.text(x, 0, &ask.unwrap_or_default(), theme.strong);
        pen.text(pen.width() - width(&off) - 1, 0, &off, theme.strong);
    }

    fn off_words(&self) -> String {
        match self.off() {
            Some((off, word)) if off.abs() <= FAR_CENTS => format!("{} {word}", self.look.signed(off)),
            Some(_) => self.far(),
            None => String::new(),
        }
    }

    /// What to play and where the pitch is: tab and cents large, left and right of the middle; above them what to do.
    fn head_large(&self, pen: &mut Pen<'_>, size: Size) {
        let theme = &self.look.theme;
        let ask = self.ask();
        pen.text(((pen.width() - width(&ask)) / 2).max(1), 0, &ask, theme.strong);
        let middle = (pen.width() - 1) / 2;
        let foot = i32::from(size.rows());
        let tab = self.look.tab(self.shown.way);
        if big::can(&tab) {
            let x = middle - APART - big::width(&tab, size);
            big::draw(pen, (x.max(1), 1), &tab, (size, theme.target.patch(theme.strong)));
        } else {
            pen.text((middle - APART - width(&tab)).max(1), foot - 1, &tab, theme.strong);
        }
        match self.off() {
            Some((off, word)) if off.abs() <= FAR_CENTS => {
                let number = self.look.signed(off);
                let x = middle + APART;
                let end = if big::can(&number) {
                    big::draw(pen, (x, 1), &number, (size, theme.voice))
                } else {
                    pen.text(x, foot - 1, &number, theme.strong)
                };
                pen.text(end + 2, foot - 1, word, theme.strong);
                pen.text(end + 2, foot, "cents", theme.faint);
            }
            Some(_) => {
                pen.text(middle + APART, foot - 1, &self.far(), theme.strong);
            }
            None => {}
        }
    }

    fn picture(&self, area: Rect, buf: &mut Buffer) {
        let row_height = 3.min(area.height);
        let columns = area.width.saturating_sub(2 * BESIDE);
        let harp = self.scene.harp();
        let Some(number) = scale::number_of(harp, self.shown.way) else { return };
        let scale = Scale::around(number + self.shown.cents / 100.0, columns);
        let row = Rect { x: area.x + BESIDE, width: columns, height: row_height, ..area };
        HoleRow { look: self.look, harp, target: self.shown.way, scale }.render(row, buf);
        let mut pen = Pen::new(buf, Rect { height: row_height, ..area });
        let hole = format!("hole {}", self.shown.way.hole);
        pen.text(1, i32::from(row_height) - 1, &hole, self.look.theme.strong);
        let below = Rect { y: area.y + row_height, height: area.height - row_height, ..area };
        self.plumb(below, (scale, number + self.shown.cents / 100.0), buf);
    }

    fn plumb(&self, area: Rect, (scale, target): (Scale, f64), buf: &mut Buffer) {
        if area.height == 0 {
            return;
        }
        let seen_s = if area.height > HIGH { 2.0 * SEEN_S } else { SEEN_S };
        let row_s = (seen_s / f64::from(area.height)).clamp(ROW_S.0, ROW_S.1);
        // With reduced motion the line shows once it stands still; in a pause there is none.
        let still = self.scene.still && self.session.live().sounding;
        let unseen = self.judged.is_none() && !self.session.shows_live();
        let hidden = still || unseen || self.session.phase() == Phase::Paused;
        let now =
            if hidden { Vec::new() } else { plumb::rows(self.scene.trace, self.look, (row_s, area.height)) };
        let plumb = Plumb {
            look: self.look,
            scale,
            harp: self.scene.harp(),
            target: Some(target),
            in_tune: self.tolerance.in_tune_cents,
            held: self.held(),
            earlier: &self.earlier(area.height, row_s),
            rows: &now,
        };
        let columns = area.width.saturating_sub(2 * BESIDE);
        plumb.render(Rect { x: area.x + BESIDE, width: columns, ..area }, buf);
        self.times(&mut Pen::new(buf, area), row_s);
    }

    /// How much of the asked time has been held, 0 to 1.
    fn held(&self) -> f64 {
        let held_s = match self.judged {
            Some(tried) => tried.verdict.figures.map_or(0.0, |figures| figures.held_s),
            None => self.session.live().held_s,
        };
        let in_tune = self.off().is_some_and(|(off, _)| self.tolerance.in_tune(off));
        let wanted = self.shown.hold_s;
        if wanted < NO_HOLD_S || !in_tune || self.session.phase() == Phase::Paused {
            0.0
        } else {
            held_s / wanted
        }
    }

    /// Where earlier tries at this note were, row by row: on a high screen more of them.
    fn earlier(&self, rows: u16, row_s: f64) -> Vec<Vec<f64>> {
        let count = if rows > 14 { 8 } else { 3 };
        if self.session.untold() > 0 {
            return vec![Vec::new(); rows.into()];
        }
        let skipped = usize::from(self.judged.is_some());
        let Some(target_hz) = self.shown.hz(self.scene.harp()) else { return Vec::new() };
        (0..rows)
            .map(|row| {
                let before_s = f64::from(row) * row_s;
                let mut at = self.scene.ghosts.at((self.shown.way, target_hz), count + skipped, before_s);
                at.drain(..skipped.min(at.len()));
                at
            })
            .collect()
    }

    /// The scale of time at the right edge, and how long the note has to be held at the left.
    fn times(&self, pen: &mut Pen<'_>, row_s: f64) {
        let x = pen.width() - i32::from(BESIDE) + 1;
        let faint = self.look.theme.faint;
        for age in 0..pen.height() {
            let time = f64::from(age) * row_s;
            let before = f64::from(age - 1) * row_s;
            if age == 0 {
                pen.text(x, 0, "now", faint);
            } else if (time / 0.5).floor() > (before / 0.5).floor() {
                pen.text(x, age, &format!("{:.1} s", (time / 0.5).floor() * 0.5), faint);
            }
        }
        pen.text(1, 0, "hold", faint);
        pen.text(1, 1, &format!("{:.1} s", self.shown.hold_s), faint);
    }
}
