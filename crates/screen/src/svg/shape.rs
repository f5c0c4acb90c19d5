//! Signs as shapes that fill their cell exactly.

use super::CELL;
use std::fmt::Write;

/// Thickness of thin and of heavy lines, pixels.
const THIN: f64 = 1.3;
const HEAVY: f64 = 3.0;

/// The shape of `sign` in the cell with this left upper corner, or `None` if it is drawn as text.
pub(super) fn of(sign: char, corner: (f64, f64)) -> Option<String> {
    let at = At(corner);
    Some(match sign {
        '─' => at.across(0.0, 1.0, THIN),
        '╌' => at.across(0.1, 0.4, THIN) + &at.across(0.6, 0.9, THIN),
        '━' => at.across(0.0, 1.0, HEAVY),
        '│' => at.down(0.0, 1.0, THIN),
        '┃' => at.down(0.0, 1.0, HEAVY),
        '┊' => [0.04, 0.29, 0.54, 0.79].iter().map(|y| at.down(*y, y + 0.14, THIN)).collect(),
        '┼' => at.across(0.0, 1.0, THIN) + &at.down(0.2, 0.8, THIN),
        '█' => at.block((0.0, 0.0), (1.0, 1.0)),
        '▀' => at.block((0.0, 0.0), (1.0, 0.5)),
        '▄' => at.block((0.0, 0.5), (1.0, 0.5)),
        '░' => format!("<g opacity=\"0.4\">{}</g>", at.block((0.0, 0.0), (1.0, 1.0))),
        '▲' => at.path(&[(0.5, 0.25), (1.05, 0.75), (-0.05, 0.75)]),
        '▼' => at.path(&[(-0.05, 0.25), (1.05, 0.25), (0.5, 0.75)]),
        '◆' => at.path(&[(0.5, 0.18), (1.15, 0.5), (0.5, 0.82), (-0.15, 0.5)]),
        '◂' => at.path(&[(0.15, 0.5), (0.8, 0.32), (0.8, 0.68)]),
        '▸' => at.path(&[(0.85, 0.5), (0.2, 0.32), (0.2, 0.68)]),
        '●' => at.dot(0.5, 0.5, 4.4),
        '•' => at.dot(0.5, 0.5, 2.6),
        '·' => at.dot(0.5, 0.5, 1.3),
        '\u{2800}'..='\u{28ff}' => at.braille(sign as u32 - 0x2800),
        _ => return None,
    })
}

/// A cell by its left upper corner; places in it count from 0 to 1.
struct At((f64, f64));

impl At {
    fn x(&self, x: f64) -> f64 {
        self.0.0 + x * CELL.0
    }

    fn y(&self, y: f64) -> f64 {
        self.0.1 + y * CELL.1
    }

    fn rect(x: f64, y: f64, width: f64, height: f64) -> String {
        format!("<rect x=\"{x:.2}\" y=\"{y:.2}\" width=\"{width:.2}\" height=\"{height:.2}\"/>")
    }

    fn across(&self, from: f64, to: f64, thick: f64) -> String {
        Self::rect(self.x(from), self.y(0.5) - thick / 2.0, (to - from) * CELL.0, thick)
    }

    fn down(&self, from: f64, to: f64, thick: f64) -> String {
        Self::rect(self.x(0.5) - thick / 2.0, self.y(from), thick, (to - from) * CELL.1)
    }

    fn block(&self, (x, y): (f64, f64), (width, height): (f64, f64)) -> String {
        Self::rect(self.x(x), self.y(y), width * CELL.0, height * CELL.1)
    }

    fn dot(&self, x: f64, y: f64, radius: f64) -> String {
        format!("<circle cx=\"{:.2}\" cy=\"{:.2}\" r=\"{radius}\"/>", self.x(x), self.y(y))
    }

    fn path(&self, points: &[(f64, f64)]) -> String {
        let mut text = String::from("<path d=\"M");
        for (x, y) in points {
            let _ = write!(text, "{:.2} {:.2} ", self.x(*x), self.y(*y));
        }
        text + "z\"/>"
    }

    /// The dots of a braille pattern, numbered as Unicode numbers them (U+2800 plus one bit a dot).
    fn braille(&self, bits: u32) -> String {
        const PLACES: [(u8, u8); 8] = [(0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (0, 3), (1, 3)];
        PLACES
            .iter()
            .enumerate()
            .filter(|(bit, _)| bits & (1 << bit) != 0)
            .map(|(_, (x, y))| self.dot(0.25 + 0.5 * f64::from(*x), 0.125 + 0.25 * f64::from(*y), 1.5))
            .collect()
    }
}
