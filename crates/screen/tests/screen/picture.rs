//! A screen as text for snapshots: what it says, and below that how each sign is styled.

use crate::stage::Stage;
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;
use ratatui::style::Color;
use std::fmt::Write;

/// The screen drawn at this size.
pub(crate) fn drawn(stage: &Stage, (width, height): (u16, u16)) -> Buffer {
    let area = Rect::new(0, 0, width, height);
    let mut buffer = Buffer::empty(area);
    stage.app.render(&stage.exercise, area, &mut buffer);
    buffer
}

/// The text of a buffer, a line a row, without the blanks at the ends.
pub(crate) fn text(buffer: &Buffer) -> String {
    rows(buffer).map(|row| trimmed(&row.iter().map(Cell::symbol).collect::<String>())).collect()
}

/// The text, then a letter for the style of each cell, then what the letters mean.
pub(crate) fn text_and_styles(buffer: &Buffer) -> String {
    let mut known: Vec<String> = Vec::new();
    let mut letters = String::new();
    for row in rows(buffer) {
        let line: String = row.iter().map(|cell| letter(&mut known, cell)).collect();
        letters.push_str(&trimmed(&line));
    }
    let mut out = text(buffer) + &"=".repeat(usize::from(buffer.area.width)) + "\n" + &letters;
    for (i, style) in known.iter().enumerate() {
        let _ = writeln!(out, "{} {style}", sign(i));
    }
    out
}

fn rows(buffer: &Buffer) -> impl Iterator<Item = &[Cell]> {
    buffer.content().chunks(usize::from(buffer.area.width).max(1))
}

fn trimmed(line: &str) -> String {
    line.trim_end().to_owned() + "\n"
}

fn sign(index: usize) -> char {
    char::from(b'a' + index as u8)
}

/// The letter of a cell's style; a blank for the plain one and for blanks whose style does not show.
fn letter(known: &mut Vec<String>, cell: &Cell) -> char {
    let style = described(cell);
    let hidden = cell.symbol() == " " && !style.contains("reversed") && !style.contains("underlined");
    if style.is_empty() || hidden {
        return ' ';
    }
    let index = known.iter().position(|other| *other == style).unwrap_or_else(|| {
        known.push(style);
        known.len() - 1
    });
    sign(index)
}

fn described(cell: &Cell) -> String {
    let mut words = Vec::new();
    if cell.fg != Color::Reset {
        words.push(format!("{:?}", cell.fg).to_lowercase());
    }
    if cell.bg != Color::Reset {
        words.push(format!("on {:?}", cell.bg).to_lowercase());
    }
    words.extend(cell.modifier.iter_names().map(|(name, _)| name.to_lowercase()));
    words.join(" ")
}
