//! The plumb line: the last seconds of pitch hanging below a hole, newest on top, and the target band they hang in.

use crate::pen::{Pen, count, width};
use crate::scale::Scale;
use crate::trace::{Swing, Trace};
use crate::{Look, words};
use layout::Harp;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;

/// The plumb line of one target.
pub(crate) struct Plumb<'a> {
    /// Theme and glyphs.
    pub(crate) look: &'a Look,
    /// Pitch to column, for the columns of the widget's area.
    pub(crate) scale: Scale,
    /// The harp, by whose reference pitch columns are counted and by whose key notes are named.
    pub(crate) harp: &'a Harp,
    /// Fractional key number of the target, if the harp can play it.
    pub(crate) target: Option<f64>,
    /// Half the width of the band, cents.
    pub(crate) in_tune: f64,
    /// How much of the asked time has been held, 0 to 1; the band is filled so far from the top.
    pub(crate) held: f64,
    /// Where earlier tries were, by rows, hertz.
    pub(crate) earlier: &'a [Vec<f64>],
    /// The pitch by rows (by parts of rows, [`FINE`] each, if the glyphs are fine), newest first.
    pub(crate) rows: &'a [Option<Swing>],
}

/// Parts of a row that the fine line shows one below the other.
const FINE: usize = 4;
/// The bits of a braille cell by part of the row and half of the column (Unicode 16, chapter 21.1: dots 1 to 8).
const DOTS: [[u8; 2]; FINE] = [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];
/// From this many rows on, the last one is kept for the names of the band's edges, and no line runs through it.
const LABELLED: i32 = 3;
/// How many rows are drawn with the glyph `lately`; older rows have the glyph `before`.
const LATELY_ROWS: usize = 4;

/// The last `height` rows of a trace, `row_s` seconds each, as [`Plumb::rows`] wants them.
pub(crate) fn rows(trace: &Trace, look: &Look, (row_s, height): (f64, u16)) -> Vec<Option<Swing>> {
    let parts = if look.glyphs.fine { FINE } else { 1 };
    trace.rows(row_s / parts as f64, usize::from(height) * parts)
}

/// The last `height` rows of a try that is over, `row_s` seconds each, at the pitch `hz` that it was measured against.
pub(crate) fn rows_of(
    tried: &scoring::Trace,
    look: &Look,
    (hz, (row_s, height)): (f64, (f64, u16)),
) -> Vec<Option<Swing>> {
    let parts = if look.glyphs.fine { FINE } else { 1 };
    let steps = (row_s / parts as f64 / scoring::Trace::STEP_S).max(1.0);
    let newest: Vec<Option<f64>> =
        tried.cents().map(|cents| cents.map(|cents| hz * (cents / 1200.0).exp2())).collect();
    let newest: Vec<Option<f64>> = newest.into_iter().rev().collect();
    let part = |row: usize| {
        let (from, to) = ((row as f64 * steps) as usize, ((row + 1) as f64 * steps) as usize);
        newest.get(from..to.min(newest.len())).and_then(Swing::of)
    };
    (0..usize::from(height) * parts).map(part).collect()
}

impl Plumb<'_> {
    fn band(&self, pen: &mut Pen<'_>) {
        let Some(target) = self.target else { return };
        let (glyphs, theme) = (&self.look.glyphs, &self.look.theme);
        let half = self.in_tune / 100.0;
        let (left, right) = (self.scale.column(target - half), self.scale.column(target + half));
        let foot = pen.height() - 1;
        let rows = if foot >= LABELLED { foot } else { pen.height() };
        let held = (self.held.clamp(0.0, 1.0) * f64::from(rows)).round() as i32;
        for y in 0..pen.height() {
            if y < held {
                pen.line(left + 1..right, y, glyphs.held, theme.target);
            }
            pen.glyph(left, y, glyphs.edge, theme.target);
            pen.glyph(right, y, glyphs.edge, theme.target);
            pen.glyph(self.scale.column(target), y, glyphs.centre, theme.target);
        }
        if foot >= LABELLED {
            let longest = |word: &'static str, room: i32| {
                let long = format!("{} {word}", self.in_tune);
                [long, word.to_owned()].into_iter().find(|text| width(text) <= room).unwrap_or_default()
            };
            let flat = longest("flat", left - 1);
            let sharp = longest("sharp", pen.width() - right - 2);
            pen.text(left - 1 - width(&flat), foot, &flat, theme.faint);
            pen.text(right + 2, foot, &sharp, theme.faint);
        }
    }

    /// The lines of earlier tries, faint.
    fn earlier(&self, pen: &mut Pen<'_>) {
        for (y, tries) in (0..).zip(self.earlier) {
            for hz in tries {
                pen.glyph(self.column(*hz), y, self.look.glyphs.before, self.look.theme.faint);
            }
        }
    }

    /// One sign a row, for terminals without braille.
    fn coarse(&self, pen: &mut Pen<'_>) {
        let (glyphs, style) = (&self.look.glyphs, self.look.theme.voice);
        for (age, swing) in self.rows.iter().enumerate() {
            let Some(swing) = swing else { continue };
            let (low, high) = (self.column(swing.low), self.column(swing.high));
            pen.line(low..high + 1, count(age), glyphs.sweep, style);
            let sign = if age < LATELY_ROWS { glyphs.lately } else { glyphs.before };
            self.mark(pen, count(age), swing.last, sign);
        }
    }

    /// Two dots a column and four a row.
    fn fine(&self, pen: &mut Pen<'_>) {
        for (y, parts) in self.rows.chunks(FINE).enumerate() {
            let mut cells = vec![0u8; pen.width().max(0) as usize];
            for (swing, dots) in parts.iter().zip(DOTS) {
                let Some(swing) = swing else { continue };
                let half = |hz: f64| self.scale.half_column(self.harp.concert().key_number(hz));
                for at in half(swing.low).max(0)..=half(swing.high).min(2 * pen.width() - 1) {
                    if let Some(cell) = cells.get_mut((at / 2) as usize) {
                        *cell |= dots[(at % 2) as usize];
                    }
                }
            }
            for (x, bits) in cells.iter().enumerate().filter(|(_, bits)| **bits != 0) {
                let sign = char::from_u32(0x2800 + u32::from(*bits)).unwrap_or(' ');
                pen.glyph(count(x), count(y), sign, self.look.theme.voice);
            }
        }
    }

    fn column(&self, hz: f64) -> i32 {
        self.scale.column(self.harp.concert().key_number(hz))
    }

    /// Puts `sign` where the pitch is, or points to it if it lies beyond the picture.
    fn mark(&self, pen: &mut Pen<'_>, y: i32, hz: f64, sign: char) {
        let column = self.column(hz);
        if (0..pen.width()).contains(&column) {
            pen.glyph(column, y, sign, self.look.theme.voice);
        } else {
            self.outside(pen, y, column < 0, hz);
        }
    }

    /// A pitch beyond the picture: an arrow at the edge and the name of the note.
    fn outside(&self, pen: &mut Pen<'_>, y: i32, left: bool, hz: f64) {
        let (glyphs, theme) = (&self.look.glyphs, &self.look.theme);
        let name =
            self.harp.concert().nearest(hz).map(|(note, _)| words::note(self.harp, note)).unwrap_or_default();
        if left {
            pen.glyph(0, y, glyphs.flat, theme.voice);
            pen.text(2, y, &name, theme.strong);
        } else {
            let x = pen.text_right(y, &format!("{name} {}", glyphs.sharp), theme.strong);
            pen.glyph(x + width(&name) + 1, y, glyphs.sharp, theme.voice);
        }
    }
}

impl Widget for &Plumb<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let mut pen = Pen::new(buf, area);
        self.band(&mut pen);
        let foot = area.height.saturating_sub(1);
        let labelled = self.target.is_some() && i32::from(foot) >= LABELLED;
        let mut pen = Pen::new(buf, Rect { height: if labelled { foot } else { area.height }, ..area });
        self.earlier(&mut pen);
        if self.look.glyphs.fine {
            self.fine(&mut pen);
        } else {
            self.coarse(&mut pen);
        }
        if let Some(Some(now)) = self.rows.first() {
            self.mark(&mut pen, 0, now.last, self.look.glyphs.now);
        }
    }
}
