//! Writing into a part of the buffer without ever leaving it.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr;

/// Writes into `area` of a buffer. Places count from the area's left upper corner; what lies outside is cut off.
pub(crate) struct Pen<'a> {
    buf: &'a mut Buffer,
    area: Rect,
}

impl<'a> Pen<'a> {
    /// A pen for `area`, or for what of it lies in the buffer.
    pub(crate) fn new(buf: &'a mut Buffer, area: Rect) -> Self {
        let area = area.intersection(buf.area);
        Self { buf, area }
    }

    /// A pen for `columns` of one row of this one.
    pub(crate) fn within(&mut self, (x, y): (i32, i32), columns: i32) -> Pen<'_> {
        let end = (x + columns).min(self.width());
        let shown = x >= 0 && (0..self.height()).contains(&y) && x < end;
        let area = if shown {
            Rect::new(self.area.x + x as u16, self.area.y + y as u16, (end - x) as u16, 1)
        } else {
            Rect::ZERO
        };
        Pen { buf: self.buf, area }
    }

    /// Columns.
    pub(crate) fn width(&self) -> i32 {
        i32::from(self.area.width)
    }

    /// Rows.
    pub(crate) fn height(&self) -> i32 {
        i32::from(self.area.height)
    }

    /// Puts one sign.
    pub(crate) fn glyph(&mut self, x: i32, y: i32, sign: char, style: Style) {
        if !(0..self.width()).contains(&x) || !(0..self.height()).contains(&y) {
            return;
        }
        let place = (self.area.x + x as u16, self.area.y + y as u16);
        if let Some(cell) = self.buf.cell_mut(place) {
            // What stood there leaves no trace: styles do not mix.
            cell.reset();
            cell.set_char(sign).set_style(style);
        }
    }

    /// Repeats one sign over `columns` from `x`.
    pub(crate) fn line(&mut self, columns: std::ops::Range<i32>, y: i32, sign: char, style: Style) {
        for x in columns.start.max(0)..columns.end.min(self.width()) {
            self.glyph(x, y, sign, style);
        }
    }

    /// Writes text from `x` and returns the column after it. A text that would begin left of the area is left out.
    pub(crate) fn text(&mut self, x: i32, y: i32, text: &str, style: Style) -> i32 {
        let end = x + width(text);
        if (0..self.width()).contains(&x) && (0..self.height()).contains(&y) {
            let room = (self.width() - x) as usize;
            self.line(x..end, y, ' ', style);
            self.buf.set_stringn(self.area.x + x as u16, self.area.y + y as u16, text, room, style);
        }
        end
    }

    /// Writes text that ends at the right edge; returns its first column.
    pub(crate) fn text_right(&mut self, y: i32, text: &str, style: Style) -> i32 {
        let x = self.width() - width(text);
        self.text(x.max(0), y, text, style);
        x
    }
}

/// Columns that a text takes.
pub(crate) fn width(text: &str) -> i32 {
    count(text.width())
}

/// A count as a place; what is too large for any screen stays off it.
pub(crate) fn count(n: usize) -> i32 {
    i32::try_from(n).unwrap_or(i32::MAX)
}
