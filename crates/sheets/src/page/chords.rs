//! Chords left, the main chords of the key and pairs of notes right.

use super::table::{Column, Table};
use super::{BODY, Flow, MARGIN, SMALL};
use crate::Sheet;

/// Room between the two halves, and the part of the width that the left one takes.
const GAP: f32 = 14.0;
const LEFT_SHARE: f32 = 0.58;
/// Room between the two tables on the right.
const BETWEEN: f32 = 5.0;

const CHORDS: [Column; 4] = [
    Column::new(0.0, "chord", BODY.bold()),
    Column::new(0.215, "in this key", BODY),
    Column::new(0.435, "notes", SMALL),
    Column::new(0.605, "holes", SMALL),
];
const PLACES: [Column; 4] = [
    Column::new(0.0, "in this key", BODY.bold()),
    Column::new(0.2, "chord", BODY),
    Column::new(0.38, "best place", SMALL),
    Column::new(0.66, "sounds", SMALL),
];
const PAIRS: [Column; 3] =
    [Column::new(0.0, "two notes", BODY), Column::new(0.2, "blow", SMALL), Column::new(0.6, "draw", SMALL)];

pub(super) fn put(flow: &mut Flow, sheet: &Sheet) {
    let width = flow.width() - GAP;
    let (left_width, right_width) = (width * LEFT_SHARE, width * (1.0 - LEFT_SHARE));
    let chords = sheet.chords.iter().map(|row| [&*row.symbol, &*row.function, &*row.notes, &*row.holes]);
    let chords = Table::new(&CHORDS, left_width, chords);
    let places = sheet.places.iter().map(|row| [&*row.function, &*row.symbol, &*row.holes, &*row.missing]);
    let places = Table::new(&PLACES, right_width, places);
    let pairs = sheet.intervals.iter().map(|row| [row.name, &*row.blow, &*row.draw]);
    let pairs = Table::new(&PAIRS, right_width, pairs);
    let high = chords.height().max(places.height() + BETWEEN + pairs.height());
    flow.heading("Chords under the mouth", high);
    let top = flow.take(high + 3.0);
    chords.put(flow, MARGIN, top);
    let right = MARGIN + left_width + GAP;
    places.put(flow, right, top);
    pairs.put(flow, right, top + places.height() + BETWEEN);
}
