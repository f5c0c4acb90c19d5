//! Everything, as lines of JSON.

use crate::{Journal, JournalError};
use rusqlite::types::ValueRef;
use serde_json::{Map, Value};
use std::io::{self, Write};

/// The lines: first the sessions, then what was practised in them. Each line says its `kind`; the columns are those of the
/// tables, with texts in place of their numbers.
const QUERIES: [(&str, &str); 5] = [
    ("session", "SELECT name AS session, player, began_ms, offset_s, program FROM session ORDER BY name"),
    (
        "entry",
        "SELECT s.name AS session, e.number, e.at_ms, e.offset_s, e.by, e.kind AS entry, w.text AS what, h.text AS harp
         FROM entry e JOIN session s ON s.id = e.session JOIN word w ON w.id = e.what JOIN word h ON h.id = e.harp
         ORDER BY s.name, e.number",
    ),
    (
        "try",
        "SELECT s.name AS session, t.number, item, note, attempt, w.text AS way, asked_cents, hold_ms, in_tune_cents,
                o.text AS outcome, off_cents, depth_semitones, reach_ms, held_ms, spread_cents, drift_cents_per_s,
                overshoot_cents, sigma_cents, level_spread_db, hnr_db, vibrato_hz, vibrato_cents
         FROM try t JOIN session s ON s.id = t.session JOIN word w ON w.id = t.way JOIN word o ON o.id = t.outcome
         ORDER BY s.name, t.number",
    ),
    (
        "run",
        "SELECT s.name AS session, r.number, w.text AS rhythm, tempo, in_tune_cents, timed, asked, played, in_pitch, in_time,
                right, clean, late_ms, spread_ms, uneven_ms, played_tempo
         FROM run r JOIN session s ON s.id = r.session JOIN word w ON w.id = r.rhythm ORDER BY s.name, r.number",
    ),
    (
        "run_note",
        "SELECT s.name AS session, n.number, place, bar, w.text AS way, asked_ms, played_ms, late_ms, tenths_of_cents,
                o.text AS outcome, right
         FROM run_note n JOIN session s ON s.id = n.session JOIN word w ON w.id = n.way JOIN word o ON o.id = n.outcome
         ORDER BY s.name, n.number, n.place",
    ),
];

/// Writes everything that is kept as lines of JSON; says how many.
///
/// # Errors
/// If the journal cannot be read, or the lines not be written.
pub fn export(journal: &Journal, out: &mut impl Write) -> Result<u64, ExportError> {
    let of = |error| ExportError::Journal(JournalError::of(&journal.file, error));
    let mut lines = 0;
    for (kind, text) in QUERIES {
        let mut query = journal.connection.prepare(text).map_err(of)?;
        let names: Vec<String> = query.column_names().map(str::to_owned).collect();
        let mut rows = query.query([]).map_err(of)?;
        while let Some(row) = rows.next().map_err(of)? {
            let mut line = Map::from_iter([("kind".to_owned(), Value::from(kind))]);
            for (index, name) in names.iter().enumerate() {
                line.insert(name.clone(), value(row.get_ref(index).map_err(of)?));
            }
            writeln!(out, "{}", Value::Object(line)).map_err(ExportError::Out)?;
            lines += 1;
        }
    }
    Ok(lines)
}

/// Why an export failed.
#[derive(Debug)]
pub enum ExportError {
    /// The journal cannot be read.
    Journal(JournalError),
    /// The lines cannot be written.
    Out(io::Error),
}

fn value(cell: ValueRef<'_>) -> Value {
    match cell {
        ValueRef::Null | ValueRef::Blob(_) => Value::Null,
        ValueRef::Integer(number) => Value::from(number),
        ValueRef::Real(number) => Value::from(number),
        ValueRef::Text(text) => Value::from(String::from_utf8_lossy(text).into_owned()),
    }
}
