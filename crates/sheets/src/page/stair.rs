//! The stair on paper.

use super::marks::{self, Standing};
use super::{Flow, MARGIN};
use crate::draw::{Anchor, DIM, FAINT, Gray, Shape, Type};
use crate::{Mark, MarkKind, Stair, StairRow};
use layout::Note;

/// Room for the hole numbers on either side.
const SIDE: f32 = 22.0;
/// Room for the names of the notes above the rows.
const HEAD: f32 = 12.0;
/// Height of a row: the least at which its marks and degrees stand clear, and the most that looks well.
pub(super) const LOWEST_ROW: f32 = 15.2;
pub(super) const HIGHEST_ROW: f32 = 22.0;

const HOLE: Type = Type::new(8.5).bold();
const NAME: Type = Type::new(7.5);
const DEGREE: Type = Type::new(8.0);
/// Rows are told apart by lines that are barely there.
const ROW_LINE: Gray = 0.88;

/// Where things stand in the picture.
struct Frame {
    left: f32,
    right: f32,
    top: f32,
    row: f32,
    /// Points to the semitone.
    unit: f32,
    low: Note,
}

impl Frame {
    fn x(&self, note: Note) -> f32 {
        let up = f32::from(note.midi()) - f32::from(self.low.midi());
        self.left + SIDE + (up + 0.5) * self.unit
    }

    fn bottom(&self, rows: usize) -> f32 {
        self.top + HEAD + self.row * rows as f32
    }
}

pub(super) fn put(flow: &mut Flow, stair: &Stair, row: f32) {
    let height = HEAD + row * stair.rows.len() as f32 + 6.0;
    let top = flow.take(height);
    let (left, right) = (MARGIN, MARGIN + flow.width());
    let unit = (right - left - 2.0 * SIDE) / f32::from(stair.semitones());
    let frame = Frame { left, right, top, row, unit, low: stair.low };
    put_columns(flow, stair, &frame);
    for (index, row) in stair.rows.iter().enumerate() {
        put_row(flow, row, index, &frame);
    }
}

/// Names of the scale's notes at the head, and a line down from each tonic.
fn put_columns(flow: &mut Flow, stair: &Stair, frame: &Frame) {
    let bottom = frame.bottom(stair.rows.len());
    for column in &stair.columns {
        let x = frame.x(column.note);
        let look = if column.tonic { NAME.bold() } else { NAME };
        flow.text((x, frame.top + 7.5), Anchor::Middle, look.fitting(&column.name, frame.unit), &column.name);
        if column.tonic {
            flow.rule((x, frame.top + HEAD - 2.0), (x, bottom), 0.5, FAINT);
        }
    }
}

fn put_row(flow: &mut Flow, row: &StairRow, index: usize, frame: &Frame) {
    let top = frame.top + HEAD + frame.row * index as f32;
    let middle = top + frame.row * 0.5 + 3.4;
    flow.rule((frame.left, top + frame.row), (frame.right, top + frame.row), 0.4, ROW_LINE);
    let hole = row.hole.to_string();
    flow.text((frame.left + 2.0, middle + 2.8), Anchor::Start, HOLE, &hole);
    flow.text((frame.right - 2.0, middle + 2.8), Anchor::End, HOLE, &hole);
    put_spans(flow, row, middle, frame);
    for mark in &row.marks {
        put_mark(flow, mark, middle, frame);
    }
}

/// The line from reed to reed, and a dashed one on to the overbend.
fn put_spans(flow: &mut Flow, row: &StairRow, y: f32, frame: &Frame) {
    let reeds = || row.marks.iter().filter(|mark| matches!(mark.kind, MarkKind::Blow | MarkKind::Draw));
    let (Some(low), Some(high)) = (reeds().map(|m| m.note).min(), reeds().map(|m| m.note).max()) else {
        return;
    };
    flow.rule((frame.x(low), y), (frame.x(high), y), 0.8, DIM);
    if let Some(over) = row.marks.iter().find(|mark| mark.kind == MarkKind::Overbend) {
        let (from, to) = ((frame.x(high), y), (frame.x(over.note), y));
        flow.put(Shape::Line { from, to, width: 0.8, gray: DIM, dashed: true });
    }
}

fn put_mark(flow: &mut Flow, mark: &Mark, y: f32, frame: &Frame) {
    let x = frame.x(mark.note);
    let standing = match (&mark.degree, mark.reachable) {
        (None, _) => Standing::Beside,
        (Some(_), true) => Standing::Full,
        (Some(_), false) => Standing::OutOfReach,
    };
    flow.put(marks::shape(mark.kind, (x, y), standing));
    let Some(degree) = &mark.degree else { return };
    let text = if mark.reachable { degree.clone() } else { format!("[{degree}]") };
    let look = if mark.tonic { DEGREE.bold() } else { DEGREE };
    let look = if mark.reachable { look } else { look.gray(DIM) };
    let look = look.fitting(&text, frame.unit);
    let baseline = y - marks::RADIUS - 1.6;
    if mark.tonic {
        clear(flow, x, baseline, look.size);
    }
    flow.text((x, baseline), Anchor::Middle, look, &text);
}

/// Keeps the tonic's upright line off its own degree.
fn clear(flow: &mut Flow, x: f32, baseline: f32, size: f32) {
    let (side, top, bottom) = (size * 0.35, baseline - size * 0.8, baseline + 0.6);
    let points = vec![(x - side, top), (x + side, top), (x + side, bottom), (x - side, bottom)];
    flow.put(Shape::Polygon { points, fill: Some(1.0), width: 0.0, gray: 1.0 });
}
