//! The stair in text: two columns to the semitone, one line of marks to the hole, their degrees below.

use super::WIDTH;
use crate::{Column, MarkKind, Stair, StairRow};
use layout::Note;

/// Columns for the hole number.
const SIDE: usize = 3;
/// Semitones that fit beside the hole number, with room for a bracket after the last.
const MOST: u8 = ((WIDTH - SIDE - 1) / 2) as u8;

/// The picture, in banks of holes if its range is too wide for one.
pub(super) fn draw(stair: &Stair) -> Vec<String> {
    let mut lines = Vec::new();
    for bank in banks(&stair.rows) {
        let low = lowest(bank);
        let high = low.map_or(0, |low| low.midi() + MOST - 1);
        let columns: Vec<&Column> =
            stair.columns.iter().filter(|c| Some(c.note) >= low && c.note.midi() <= high).collect();
        let picture = Picture { low: low.map_or(0, Note::midi), columns };
        lines.extend(picture.names());
        for row in bank {
            lines.extend(picture.row(row));
        }
    }
    lines
}

/// The rows in as few groups as their ranges allow.
fn banks(rows: &[StairRow]) -> Vec<&[StairRow]> {
    let mut banks = Vec::new();
    let mut start = 0;
    for end in 1..=rows.len() {
        if span(&rows[start..end]) > MOST && end - start > 1 {
            banks.push(&rows[start..end - 1]);
            start = end - 1;
        }
    }
    banks.push(&rows[start..]);
    banks
}

fn notes(rows: &[StairRow]) -> impl Iterator<Item = Note> + '_ {
    rows.iter().flat_map(|row| &row.marks).map(|mark| mark.note)
}

fn lowest(rows: &[StairRow]) -> Option<Note> {
    notes(rows).min()
}

fn span(rows: &[StairRow]) -> u8 {
    match (notes(rows).min(), notes(rows).max()) {
        (Some(low), Some(high)) => high.midi() - low.midi() + 1,
        _ => 0,
    }
}

/// One bank: what all its lines share.
struct Picture<'a> {
    low: u8,
    columns: Vec<&'a Column>,
}

impl Picture<'_> {
    fn column(&self, note: Note) -> usize {
        SIDE + 2 * usize::from(note.midi().saturating_sub(self.low)) + 1
    }

    /// The names of the scale's notes; one that would touch its neighbour moves to a line above.
    fn names(&self) -> Vec<String> {
        let labels =
            self.columns.iter().map(|c| (self.column(c.note), c.name.trim_end_matches(char::is_numeric)));
        let mut lines = stacked(labels, &Line::blank());
        lines.reverse();
        lines
    }

    fn row(&self, row: &StairRow) -> Vec<String> {
        let mut marks = Line::blank();
        for tonic in self.columns.iter().filter(|column| column.tonic) {
            marks.set(self.column(tonic.note), '·');
        }
        let below = marks.clone();
        marks.end_at(1, &row.hole.to_string());
        self.span(&mut marks, row);
        let labels = row.marks.iter().filter_map(|mark| {
            let degree = mark.degree.as_deref()?;
            // The number stands under its mark, an arrow after it.
            Some((self.column(mark.note) + usize::from(degree.ends_with(['↑', '↓'])), degree))
        });
        let mut lines = vec![marks.text()];
        lines.extend(stacked(labels, &below));
        lines
    }

    /// The reeds, the line between them, the dashes to the overbend, and brackets around what is out of reach.
    fn span(&self, line: &mut Line, row: &StairRow) {
        for pair in row.marks.windows(2) {
            let dash = if pair.iter().any(|mark| mark.kind == MarkKind::Overbend) { '┄' } else { '─' };
            for column in self.column(pair[0].note) + 1..self.column(pair[1].note) {
                line.set(column, dash);
            }
        }
        for mark in &row.marks {
            let glyph = match mark.kind {
                MarkKind::Blow => '▲',
                MarkKind::Draw => '▼',
                MarkKind::Bend => '┼',
                MarkKind::Overbend => '○',
            };
            line.set(self.column(mark.note), glyph);
        }
        for far in row.marks.chunk_by(|a, b| a.reachable == b.reachable).filter(|group| !group[0].reachable) {
            line.set(self.column(far[0].note) - 1, '[');
            line.set(self.column(far[far.len() - 1].note) + 1, ']');
        }
    }
}

/// Labels that end in their columns, each in the first line where it stands free.
fn stacked<'a>(labels: impl Iterator<Item = (usize, &'a str)>, blank: &Line) -> Vec<String> {
    let mut lines = vec![(blank.clone(), 0)];
    for (column, label) in labels {
        let start = (column + 1).saturating_sub(label.chars().count());
        // The column before a label stays free.
        let free = lines.iter().position(|(_, end)| *end < start);
        let line = free.unwrap_or(lines.len());
        if free.is_none() {
            lines.push((blank.clone(), 0));
        }
        lines[line].0.end_at(column, label);
        lines[line].1 = column + 1;
    }
    lines.into_iter().map(|(line, _)| line.text()).collect()
}

/// A line that is filled by column.
#[derive(Clone)]
struct Line(Vec<char>);

impl Line {
    fn blank() -> Self {
        Self(vec![' '; WIDTH])
    }

    fn set(&mut self, column: usize, c: char) {
        if let Some(cell) = self.0.get_mut(column) {
            *cell = c;
        }
    }

    /// Writes a text that ends in a column.
    fn end_at(&mut self, column: usize, text: &str) {
        for (back, c) in text.chars().rev().enumerate() {
            if let Some(place) = column.checked_sub(back) {
                self.set(place, c);
            }
        }
    }

    fn text(&self) -> String {
        self.0.iter().collect()
    }
}
