//! Lines to write on: when, how fast, and how it went.

use super::{Flow, LABEL, MARGIN};
use crate::LOG_COLUMNS;
use crate::draw::{Anchor, BLACK, FAINT};

/// Room to write by hand: 7.4 mm, between the 7 and 8 mm of ruled school paper (common practice, no source).
const LINE: f32 = 21.0;
/// The fewest lines that are worth their heading.
const FEWEST: usize = 4;
/// The labels of the columns.
const LABELS: f32 = 12.0;
/// Where the columns begin, as parts of the width.
const LEFT: [f32; 3] = [0.0, 0.14, 0.26];

/// Rules what is left of the page, but for `foot` points at its lower end.
pub(super) fn put(flow: &mut Flow, foot: f32) {
    flow.heading("Practice", LABELS + LINE * FEWEST as f32 + foot);
    let room = flow.bottom() - flow.y - LABELS - foot;
    let lines = (room / LINE).floor().max(0.0) as usize;
    let top = flow.take(LABELS + LINE * lines as f32);
    let (left, width) = (MARGIN, flow.width());
    for (label, part) in LOG_COLUMNS.iter().zip(LEFT) {
        flow.text((left + part * width, top + 7.5), Anchor::Start, LABEL, label);
    }
    let first = top + LABELS - 1.2;
    let last = first + LINE * lines as f32;
    flow.rule((left, first), (left + width, first), 0.3, BLACK);
    for line in 1..=lines {
        let y = first + LINE * line as f32;
        flow.rule((left, y), (left + width, y), 0.25, FAINT);
    }
    for part in &LEFT[1..] {
        let x = left + part * width - 5.0;
        flow.rule((x, first), (x, last), 0.25, FAINT);
    }
}
