//! Tables whose cells are broken into lines where they are too long for their column.

use super::{Flow, LABEL};
use crate::draw::{Anchor, BLACK, FAINT, Type, wrap};

/// Height of a line.
const LINE: f32 = 11.4;
/// Room that is kept free before the next column.
const GUTTER: f32 = 4.0;

/// A column: its left edge as a part of the table's width, its label, and how its cells look.
pub(super) struct Column {
    pub(super) left: f32,
    pub(super) label: &'static str,
    pub(super) look: Type,
}

/// A table ready to be put somewhere.
pub(super) struct Table<'a> {
    columns: &'a [Column],
    width: f32,
    /// Rows of cells of lines.
    rows: Vec<Vec<Vec<String>>>,
}

impl Column {
    pub(super) const fn new(left: f32, label: &'static str, look: Type) -> Self {
        Self { left, label, look }
    }
}

impl<'a> Table<'a> {
    pub(super) fn new<const N: usize>(
        columns: &'a [Column; N],
        width: f32,
        cells: impl Iterator<Item = [&'a str; N]>,
    ) -> Self {
        let mut table = Self { columns, width, rows: Vec::new() };
        table.rows = cells
            .map(|row| {
                let cells = row.iter().enumerate();
                cells.map(|(column, text)| wrap(text, columns[column].look, table.room(column))).collect()
            })
            .collect();
        table
    }

    pub(super) fn height(&self) -> f32 {
        LINE * (1 + self.rows.iter().map(|row| lines(row)).sum::<usize>()) as f32
    }

    pub(super) fn put(&self, flow: &mut Flow, left: f32, top: f32) {
        for column in self.columns {
            flow.text((left + column.left * self.width, top + 7.5), Anchor::Start, LABEL, column.label);
        }
        let mut bottom = top + LINE - 1.2;
        flow.rule((left, bottom), (left + self.width, bottom), 0.3, BLACK);
        for row in &self.rows {
            self.put_row(flow, row, left, bottom);
            bottom += LINE * lines(row) as f32;
            flow.rule((left, bottom), (left + self.width, bottom), 0.25, FAINT);
        }
    }

    fn put_row(&self, flow: &mut Flow, row: &[Vec<String>], left: f32, top: f32) {
        for (column, cell) in row.iter().enumerate() {
            let x = left + self.columns[column].left * self.width;
            for (line, text) in (1..).zip(cell) {
                let look = self.columns[column].look.fitting(text, self.room(column));
                flow.text((x, top + LINE * line as f32 - 2.2), Anchor::Start, look, text);
            }
        }
    }

    /// The room of a cell.
    fn room(&self, column: usize) -> f32 {
        let right = self.columns.get(column + 1).map_or(1.0, |next| next.left);
        (right - self.columns[column].left) * self.width - GUTTER
    }
}

fn lines(row: &[Vec<String>]) -> usize {
    row.iter().map(Vec::len).max().unwrap_or(0)
}
