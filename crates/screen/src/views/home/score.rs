//! The notes of a drill in their order, hanging below the stair: each where its pitch is, one row an item.

use crate::pen::{Pen, width};
use crate::scale::{Scale, number_of};
use crate::scene::Scene;
use crate::stair::{self, Stair};
use crate::window::Window;
use crate::words;
use practice::{Drill, Item};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;

/// The notes of a drill.
pub(super) struct Score<'a> {
    pub(super) scene: &'a Scene<'a>,
    pub(super) drill: &'a Drill,
}

impl Score<'_> {
    /// One item: its marks where their pitches are, and beside them how it is played.
    fn item(&self, pen: &mut Pen<'_>, y: i32, scale: &Scale, item: &Item) {
        let (look, harp) = (self.scene.look, self.scene.harp());
        let columns: Vec<i32> =
            item.ways().filter_map(|way| number_of(harp, way)).map(|number| scale.column(number)).collect();
        let (Some(left), Some(right)) = (columns.iter().min(), columns.iter().max()) else { return };
        pen.line(*left..*right, y, look.glyphs.span, look.theme.faint);
        for x in &columns {
            pen.glyph(*x, y, look.glyphs.target, look.theme.target);
        }
        let tabs: Vec<String> = item.ways().map(|way| look.tab(way)).collect();
        let (tab, how) = (tabs.join(" "), words::item(item));
        let whole = width(&tab) + 3 + width(&how);
        // Where there is no room to the right, the words stand on the left.
        let x = if right + 2 + whole < pen.width() { right + 2 } else { (left - 1 - whole).max(0) };
        let x = pen.text(x, y, &tab, look.theme.strong) + 3;
        pen.text(x, y, &how, look.theme.plain);
    }
}

impl Widget for &Score<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let items = &self.drill.items;
        let columns = area.width.saturating_sub(stair::LEFT);
        let scale = Stair::scale(self.scene.harp(), columns);
        let window = Window::scrolled(0, items.len(), i32::from(area.height));
        let mut pen = Pen::new(buf, area);
        for (y, index) in window.seen() {
            let style = self.scene.look.theme.faint;
            pen.text(1, y, &format!("{:>2}.", index + 1), style);
        }
        window.ends(&mut pen, (i32::from(stair::LEFT), 0), self.scene.look);
        let mut pen = Pen::new(buf, Rect { x: area.x + stair::LEFT.min(area.width), width: columns, ..area });
        for (y, index) in window.seen() {
            if let Some(item) = items.get(index) {
                self.item(&mut pen, y, &scale, item);
            }
        }
    }
}
