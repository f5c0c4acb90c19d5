//! The usual cautions.

use super::{Flow, MARGIN, SMALL};
use crate::CAUTIONS;
use crate::draw::{Anchor, wrap};

const LINE: f32 = 9.6;
const ABOVE: f32 = 8.0;

pub(super) fn lines(flow: &Flow) -> Vec<String> {
    CAUTIONS.iter().flat_map(|caution| wrap(caution, SMALL, flow.width())).collect()
}

pub(super) fn height(lines: &[String]) -> f32 {
    ABOVE + LINE * lines.len() as f32
}

pub(super) fn put(flow: &mut Flow, lines: &[String]) {
    let mut y = flow.take(height(lines)) + ABOVE;
    for line in lines {
        flow.text((MARGIN, y + 6.0), Anchor::Start, SMALL, line);
        y += LINE;
    }
}
