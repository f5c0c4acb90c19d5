//! Tab and figures drawn large, so that they can be read from where a player stands.

use crate::pen::{Pen, count};
use ratatui::style::Style;

/// How large: two dots to a cell, or two cells to a dot where there is room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Size {
    /// Three rows high.
    Large,
    /// Five rows high and twice as wide.
    Huge,
}

impl Size {
    /// The size for a screen of so many columns and rows; `None` where there is no room for large figures at all.
    pub(crate) fn of(columns: u16, rows: u16) -> Option<Self> {
        match (columns, rows) {
            (110.., 34..) => Some(Self::Huge),
            (64.., 22..) => Some(Self::Large),
            _ => None,
        }
    }

    /// Rows that a figure takes.
    pub(crate) fn rows(self) -> u16 {
        match self {
            Self::Large => 3,
            Self::Huge => 5,
        }
    }

    /// Columns of a dot.
    fn dot(self) -> i32 {
        match self {
            Self::Large => 1,
            Self::Huge => 2,
        }
    }

    /// The block of a cell in row `y` of a sign, in a column whose dots are told by `dot`.
    fn block(self, y: usize, dot: impl Fn(usize) -> bool) -> Option<char> {
        match self {
            Self::Huge => dot(y).then_some('█'),
            Self::Large => match (dot(2 * y), dot(2 * y + 1)) {
                (true, true) => Some('█'),
                (true, false) => Some('▀'),
                (false, true) => Some('▄'),
                (false, false) => None,
            },
        }
    }
}

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
pub(crate) fn width(text: &str, size: Size) -> i32 {
    size.dot() * text.chars().map(|sign| columns(sign) + 1).sum::<i32>().saturating_sub(1).max(0)
}

/// Draws `text` large from column `x` and row `y`; returns the column after it.
pub(crate) fn draw(pen: &mut Pen<'_>, (x, y): (i32, i32), text: &str, (size, style): (Size, Style)) -> i32 {
    let mut x = x;
    for sign in text.chars() {
        let rows = picture(sign);
        for column in 0..columns(sign) * size.dot() {
            let dot =
                |row: usize| rows.get(row).is_some_and(|bits| bits & (0b100 >> (column / size.dot())) != 0);
            for row in 0..usize::from(size.rows()) {
                if let Some(block) = size.block(row, dot) {
                    pen.glyph(x + column, y + count(row), block, style);
                }
            }
        }
        x += (columns(sign) + 1) * size.dot();
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
        let end = draw(&mut Pen::new(&mut buf, area), (0, 0), "-3''", (Size::Large, Style::new()));
        assert_eq!(end - 1, width("-3''", Size::Large));
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
    fn a_huge_sign_is_twice_as_large() {
        let area = Rect::new(0, 0, 6, 5);
        let mut buf = Buffer::empty(area);
        draw(&mut Pen::new(&mut buf, area), (0, 0), "4", (Size::Huge, Style::new()));
        assert_eq!(buf, Buffer::with_lines(["██  ██", "██  ██", "██████", "    ██", "    ██"]));
    }

    #[test]
    fn all_tab_and_all_numbers_can_be_large() {
        assert!(can("+4") && can("-10'''") && can("6o") && can("−78") && can("1234567890"));
        assert!(!can("4b"));
    }
}
