//! The page of keys and signs, made from the key table, the tab legend and the glyphs.

use crate::View;
use crate::keys::{Command, KeyMap};
use crate::pen::{Pen, count, width};
use crate::{Look, parts};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// The help page of one view.
pub(crate) struct Help<'a> {
    /// Theme and glyphs.
    pub(crate) look: &'a Look,
    /// The keys in force.
    pub(crate) keys: &'a KeyMap,
    /// The view it was asked for in.
    pub(crate) view: View,
    /// Lines scrolled away at the top.
    pub(crate) scrolled: usize,
}

/// A line of the page: a key or a sign, and what it does or means; a heading has no sign.
struct Line {
    sign: String,
    text: String,
}

impl Help<'_> {
    /// The page as lines, before long ones are broken.
    fn lines(&self) -> Vec<Line> {
        let line = |sign: String, text: &str| Line { sign, text: text.to_owned() };
        let mut lines: Vec<Line> = KeyMap::rows(self.view)
            .map(|row| {
                let presses = self.keys.presses(row.command).iter();
                let keys: Vec<String> =
                    presses.map(|press| parts::key_name(&press.to_string(), self.look)).collect();
                line(keys.join(" or "), row.help)
            })
            .collect();
        lines.push(line(String::new(), "Tab"));
        lines.extend(self.look.tab.legend().into_iter().map(|(sign, text)| Line { sign, text }));
        lines.push(line(String::new(), "Signs"));
        let g = &self.look.glyphs;
        let signs = [
            (g.blow, "the blow reed of a hole"),
            (g.draw, "the draw reed"),
            (g.bend, "a bend, between the two reeds"),
            (g.overbend, "an overblow or overdraw, beyond them"),
            (g.target, "what is asked for"),
            ('(', "on the map: a degree in brackets is out of reach"),
            ('~', "on the map: it does not come every time"),
            (g.rising, "on the map: the scale has it on its way up only"),
            (g.falling, "on the map: the scale has it on its way down only"),
            (g.now, "your pitch now; flat is left, sharp is right"),
            (g.centred, "before a verdict: landed, and centred"),
            (g.in_tune, "before a verdict: landed, in tune"),
            (g.flat, "flat, or lower"),
            (g.sharp, "sharp, or higher"),
            (g.missed, "before a verdict: another note, unsteady, or let go early"),
            (g.unknown, "before a verdict: not heard, or nothing can be told"),
            (g.chosen, "what is chosen, and its holes"),
        ];
        lines.extend(signs.map(|(sign, text)| line(sign.to_string(), text)));
        lines
    }

    /// How far the page may be scrolled at most.
    pub(crate) fn most_scrolled(&self) -> usize {
        self.lines().len().saturating_sub(1)
    }

    /// The lines broken to `room` columns: sign, text and the style of the text.
    fn broken(&self, room: i32) -> Vec<(String, String, Style)> {
        let theme = &self.look.theme;
        let mut rows = Vec::new();
        for line in self.lines() {
            let style = if line.sign.is_empty() { theme.faint } else { theme.plain };
            let mut sign = line.sign;
            for text in parts::broken(&line.text, room) {
                rows.push((std::mem::take(&mut sign), text, style));
            }
        }
        rows
    }
}

impl Widget for &Help<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let mut pen = Pen::new(buf, area);
        let signs = self.lines();
        let indent = signs.iter().map(|line| width(&line.sign)).max().unwrap_or(0) + 4;
        let rows = self.broken(pen.width() - indent - 1);
        let room = pen.height() - 3;
        let first = self.scrolled.min(rows.len().saturating_sub(room.max(1) as usize));
        let hidden = count(rows.len()) - room - count(first);
        let more = if hidden > 0 { "more below" } else { "" };
        parts::header(&mut pen, 0, self.look, &[("Keys and signs", more)]);
        parts::rule(&mut pen, 1, self.look);
        for (y, (sign, text, style)) in (2..2 + room).zip(rows.into_iter().skip(first)) {
            pen.text(2, y, &sign, self.look.theme.key);
            pen.text(if style == self.look.theme.faint { 2 } else { indent }, y, &text, style);
        }
        let keys = [(Command::Help, "back"), (Command::Down, "more"), (Command::Up, "up again")];
        let foot = pen.height() - 1;
        parts::key_line(&mut pen, foot, (self.look, self.keys), &keys);
    }
}
