//! What the signs mean.

use super::marks::{self, Standing};
use super::{Flow, MARGIN, SMALL};
use crate::draw::{Anchor, DIM, wrap};
use crate::{MarkKind, Sheet};

const LINE: f32 = 9.6;

/// The marks of the picture in words.
const MARKS: [(MarkKind, Standing, &str); 6] = [
    (MarkKind::Blow, Standing::Full, "blow reed"),
    (MarkKind::Draw, Standing::Full, "draw reed"),
    (MarkKind::Bend, Standing::Full, "bend"),
    (MarkKind::Overbend, Standing::Full, "overblow, overdraw"),
    (MarkKind::Bend, Standing::Beside, "small and hollow: not in the scale"),
    (MarkKind::Bend, Standing::OutOfReach, "[hollow, in brackets]: out of reach"),
];

const PICTURE: &str = "Picture: pitch runs from left to right, each hole is a row; numbers on the marks are degrees of the \
                       scale; the upright lines stand on the tonic.";
const GRID: &str = "Hole by hole: what blowing sounds stands above the numbers, what drawing sounds below them, bends and \
                    overbends outwards. A frame with a degree is around what the scale has, a thick one around the tonic";
const GAPS: &str = ", a dashed one around what is out of reach";

pub(super) fn put(flow: &mut Flow, sheet: &Sheet) {
    let gaps = sheet.stair.has_gaps();
    let tab: Vec<String> = sheet.signs.iter().map(|(sign, meaning)| format!("{sign} = {meaning}")).collect();
    let texts = [
        PICTURE.to_owned(),
        format!("{GRID}{}.", if gaps { GAPS } else { "" }),
        format!("Tab: {}.", tab.join("; ")),
    ];
    let lines: Vec<String> = texts.iter().flat_map(|text| wrap(text, SMALL, flow.width())).collect();
    let height = LINE * (1 + lines.len()) as f32;
    flow.heading("Signs", height);
    let mut y = flow.take(height) + 7.0;
    put_marks(flow, y, gaps);
    for line in &lines {
        y += LINE;
        flow.text((MARGIN, y), Anchor::Start, SMALL, line);
    }
}

fn put_marks(flow: &mut Flow, y: f32, gaps: bool) {
    let mut x = MARGIN;
    for (kind, standing, words) in MARKS.into_iter().filter(|mark| gaps || mark.1 != Standing::OutOfReach) {
        flow.put(marks::shape(kind, (x + marks::RADIUS, y - 2.6), standing));
        x += 2.0 * marks::RADIUS + 3.5;
        let look = if standing == Standing::OutOfReach { SMALL.gray(DIM) } else { SMALL };
        flow.text((x, y), Anchor::Start, look, words);
        x += look.width(words) + 11.0;
    }
}
