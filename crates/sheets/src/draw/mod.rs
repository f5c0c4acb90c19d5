//! What a page is made of: a few shapes at places measured in points (1/72 inch) from the upper left corner.

pub(crate) mod letters;
pub(crate) mod signs;

pub(crate) use letters::Weight;
use letters::letter_width;
use signs::{SIGNS, sign_for};

/// A point on the page: x to the right, y downwards.
pub(crate) type Point = (f32, f32);

/// Black is 0, white is 1.
pub(crate) type Gray = f32;

pub(crate) const BLACK: Gray = 0.0;
/// Light enough to step back, dark enough to print (contrast to white above 4.5:1, WCAG 2.2 criterion 1.4.3).
pub(crate) const DIM: Gray = 0.42;
/// For rules and guide lines, which carry no text.
pub(crate) const FAINT: Gray = 0.72;

/// On which side of its point a text stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// How letters look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Type {
    /// Size in points.
    pub(crate) size: f32,
    pub(crate) weight: Weight,
    pub(crate) gray: Gray,
}

/// Something on the page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Shape {
    Line {
        from: Point,
        to: Point,
        width: f32,
        gray: Gray,
        dashed: bool,
    },
    /// A closed outline: filled if `fill` is given, and drawn around with a line of `width`.
    Polygon {
        points: Vec<Point>,
        fill: Option<Gray>,
        width: f32,
        gray: Gray,
    },
    Circle {
        centre: Point,
        radius: f32,
        fill: Option<Gray>,
        width: f32,
        gray: Gray,
    },
    /// A line of text; y is its baseline.
    Text {
        at: Point,
        anchor: Anchor,
        look: Type,
        text: String,
    },
}

/// One page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Page {
    pub(crate) width: f32,
    pub(crate) height: f32,
    pub(crate) shapes: Vec<Shape>,
}

/// A stretch of text in one font.
#[derive(Debug, PartialEq)]
pub(crate) enum Run<'a> {
    Letters(&'a str),
    /// Characters that are drawn ([`signs`]).
    Signs(&'a str),
}

impl Type {
    pub(crate) const fn new(size: f32) -> Self {
        Self { size, weight: Weight::Regular, gray: BLACK }
    }

    pub(crate) const fn bold(self) -> Self {
        Self { weight: Weight::Bold, ..self }
    }

    pub(crate) const fn gray(self, gray: Gray) -> Self {
        Self { gray, ..self }
    }

    /// The width of a text in points.
    pub(crate) fn width(self, text: &str) -> f32 {
        text.chars().map(|c| f32::from(self.advance(c))).sum::<f32>() * self.size / 1000.0
    }

    /// The same letters, made small enough for a text to fit into `room` points.
    pub(crate) fn fitting(self, text: &str, room: f32) -> Self {
        let width = self.width(text);
        if width <= room { self } else { Self { size: self.size * room / width, ..self } }
    }

    /// The width of a character in thousandths of the size.
    fn advance(self, c: char) -> u16 {
        letter_width(c, self.weight).unwrap_or(SIGNS[sign_for(c)].width)
    }
}

/// Cuts a text into stretches that the letters' font has and stretches that it lacks.
pub(crate) fn runs(text: &str) -> Vec<Run<'_>> {
    let is_letter = |c: char| letters::win_ansi(c).is_some();
    let mut runs = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let letters = is_letter(first);
        let end = rest.find(|c| is_letter(c) != letters).unwrap_or(rest.len());
        let (run, after) = rest.split_at(end);
        runs.push(if letters { Run::Letters(run) } else { Run::Signs(run) });
        rest = after;
    }
    runs
}

/// How many times as wide as ours the letters may be where the reader of an SVG has another font.
const SLACK: f32 = 1.05;

/// Breaks a text into lines of at most `room` points, at spaces; a longer word stands alone.
pub(crate) fn wrap(text: &str, look: Type, room: f32) -> Vec<String> {
    let room = room / SLACK;
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if look.width(&format!("{line} {word}")) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
