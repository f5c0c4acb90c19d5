//! Everything, as lines of JSON or as tables.

use crate::tables::{TABLES, Table};
use crate::{Journal, JournalError};
use rusqlite::types::ValueRef;
use serde_json::{Map, Value};
use std::io::{self, Write};

/// The `kind` of the last line, which says how many lines there are before it, so that an import notices a cut export.
pub(crate) const END: &str = "end";

/// Writes everything that is kept, or everything of one player, as lines of JSON: first the sessions, then what was
/// practised in them. The `kind` of each line names its table of [`TABLES`]. Returns the number of lines before the
/// last one, which ends the export.
///
/// # Errors
/// If the journal cannot be read, or the lines not be written.
pub fn export(journal: &Journal, who: Option<&str>, out: &mut impl Write) -> Result<u64, ExportError> {
    let mut lines = 0;
    for table in &TABLES {
        each_row(journal, table, who, |cells| {
            let mut line = Map::from_iter([("kind".to_owned(), Value::from(table.name))]);
            for (column, cell) in table.columns.iter().zip(cells) {
                line.insert(column.name.to_owned(), value(*cell));
            }
            lines += 1;
            writeln!(out, "{}", Value::Object(line)).map_err(ExportError::Out)
        })?;
    }
    let end =
        Map::from_iter([("kind".to_owned(), Value::from(END)), ("lines".to_owned(), Value::from(lines))]);
    writeln!(out, "{}", Value::Object(end)).map_err(ExportError::Out)?;
    Ok(lines)
}

/// Writes a table as CSV (RFC 4180) with the names of its columns in the first line; says how many rows.
///
/// # Errors
/// If the journal cannot be read, or the table not be written.
pub fn export_csv(
    journal: &Journal,
    table: &Table,
    who: Option<&str>,
    out: &mut impl Write,
) -> Result<u64, ExportError> {
    let failed = |error: csv::Error| match error.into_kind() {
        csv::ErrorKind::Io(error) => ExportError::Out(error),
        other => ExportError::Out(io::Error::other(format!("{other:?}"))),
    };
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record(table.columns.iter().map(|column| column.name)).map_err(failed)?;
    let mut rows = 0;
    each_row(journal, table, who, |cells| {
        rows += 1;
        csv.write_record(cells.iter().map(|cell| text(*cell))).map_err(failed)
    })?;
    csv.flush().map_err(ExportError::Out)?;
    Ok(rows)
}

fn each_row(
    journal: &Journal,
    table: &Table,
    who: Option<&str>,
    mut take: impl FnMut(&[ValueRef<'_>]) -> Result<(), ExportError>,
) -> Result<(), ExportError> {
    let of = |error| ExportError::Journal(JournalError::of(&journal.file, error));
    let mut query = journal.connection.prepare(&table.select()).map_err(of)?;
    let mut rows = query.query([who]).map_err(of)?;
    while let Some(row) = rows.next().map_err(of)? {
        let cells: rusqlite::Result<Vec<_>> =
            (0..table.columns.len()).map(|index| row.get_ref(index)).collect();
        take(&cells.map_err(of)?)?;
    }
    Ok(())
}

/// Why an export failed.
#[derive(Debug)]
pub enum ExportError {
    /// The journal cannot be read.
    Journal(JournalError),
    /// What is exported cannot be written.
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

/// A text as it is, everything else as in JSON; an empty text for null.
fn text(cell: ValueRef<'_>) -> String {
    match value(cell) {
        Value::Null => String::new(),
        Value::String(text) => text,
        other => other.to_string(),
    }
}
