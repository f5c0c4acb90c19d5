//! The plumb line: the last seconds of pitch hanging below a hole, newest on top, and the target band they hang in.

use crate::pen::{Pen, count, width};
use crate::scale::Scale;
use crate::trace::Swing;
use crate::{Look, words};
use layout::ConcertPitch;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// The plumb line of one target.
pub(crate) struct Plumb<'a> {
    /// Theme and glyphs.
    pub(crate) look: &'a Look,
    /// Pitch to column, for the columns of the widget's area.
    pub(crate) scale: Scale,
    /// The reference pitch of the harp.
    pub(crate) concert: ConcertPitch,
    /// Fractional key number of the target, if the harp can play it.
    pub(crate) target: Option<f64>,
    /// Half the width of the band, cents.
    pub(crate) in_tune: f64,
    /// The pitch by rows, newest first.
    pub(crate) rows: &'a [Option<Swing>],
}

/// How many rows are drawn as the pitch now, lately, and before.
const NOW_ROWS: usize = 1;
const LATELY_ROWS: usize = 4;

impl Plumb<'_> {
    fn band(&self, pen: &mut Pen<'_>) {
        let Some(target) = self.target else { return };
        let (glyphs, theme) = (&self.look.glyphs, &self.look.theme);
        let half = self.in_tune / 100.0;
        let (left, right) = (self.scale.column(target - half), self.scale.column(target + half));
        for y in 0..pen.height() {
            pen.glyph(left, y, glyphs.edge, theme.target);
            pen.glyph(right, y, glyphs.edge, theme.target);
            pen.glyph(self.scale.column(target), y, glyphs.centre, theme.target);
        }
        let foot = pen.height() - 1;
        if foot >= 3 {
            let (flat, sharp) = (format!("{} flat", self.in_tune), format!("{} sharp", self.in_tune));
            pen.text(left - 1 - width(&flat), foot, &flat, theme.faint);
            pen.text(right + 2, foot, &sharp, theme.faint);
        }
    }

    /// The sign and style of the pitch `age` rows ago.
    fn mark(&self, age: usize) -> (char, Style) {
        let (glyphs, theme) = (&self.look.glyphs, &self.look.theme);
        if age < NOW_ROWS {
            (glyphs.now, theme.voice)
        } else if age < LATELY_ROWS {
            (glyphs.lately, theme.voice)
        } else {
            (glyphs.before, theme.voice)
        }
    }

    fn swing(&self, pen: &mut Pen<'_>, age: usize, swing: Swing) {
        let y = count(age);
        let number = |hz: f64| self.concert.key_number(hz);
        let (mark, style) = self.mark(age);
        let (low, high) = (self.scale.column(number(swing.low)), self.scale.column(number(swing.high)));
        pen.line(low..high + 1, y, self.look.glyphs.sweep, style);
        let column = self.scale.column(number(swing.last));
        if (0..pen.width()).contains(&column) {
            pen.glyph(column, y, mark, style);
        } else {
            self.outside(pen, y, column < 0, swing.last);
        }
    }

    /// A pitch beyond the picture: an arrow at the edge and the name of the note.
    fn outside(&self, pen: &mut Pen<'_>, y: i32, left: bool, hz: f64) {
        let (glyphs, style) = (&self.look.glyphs, self.look.theme.voice);
        let name = self.concert.nearest(hz).map(|(note, _)| words::note(note)).unwrap_or_default();
        if left {
            pen.text(0, y, &format!("{} {name}", glyphs.flat), style);
        } else {
            pen.text_right(y, &format!("{name} {}", glyphs.sharp), style);
        }
    }
}

impl Widget for &Plumb<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let mut pen = Pen::new(buf, area);
        self.band(&mut pen);
        for (age, swing) in self.rows.iter().enumerate() {
            if let Some(swing) = swing {
                self.swing(&mut pen, age, *swing);
            }
        }
    }
}
