//! The shapes of one page as PDF operators.

use super::signs_font::FIRST_CODE;
use super::{BOLD, REGULAR, SIGNS};
use crate::draw::signs::sign_for;
use crate::draw::{Anchor, Gray, Page, Point, Run, Shape, Type, Weight, letters, runs};
use pdf_writer::{Content, Str};

/// Four cubic curves make a circle when their control points lie this far along the radius: 4/3·(√2 − 1).
const CIRCLE: f32 = 0.552_284_8;

pub(super) fn of(page: &Page) -> Vec<u8> {
    let mut sketch = Sketch { content: Content::new(), height: page.height };
    for shape in &page.shapes {
        sketch.shape(shape);
    }
    sketch.content.finish().into_vec()
}

struct Sketch {
    content: Content,
    /// Height of the page in points: PDF counts upwards from the lower edge.
    height: f32,
}

impl Sketch {
    fn shape(&mut self, shape: &Shape) {
        match shape {
            Shape::Line { from, to, width, gray, dashed } => {
                let dashes: &[f32] = if *dashed { &[1.5, 1.5] } else { &[] };
                self.content.set_line_width(*width).set_stroke_gray(*gray);
                self.content.set_dash_pattern(dashes.iter().copied(), 0.0);
                self.content.move_to(from.0, self.height - from.1).line_to(to.0, self.height - to.1).stroke();
                self.content.set_dash_pattern([], 0.0);
            }
            Shape::Polygon { points, fill, width, gray } => {
                self.outline(points);
                self.paint(*fill, *width, *gray);
            }
            Shape::Circle { centre, radius, fill, width, gray } => {
                self.circle(*centre, *radius);
                self.paint(*fill, *width, *gray);
            }
            Shape::Text { at, anchor, look, text } => self.text(*at, *anchor, *look, text),
        }
    }

    fn outline(&mut self, points: &[Point]) {
        for (index, (x, y)) in points.iter().enumerate() {
            let y = self.height - y;
            if index == 0 {
                self.content.move_to(*x, y)
            } else {
                self.content.line_to(*x, y)
            };
        }
        self.content.close_path();
    }

    fn circle(&mut self, (x, y): Point, r: f32) {
        let (y, c) = (self.height - y, r * CIRCLE);
        self.content
            .move_to(x + r, y)
            .cubic_to(x + r, y + c, x + c, y + r, x, y + r)
            .cubic_to(x - c, y + r, x - r, y + c, x - r, y)
            .cubic_to(x - r, y - c, x - c, y - r, x, y - r)
            .cubic_to(x + c, y - r, x + r, y - c, x + r, y)
            .close_path();
    }

    fn paint(&mut self, fill: Option<Gray>, width: f32, gray: Gray) {
        self.content.set_line_width(width).set_stroke_gray(gray);
        match fill {
            Some(fill) => self.content.set_fill_gray(fill).fill_nonzero_and_stroke(),
            None => self.content.stroke(),
        };
    }

    fn text(&mut self, (x, y): Point, anchor: Anchor, look: Type, text: &str) {
        let left = x - look.width(text) * anchor.share();
        let letters_font = match look.weight {
            Weight::Regular => REGULAR,
            Weight::Bold => BOLD,
        };
        self.content.set_fill_gray(look.gray).begin_text();
        self.content.next_line(left, self.height - y);
        for run in runs(text) {
            match run {
                Run::Letters(letters) => {
                    let codes: Vec<u8> = letters.chars().filter_map(letters::win_ansi).collect();
                    self.content.set_font(letters_font, look.size).show(Str(&codes));
                }
                Run::Signs(signs) => {
                    let codes: Vec<u8> = signs.chars().map(|c| FIRST_CODE + sign_for(c) as u8).collect();
                    self.content.set_font(SIGNS, look.size).show(Str(&codes));
                }
            }
        }
        self.content.end_text();
    }
}

impl Anchor {
    /// The part of a text's width that lies left of its point.
    pub(crate) fn share(self) -> f32 {
        match self {
            Self::Start => 0.0,
            Self::Middle => 0.5,
            Self::End => 1.0,
        }
    }
}
