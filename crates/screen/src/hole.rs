//! One hole of the stair, zoomed: its two reeds, its bends to scale, note names and tab above.

use crate::pen::{Pen, width};
use crate::scale::{Mark, Scale, hole_marks};
use crate::{Look, words};
use layout::{Breath, Harp, Technique, Way};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// The row of one hole. It takes three rows: note names, tab, and at the bottom the marks, so that the plumb line can
/// hang from them; with less height names are left out first, then tab.
pub(crate) struct HoleRow<'a> {
    /// Theme and glyphs.
    pub(crate) look: &'a Look,
    /// The harp.
    pub(crate) harp: &'a Harp,
    /// What is asked for.
    pub(crate) target: Way,
    /// Pitch to column, for the columns of the widget's area.
    pub(crate) scale: Scale,
}

impl HoleRow<'_> {
    fn glyph(&self, way: Way) -> char {
        let glyphs = &self.look.glyphs;
        match (way.technique, way.breath) {
            (Technique::Natural, Breath::Blow) => glyphs.blow,
            (Technique::Natural, Breath::Draw) => glyphs.draw,
            _ if way == self.target => glyphs.target,
            (Technique::Bend(_), _) => glyphs.bend,
            (Technique::Overbend, _) => glyphs.overbend,
        }
    }

    fn style(&self, way: Way) -> Style {
        let theme = &self.look.theme;
        if way == self.target { theme.target.patch(theme.strong) } else { theme.plain }
    }

    /// Writes a label centred on each mark, the target's first; a label that would touch another is left out.
    fn labels(&self, pen: &mut Pen<'_>, y: i32, marks: &[Mark], label: impl Fn(Way) -> String) {
        let (seen, taken) = self.beyond(pen, y, marks, &label);
        let mut taken = taken;
        let mut ordered: Vec<&Mark> = seen;
        ordered.sort_by_key(|mark| (mark.way != self.target, mark.way.technique != Technique::Natural));
        for mark in ordered {
            let text = label(mark.way);
            let start = self.scale.column(mark.number) - width(&text) / 2;
            let place = start - 1..start + width(&text) + 1;
            if taken.iter().any(|other| other.start < place.end - 1 && place.start < other.end - 1) {
                continue;
            }
            let theme = &self.look.theme;
            let style = if mark.way == self.target { theme.strong } else { theme.faint };
            pen.text(start, y, &text, style);
            taken.push(place);
        }
    }

    /// Points to the nearest mark beyond either edge; gives the marks that are seen, and the columns that are taken.
    fn beyond<'m>(
        &self,
        pen: &mut Pen<'_>,
        y: i32,
        marks: &'m [Mark],
        label: impl Fn(Way) -> String,
    ) -> (Vec<&'m Mark>, Vec<std::ops::Range<i32>>) {
        let column = |mark: &Mark| self.scale.column(mark.number);
        let (glyphs, style) = (&self.look.glyphs, self.look.theme.faint);
        let mut taken = Vec::new();
        if let Some(mark) = marks.iter().filter(|mark| column(mark) < 0).max_by_key(|mark| column(mark)) {
            let text = format!("{} {}", glyphs.flat, label(mark.way));
            taken.push(-1..pen.text(0, y, &text, style) + 1);
        }
        let end = pen.width();
        if let Some(mark) = marks.iter().filter(|mark| column(mark) >= end).min_by_key(|mark| column(mark)) {
            let text = format!("{} {}", label(mark.way), glyphs.sharp);
            taken.push(pen.text_right(y, &text, style) - 1..end + 1);
        }
        (marks.iter().filter(|mark| (0..end).contains(&column(mark))).collect(), taken)
    }

    fn marks(&self, pen: &mut Pen<'_>, y: i32, marks: &[Mark]) {
        let columns = || marks.iter().map(|mark| self.scale.column(mark.number));
        let (Some(left), Some(right)) = (columns().min(), columns().max()) else { return };
        pen.line(left..right, y, self.look.glyphs.span, self.look.theme.faint);
        for mark in marks {
            pen.glyph(self.scale.column(mark.number), y, self.glyph(mark.way), self.style(mark.way));
        }
    }
}

impl Widget for &HoleRow<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let marks = hole_marks(self.harp, self.target);
        let mut pen = Pen::new(buf, area);
        let foot = pen.height() - 1;
        self.labels(&mut pen, foot - 2, &marks, |way| words::note_of(self.harp, way));
        self.labels(&mut pen, foot - 1, &marks, |way| self.look.tab(way));
        self.marks(&mut pen, foot, &marks);
    }
}
