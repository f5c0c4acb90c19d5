//! What the signs mean, and the usual cautions.

use super::marks::{self, Standing};
use super::{Flow, MARGIN, SMALL};
use crate::draw::{Anchor, DIM, wrap};
use crate::{CAUTIONS, MarkKind, Sheet};

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

pub(super) fn put(flow: &mut Flow, sheet: &Sheet) {
    let tab: Vec<String> = sheet.signs.iter().map(|(sign, meaning)| format!("{sign} = {meaning}")).collect();
    let tab = wrap(&format!("Tab: {}.", tab.join("; ")), SMALL, flow.width());
    let cautions: Vec<String> =
        CAUTIONS.iter().flat_map(|caution| wrap(caution, SMALL, flow.width())).collect();
    let lines = 2 + tab.len() + cautions.len();
    let height = LINE * lines as f32 + 4.0;
    flow.heading("Signs, and care", height);
    let top = flow.take(height);
    let mut y = top + 7.0;
    put_marks(flow, y, sheet.stair.has_gaps());
    y += LINE;
    let pitch = "Picture: pitch runs from left to right, each hole is a row; numbers on the marks are degrees of the \
                 scale; the upright lines stand on the tonic.";
    flow.text((MARGIN, y), Anchor::Start, SMALL.fitting(pitch, flow.width()), pitch);
    for line in &tab {
        y += LINE;
        flow.text((MARGIN, y), Anchor::Start, SMALL, line);
    }
    y += 3.0;
    for line in &cautions {
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
