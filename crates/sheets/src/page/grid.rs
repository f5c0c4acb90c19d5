//! The grid of the holes on paper.

use super::{BODY, Flow, LABEL, MARGIN};
use crate::draw::{Anchor, BLACK, DIM, Shape, Type};
use crate::{Grid, GridCell, GridRow};

/// Room for the names of the rows.
const NAMES: f32 = 50.0;
const ROW: f32 = 13.0;
/// Height of the line of hole numbers between blow and draw.
const NUMBERS: f32 = 14.0;
/// How far a frame stands off the edges of its cell, and how far a text stands off the middle of it.
const INSET: f32 = 1.1;
const OFF: f32 = 1.4;

const HOLE: Type = Type::new(9.0).bold();
const DEGREE: Type = Type::new(8.5).bold();
const NAME: Type = Type::new(7.5);

/// Where the columns stand.
struct Columns {
    left: f32,
    width: f32,
    count: usize,
}

impl Columns {
    fn x(&self, index: usize) -> f32 {
        self.left + self.width * index as f32
    }
}

fn height(grid: &Grid) -> f32 {
    NUMBERS + ROW * (grid.blow.len() + grid.draw.len()) as f32 + 6.0
}

pub(super) fn put(flow: &mut Flow, grid: &Grid) {
    flow.heading("Hole by hole", height(grid));
    let count = grid.holes.len();
    let columns = Columns { left: MARGIN + NAMES, width: (flow.width() - NAMES) / count as f32, count };
    let mut y = flow.take(height(grid)) + 1.0;
    for row in &grid.blow {
        put_row(flow, row, y, &columns);
        y += ROW;
    }
    put_numbers(flow, &grid.holes, y, &columns);
    y += NUMBERS;
    for row in &grid.draw {
        put_row(flow, row, y, &columns);
        y += ROW;
    }
}

fn put_numbers(flow: &mut Flow, holes: &[u8], top: f32, columns: &Columns) {
    let right = columns.x(columns.count);
    for y in [top + 0.6, top + NUMBERS - 0.6] {
        flow.rule((MARGIN, y), (right, y), 0.8, BLACK);
    }
    let y = top + NUMBERS - 4.0;
    flow.text((MARGIN, y), Anchor::Start, BODY.bold(), "hole");
    for (index, hole) in holes.iter().enumerate() {
        let x = columns.x(index) + columns.width / 2.0;
        flow.text((x, y), Anchor::Middle, HOLE, &hole.to_string());
    }
}

fn put_row(flow: &mut Flow, row: &GridRow, top: f32, columns: &Columns) {
    flow.text((MARGIN, top + ROW - 3.9), Anchor::Start, LABEL.fitting(&row.name, NAMES - 4.0), &row.name);
    for (index, cell) in row.cells.iter().enumerate() {
        let Some(cell) = cell else { continue };
        let corner = (columns.x(index), top);
        put_cell(flow, cell, corner, columns.width);
    }
}

/// A note that the scale has is framed and carries its degree; any other is a name alone.
fn put_cell(flow: &mut Flow, cell: &GridCell, (left, top): (f32, f32), width: f32) {
    let (middle, y) = (left + width / 2.0, top + ROW - 3.9);
    let Some(degree) = &cell.degree else {
        let look = NAME.gray(DIM).fitting(&cell.name, width - 2.0);
        flow.text((middle, y), Anchor::Middle, look, &cell.name);
        return;
    };
    put_frame(flow, cell, (left, top), width);
    let gray = if cell.reachable { BLACK } else { DIM };
    let (open, close) = if cell.reachable { ("", "") } else { ("[", "]") };
    let (degree, name) = (format!("{open}{degree}"), format!("{}{close}", cell.name));
    let room = width / 2.0 - INSET - OFF - 1.5;
    flow.text((middle - OFF, y), Anchor::End, DEGREE.gray(gray).fitting(&degree, room), &degree);
    flow.text((middle + OFF, y), Anchor::Start, NAME.gray(gray).fitting(&name, room), &name);
}

/// Thick around the tonic, dashed around what is out of reach.
fn put_frame(flow: &mut Flow, cell: &GridCell, (left, top): (f32, f32), width: f32) {
    let weight = if cell.tonic { 1.6 } else { 0.6 };
    let gray = if cell.reachable { BLACK } else { DIM };
    let (x0, x1) = (left + INSET, left + width - INSET);
    let (y0, y1) = (top + INSET, top + ROW - INSET);
    // The upper and lower lines close the corners.
    let (l, r) = (x0 - weight / 2.0, x1 + weight / 2.0);
    for (from, to) in [((l, y0), (r, y0)), ((l, y1), (r, y1)), ((x0, y0), (x0, y1)), ((x1, y0), (x1, y1))] {
        flow.put(Shape::Line { from, to, width: weight, gray, dashed: !cell.reachable });
    }
}
