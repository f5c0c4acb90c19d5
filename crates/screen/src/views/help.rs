//! The page of keys and signs, made from the key table.

use crate::keys::{KeyMap, Place, Row};
use crate::pen::{Pen, width};
use crate::{Look, parts};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;

/// The help page for one place.
pub(super) struct Help<'a> {
    /// Theme and glyphs.
    pub(super) look: &'a Look,
    /// The keys in force.
    pub(super) keys: &'a KeyMap,
    /// The view it was asked for in.
    pub(super) place: Place,
}

impl Help<'_> {
    fn keys_of(&self, row: &Row) -> String {
        let presses = self.keys.presses(row.command);
        presses.iter().map(ToString::to_string).collect::<Vec<_>>().join(" or ")
    }
}

impl Widget for Help<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let mut pen = Pen::new(buf, area);
        let theme = &self.look.theme;
        parts::header(&mut pen, 0, self.look, ("Keys", "any of the keys for this page closes it"));
        parts::rule(&mut pen, 1, self.look);
        let rows: Vec<(String, &str)> =
            KeyMap::rows(self.place).map(|row| (self.keys_of(row), row.help)).collect();
        let indent = rows.iter().map(|(keys, _)| width(keys)).max().unwrap_or(0) + 4;
        let mut y = 2;
        for (keys, help) in rows {
            pen.text(2, y, &keys, theme.key);
            y = parts::paragraph(&mut pen, (indent, y), help, (2, theme.plain));
        }
    }
}
