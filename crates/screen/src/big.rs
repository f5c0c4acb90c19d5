//! Tab and figures drawn large, so that they can be read from where a player stands.

use crate::pen::{Pen, count};
use ratatui::style::Style;

/// Rows that a large figure takes.
pub(crate) const ROWS: u16 = 3;

/// The picture of one sign: five rows of three bits, the left bit highest.
fn picture(sign: char) -> [u8; 5] {
    match sign {
        '0' => [0b111, 0b101, 0b101, 0b101, 0b111],
        '1' => [0b010, 0b110, 0b010, 0b010, 0b111],
        '2' => [0b111, 0b001, 0b111, 0b100, 0b111],
        '3' => [0b111, 0b001, 0b111, 0b001, 0b111],
        '4' => [0b101, 0b101, 0b111, 0b001, 0b001],
        '5' => [0b111, 0b100, 0b111, 0b001, 0b111],
        '6' => [0b111, 0b100, 0b111, 0b101, 0b111],
        '7' => [0b111, 0b001, 0b001, 0b010, 0b010],
        '8' => [0b111, 0b101, 0b111, 0b101, 0b111],
        '9' => [0b111, 0b101, 0b111, 0b001, 0b111],
        '-' | '−' => [0b000, 0b000, 0b111, 0b000, 0b000],
        '+' => [0b000, 0b010, 0b111, 0b010, 0b000],
        'o' => [0b000, 0b000, 0b111, 0b101, 0b111],
        '\'' => [0b100, 0b100, 0b000, 0b000, 0b000],
        _ => [0; 5],
    }
}

/// Columns of one sign; an apostrophe is narrow so that three of them still read as one mark.
fn columns(sign: char) -> i32 {
    if sign == '\'' { 1 } else { 3 }
}

/// Whether every sign of `text` can be drawn large.
pub(crate) fn can(text: &str) -> bool {
    text.chars().all(|sign| picture(sign) != [0; 5])
}

/// Columns that `text` takes when drawn large.
pub(crate) fn width(text: &str) -> i32 {
    text.chars().map(|sign| columns(sign) + 1).sum::<i32>().saturating_sub(1).max(0)
}

/// Draws `text` large from column `x` and row `y`, two dots to a cell; returns the column after it.
pub(crate) fn draw(pen: &mut Pen<'_>, (x, y): (i32, i32), text: &str, style: Style) -> i32 {
    let mut x = x;
    for sign in text.chars() {
        let rows = picture(sign);
        for column in 0..columns(sign) {
            let dot = |row: usize| rows.get(row).is_some_and(|bits| bits & (0b100 >> column) != 0);
            for half in 0..usize::from(ROWS) {
                let block = match (dot(2 * half), dot(2 * half + 1)) {
                    (true, true) => '█',
                    (true, false) => '▀',
                    (false, true) => '▄',
                    (false, false) => continue,
                };
                pen.glyph(x + column, y + count(half), block, style);
            }
        }
        x += columns(sign) + 1;
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::buffer::Buffer;
    use ratatui::layout::Rect;

    #[test]
    fn a_bend_is_drawn_as_it_is_written() {
        let area = Rect::new(0, 0, 11, 3);
        let mut buf = Buffer::empty(area);
        let end = draw(&mut Pen::new(&mut buf, area), (0, 0), "-3''", Style::new());
        assert_eq!(end - 1, width("-3''"));
        assert_eq!(
            buf,
            Buffer::with_lines([
                "    ▀▀█ █ █", //
                "▀▀▀ ▀▀█    ", //
                "    ▀▀▀    ",
            ])
        );
    }

    #[test]
    fn all_tab_and_all_numbers_can_be_large() {
        assert!(can("+4") && can("-10'''") && can("6o") && can("−78") && can("1234567890"));
        assert!(!can("4b"));
    }
}
