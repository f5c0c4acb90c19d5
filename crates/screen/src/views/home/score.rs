//! Notes in their order, hanging below the stair: each where its pitch is, one row an item or a bar.

use crate::pen::{Pen, width};
use crate::scale::{Scale, number_of};
use crate::scene::Scene;
use crate::stair::{self, Stair};
use crate::window::Window;
use layout::Way;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;

/// The notes of what is chosen.
pub(super) struct Score<'a> {
    pub(super) scene: &'a Scene<'a>,
    /// The ways of each row, and how they are played.
    pub(super) rows: Vec<(Vec<Way>, String)>,
}

impl Score<'_> {
    /// One row: its marks where their pitches are, and beside them how it is played.
    fn row(&self, pen: &mut Pen<'_>, y: i32, scale: &Scale, (ways, how): &(Vec<Way>, String)) {
        let (look, harp) = (self.scene.look, self.scene.harp());
        let columns: Vec<i32> =
            ways.iter().filter_map(|way| number_of(harp, *way)).map(|number| scale.column(number)).collect();
        let (Some(left), Some(right)) = (columns.iter().min(), columns.iter().max()) else { return };
        pen.line(*left..*right, y, look.glyphs.span, look.theme.faint);
        for x in &columns {
            pen.glyph(*x, y, look.glyphs.target, look.theme.target);
        }
        let tabs: Vec<String> = ways.iter().map(|way| look.tab(*way)).collect();
        let tab = tabs.join(" ");
        let whole = width(&tab) + 3 + width(how);
        // Where there is no room to the right, the words stand on the left.
        let x = if right + 2 + whole < pen.width() { right + 2 } else { (left - 1 - whole).max(0) };
        let x = pen.text(x, y, &tab, look.theme.strong) + 3;
        pen.text(x, y, how, look.theme.plain);
    }
}

impl Widget for &Score<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let rows = &self.rows;
        let columns = area.width.saturating_sub(stair::LEFT);
        let scale = Stair::scale(self.scene.harp(), columns);
        let window = Window::scrolled(0, rows.len(), i32::from(area.height));
        let mut pen = Pen::new(buf, area);
        for (y, index) in window.seen() {
            let style = self.scene.look.theme.faint;
            pen.text(1, y, &format!("{:>2}.", index + 1), style);
        }
        window.ends(&mut pen, (i32::from(stair::LEFT), 0), self.scene.look);
        let mut pen = Pen::new(buf, Rect { x: area.x + stair::LEFT.min(area.width), width: columns, ..area });
        for (y, index) in window.seen() {
            if let Some(row) = rows.get(index) {
                self.row(&mut pen, y, &scale, row);
            }
        }
    }
}
