//! The notes from tonic to tonic, one small table to the octave.

use super::{BODY, Flow, LABEL, MARGIN, SMALL};
use crate::draw::{Anchor, DIM, FAINT, Type};
use crate::{OctaveNote, OctaveTable};

/// Room for the octave's name and for the labels of the rows.
const NAMES: f32 = 50.0;
const LABELS: f32 = 42.0;
/// A column is never wider than this, so that short scales stay together.
const WIDEST: f32 = 56.0;
const LINE: f32 = 10.8;
const HEIGHT: f32 = 4.0 * LINE + 4.5;

/// A row of the table: its label, what it shows of a note, and how.
type Line = (&'static str, fn(&OctaveNote) -> &str, Type);

const LINES: [Line; 4] = [
    ("degree", |note| &note.degree, BODY.bold()),
    ("note", |note| &note.name, BODY),
    ("tab", |note| &note.tab, Type::new(9.5).bold()),
    ("technique", |note| &note.technique, SMALL),
];

pub(super) fn put(flow: &mut Flow, tables: &[OctaveTable]) {
    flow.heading("Notes, octave by octave", HEIGHT);
    let most = tables.iter().map(|table| table.notes.len()).max().unwrap_or(1);
    let column = ((flow.width() - NAMES - LABELS) / most as f32).min(WIDEST);
    for table in tables {
        put_table(flow, table, column);
    }
}

fn put_table(flow: &mut Flow, table: &OctaveTable, column: f32) {
    let top = flow.take(HEIGHT);
    let first = MARGIN + NAMES + LABELS;
    let name = BODY.bold();
    flow.text((MARGIN, top + LINE - 2.0), Anchor::Start, name.fitting(&table.name, NAMES - 4.0), &table.name);
    for (index, (label, show, look)) in LINES.iter().enumerate() {
        let y = top + LINE * (index + 1) as f32 - 2.0;
        flow.text((first - 6.0, y), Anchor::End, LABEL, label);
        for (place, note) in table.notes.iter().enumerate() {
            let x = first + column * (place as f32 + 0.5);
            let text = show(note);
            let look = if note.reachable { *look } else { look.gray(DIM) };
            flow.text((x, y), Anchor::Middle, look.fitting(text, column - 3.0), text);
        }
    }
    let bottom = top + HEIGHT - 2.6;
    flow.rule((MARGIN, bottom), (MARGIN + flow.width(), bottom), 0.3, FAINT);
}
