//! The grid in text: a column to the hole; over the name of a note of the scale stands its degree.

use super::{Letters, WIDTH};
use crate::{Grid, GridCell, GridRow};
use std::fmt::Write;
use std::ops::Range;

/// Columns for the name of a row, and for a hole.
const NAMES: usize = 13;
const HOLE: usize = 6;
/// The most holes beside each other.
const MOST: usize = (WIDTH - NAMES) / HOLE;

/// The grid, in as few banks of holes as the width of the page allows.
pub(super) fn draw(grid: &Grid, letters: Letters) -> Vec<String> {
    let count = grid.holes.len();
    let banks = count.div_ceil(MOST).max(1);
    let size = count.div_ceil(banks).max(1);
    let starts = (0..count).step_by(size);
    starts.flat_map(|start| bank(grid, start..(start + size).min(count), letters)).collect()
}

fn bank(grid: &Grid, holes: Range<usize>, letters: Letters) -> Vec<String> {
    let numbers = grid.holes[holes.clone()].iter().map(|hole| Some(hole.to_string()));
    let rule = letters.spell(&"─".repeat(NAMES + HOLE * holes.len()));
    let mut lines: Vec<String> = grid.blow.iter().flat_map(|own| row(own, &holes, letters)).collect();
    lines.push(rule.clone());
    lines.push(line("hole", numbers, letters));
    lines.push(rule);
    lines.extend(grid.draw.iter().flat_map(|own| row(own, &holes, letters)));
    lines
}

/// The degrees, if there are any, and the names below them.
fn row(row: &GridRow, holes: &Range<usize>, letters: Letters) -> Vec<String> {
    let cells = &row.cells[holes.clone()];
    let degrees = || cells.iter().map(|cell| degree(cell.as_ref()?));
    let names = cells.iter().map(|cell| Some(cell.as_ref()?.name.clone()));
    if degrees().any(|degree| degree.is_some()) {
        vec![line(&row.name, degrees(), letters), line("", names, letters)]
    } else if cells.iter().any(Option::is_some) {
        vec![line(&row.name, names, letters)]
    } else {
        Vec::new()
    }
}

fn degree(cell: &GridCell) -> Option<String> {
    let degree = cell.degree.as_ref()?;
    Some(if cell.reachable { degree.clone() } else { format!("[{degree}]") })
}

fn line(name: &str, cells: impl Iterator<Item = Option<String>>, letters: Letters) -> String {
    let mut line = format!("{:NAMES$}", letters.spell(name));
    for cell in cells {
        // Writing to a string cannot fail.
        let _ = write!(line, "{:^HOLE$}", letters.spell(&cell.unwrap_or_default()));
    }
    line.trim_end().to_owned()
}
