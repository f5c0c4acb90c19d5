//! Tab and figures drawn large, so that they can be read from where a player stands.

mod signs;

use crate::Glyphs;
use crate::pen::{Pen, count};
use ratatui::style::Style;
use signs::picture;

/// The size of the signs: two dots in one cell, or each dot in one cell or more, where there is room or half a cell
/// has no sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Size {
    /// Columns of a dot.
    dot: i32,
    /// Two dots stand in one cell, one above the other.
    halves: bool,
    /// What a dot is filled with.
    ink: char,
}

/// Rows of dots of a sign.
const DOTS: usize = 5;

impl Size {
    /// The size for a screen of so many columns and rows; `None` where there is no room for large figures at all.
    pub(crate) fn of(columns: u16, rows: u16, glyphs: &Glyphs) -> Option<Self> {
        match (columns, rows) {
            (110.., 34..) => Some(Self::largest(glyphs)),
            (64.., 22..) => Some(Self { dot: 1, halves: !glyphs.ascii(), ink: ink(glyphs) }),
            _ => None,
        }
    }

    /// The largest size, for figures that are read without looking straight at them.
    pub(crate) fn largest(glyphs: &Glyphs) -> Self {
        Self { dot: 2, halves: false, ink: ink(glyphs) }
    }

    /// Rows that a figure takes.
    pub(crate) fn rows(self) -> u16 {
        let dots = DOTS as u16;
        if self.halves { dots.div_ceil(2) } else { dots }
    }

    /// The block of a cell in row `y` of a sign, in a column whose dots are told by `dot`.
    fn block(self, y: usize, dot: impl Fn(usize) -> bool) -> Option<char> {
        if !self.halves {
            return dot(y).then_some(self.ink);
        }
        match (dot(2 * y), dot(2 * y + 1)) {
            (true, true) => Some(self.ink),
            (true, false) => Some('▀'),
            (false, true) => Some('▄'),
            (false, false) => None,
        }
    }
}

/// What a dot is filled with.
fn ink(glyphs: &Glyphs) -> char {
    if glyphs.ascii() { '#' } else { '█' }
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
    size.dot * text.chars().map(|sign| columns(sign) + 1).sum::<i32>().saturating_sub(1).max(0)
}

/// Draws `text` large from column `x` and row `y`; returns the column after it.
pub(crate) fn draw(pen: &mut Pen<'_>, (x, y): (i32, i32), text: &str, (size, style): (Size, Style)) -> i32 {
    let mut x = x;
    for sign in text.chars() {
        let rows = picture(sign);
        for column in 0..columns(sign) * size.dot {
            let dot =
                |row: usize| rows.get(row).is_some_and(|bits| bits & (0b100 >> (column / size.dot)) != 0);
            for row in 0..usize::from(size.rows()) {
                if let Some(block) = size.block(row, dot) {
                    pen.glyph(x + column, y + count(row), block, style);
                }
            }
        }
        x += (columns(sign) + 1) * size.dot;
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{TabMarks, TabStyle};
    use ratatui::buffer::Buffer;
    use ratatui::layout::Rect;

    #[test]
    fn a_bend_is_drawn_as_it_is_written() {
        let size = Size::of(80, 24, &Glyphs::UNICODE).unwrap();
        let area = Rect::new(0, 0, 11, 3);
        let mut buf = Buffer::empty(area);
        let end = draw(&mut Pen::new(&mut buf, area), (0, 0), "-3''", (size, Style::new()));
        assert_eq!(end - 1, width("-3''", size));
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
        let size = Size::of(120, 40, &Glyphs::UNICODE).unwrap();
        let area = Rect::new(0, 0, 6, 5);
        let mut buf = Buffer::empty(area);
        draw(&mut Pen::new(&mut buf, area), (0, 0), "4", (size, Style::new()));
        assert_eq!(buf, Buffer::with_lines(["██  ██", "██  ██", "██████", "    ██", "    ██"]));
    }

    #[test]
    fn a_terminal_without_half_blocks_has_large_signs_of_ascii() {
        let size = Size::of(80, 24, &Glyphs::ASCII).unwrap();
        let area = Rect::new(0, 0, 7, 5);
        let mut buf = Buffer::empty(area);
        draw(&mut Pen::new(&mut buf, area), (0, 0), "3o", (size, Style::new()));
        assert_eq!(buf, Buffer::with_lines(["###    ", "  #    ", "### ###", "  # # #", "### ###"]));
    }

    #[test]
    fn every_tab_style_and_all_numbers_can_be_large() {
        let harp = layout::Harp::richter("C".parse().unwrap());
        let own = TabMarks { draw: "*".to_owned(), bend: "/".to_owned(), ..TabMarks::default() };
        let styles = TabStyle::NAMES.map(|name| TabStyle::named(name).unwrap());
        for style in styles.into_iter().chain([TabStyle::new(own).unwrap()]) {
            for way in harp.ways() {
                assert!(can(&style.print(way)), "{}", style.print(way));
            }
        }
        assert!(can("−78") && can("+1234567890") && can("B♭4") && can("F♯5"));
        assert!(!can("音"));
    }

    #[test]
    fn no_two_signs_of_a_tab_look_alike() {
        let signs: Vec<char> = "0123456789-+'obBD↑↓♭♯ACEFG".chars().collect();
        for (i, a) in signs.iter().enumerate() {
            for b in &signs[i + 1..] {
                assert_ne!(picture(*a), picture(*b), "{a} and {b}");
            }
        }
    }
}
