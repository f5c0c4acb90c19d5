//! What was exported, taken in again. The same session and number are the same entry, so nothing is doubled.

use crate::export::END;
use crate::tables::{Column, Holds, TABLES, Table};
use crate::{Journal, JournalError, When, derive, read, store};
use layout::TabStyle;
use rusqlite::types::Value as Cell;
use rusqlite::{Transaction, TransactionBehavior, params, params_from_iter};
use serde_json::{Map, Value};
use std::collections::{BTreeSet, HashMap};
use std::fmt;
use std::io::{self, BufRead};

/// The largest count, and the largest amount of a number with a fraction, that an import takes. In every journal both
/// are far smaller.
const MOST: i64 = 1_000_000;
/// Most bytes of a line that an import takes. A line of an export has a few hundred bytes, besides the text of a
/// remark.
const LONGEST_LINE: usize = 1 << 20;

/// What an import brought.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Imported {
    /// Entries that were not there.
    pub new: u64,
    /// Entries that were there already.
    pub known: u64,
}

/// Why nothing of a file was taken in.
#[derive(Debug)]
pub enum ImportError {
    /// Something in it is not what an export writes: the line and the column, counted from 1, and what is wrong.
    Line(usize, usize, String),
    /// Something is missing in it.
    NotWhole(String),
    /// It cannot be read.
    In(io::Error),
    /// The journal cannot be written.
    Journal(JournalError),
}

/// A column of a line, counted from 1, and what is wrong there.
type Wrong = (usize, String);

impl Journal {
    /// Takes in what [`crate::export`] wrote, all of it or nothing.
    ///
    /// # Errors
    /// If something in it is not what an export writes or does not fit what is there, or if the journal cannot be
    /// written.
    pub fn import(&mut self, from: impl BufRead) -> Result<Imported, ImportError> {
        let file = self.file.clone();
        let of = |error| ImportError::Journal(JournalError::of(&file, error));
        let rows = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(of)?;
        let before: BTreeSet<String> = read::unsound(&rows).map_err(of)?.into_iter().collect();
        let mut taking = Taking {
            rows: &rows,
            sessions: HashMap::new(),
            words: HashMap::new(),
            imported: Imported::default(),
            lines: 0,
            ended: false,
        };
        taking.all(from)?;
        let imported = taking.imported;
        let unsound = read::unsound(&rows).map_err(of)?.into_iter().find(|fault| !before.contains(fault));
        if let Some(fault) = unsound {
            return Err(ImportError::NotWhole(fault));
        }
        derive::rebuild(&rows).map_err(of)?;
        rows.commit().map_err(of)?;
        Ok(imported)
    }
}

struct Taking<'a> {
    rows: &'a Transaction<'a>,
    /// The sessions of the file, by their names.
    sessions: HashMap<String, i64>,
    words: HashMap<String, i64>,
    imported: Imported,
    /// Lines since the last end.
    lines: u64,
    ended: bool,
}

impl Taking<'_> {
    fn all(&mut self, mut from: impl BufRead) -> Result<(), ImportError> {
        let mut line = Vec::new();
        for number in 1.. {
            line.clear();
            let most = LONGEST_LINE as u64 + 1;
            let bytes =
                io::Read::take(&mut from, most).read_until(b'\n', &mut line).map_err(ImportError::In)?;
            if bytes == 0 {
                break;
            }
            let wrong = |(column, what)| ImportError::Line(number, column, what);
            if bytes > LONGEST_LINE {
                return Err(wrong((1, "the line is too long for one of an export".to_owned())));
            }
            let text = std::str::from_utf8(&line)
                .map_err(|error| wrong((error.valid_up_to() + 1, "this is no text in UTF-8".to_owned())))?;
            self.line(text.trim_end()).map_err(wrong)?;
        }
        if self.ended && self.lines == 0 {
            Ok(())
        } else {
            Err(ImportError::NotWhole("its end is missing".to_owned()))
        }
    }

    fn line(&mut self, text: &str) -> Result<(), Wrong> {
        let line: Map<String, Value> = serde_json::from_str(text)
            .map_err(|error| (error.column().max(1), format!("this is no line of an export: {error}")))?;
        let kind = line.get("kind").and_then(Value::as_str).unwrap_or_default();
        if kind == END {
            let (said, count) = (line.get("lines").and_then(Value::as_u64), self.lines);
            (self.ended, self.lines) = (true, 0);
            return if said == Some(count) {
                Ok(())
            } else {
                Err((
                    at(text, "lines"),
                    format!("there are {count} lines before it; some are missing or doubled"),
                ))
            };
        }
        let table = TABLES.iter().find(|table| table.name == kind).ok_or_else(|| {
            let kinds: Vec<&str> = TABLES.iter().map(|table| table.name).collect();
            (at(text, "kind"), format!("kind has to be one of {}", kinds.join(", ")))
        })?;
        let known =
            |name: &&String| *name == "kind" || table.columns.iter().any(|column| column.name == **name);
        if let Some(name) = line.keys().find(|name| !known(name)) {
            return Err((at(text, name), format!("a {kind} has no {name:?}; did a later program write it?")));
        }
        let cells = table.columns.iter().map(|column| {
            let cell = self.cell(column, line.get(column.name).unwrap_or(&Value::Null));
            cell.map_err(|what| (at(text, column.name), format!("{} {what}", column.name)))
        });
        let cells = cells.collect::<Result<Vec<_>, _>>()?;
        dated(&line).map_err(|(name, what)| (at(text, name), what))?;
        self.lines += 1;
        self.take(table, &cells).map_err(|what| (1, what))
    }

    /// What a column takes of a value.
    fn cell(&mut self, column: &Column, value: &Value) -> Result<Cell, String> {
        let sql = |error: rusqlite::Error| error.to_string();
        if value.is_null() {
            return if column.optional { Ok(Cell::Null) } else { Err("is missing".to_owned()) };
        }
        let text = || value.as_str().ok_or_else(|| "has to be a text".to_owned());
        match column.holds {
            Holds::Session => {
                let session = self.sessions.get(text()?).copied();
                session.map(Cell::Integer).ok_or_else(|| "is no session of a line before".to_owned())
            }
            Holds::Integer => {
                let number = value.as_i64().ok_or_else(|| "has to be a whole number".to_owned())?;
                Ok(Cell::Integer(number))
            }
            Holds::Count => {
                let number = value.as_i64().filter(|number| (0..=MOST).contains(number));
                number.map(Cell::Integer).ok_or_else(|| format!("has to be a whole number from 0 to {MOST}"))
            }
            Holds::Real => {
                let number = value.as_f64().filter(|number| number.abs() <= MOST as f64);
                number.map(Cell::Real).ok_or_else(|| format!("has to be a number up to {MOST}"))
            }
            Holds::Text => Ok(Cell::Text(text()?.to_owned())),
            Holds::OneOf(words) if words.contains(&text()?) => Ok(Cell::Text(text()?.to_owned())),
            Holds::OneOf(words) => Err(format!("has to be one of {}", words.join(", "))),
            Holds::Way if TabStyle::default().read(text()?).is_err() => {
                Err("has to be a way as tab, such as 4 or -3''".to_owned())
            }
            Holds::Word | Holds::Way => self.word(text()?).map(Cell::Integer).map_err(sql),
        }
    }

    fn word(&mut self, text: &str) -> rusqlite::Result<i64> {
        if let Some(id) = self.words.get(text) {
            return Ok(*id);
        }
        let id = store::word(self.rows, text)?;
        self.words.insert(text.to_owned(), id);
        Ok(id)
    }

    fn take(&mut self, table: &Table, cells: &[Cell]) -> Result<(), String> {
        let taken = self
            .rows
            .prepare_cached(&table.insert())
            .and_then(|mut insert| insert.execute(params_from_iter(cells)));
        let new = taken.map_err(|error| match error.sqlite_error_code() {
            Some(rusqlite::ErrorCode::ConstraintViolation) => {
                "the entry that it belongs to is not in the lines before".to_owned()
            }
            _ => error.to_string(),
        })? > 0;
        match (table.name, cells) {
            ("session", [Cell::Text(name), ..]) => {
                let same = "SELECT id FROM session WHERE name = ?1 AND player = ?2 AND began_ms = ?3 AND offset_s = ?4 AND program = ?5";
                let id = self
                    .rows
                    .prepare_cached(same)
                    .and_then(|mut same| same.query_row(params_from_iter(cells), |row| row.get(0)));
                let id = id.map_err(|_| format!("session {name} is here already, and another one"))?;
                self.sessions.insert(name.clone(), id);
            }
            ("entry", _) if new => self.imported.new += 1,
            ("entry", [session, number, ..]) => {
                let same =
                    "SELECT 1 FROM entry WHERE session = ?1 AND number = ?2 AND at_ms = ?3 AND offset_s = ?4
                            AND by = ?5 AND kind = ?6 AND what = ?7 AND harp IS ?8";
                let same =
                    self.rows.prepare_cached(same).and_then(|mut same| same.exists(params_from_iter(cells)));
                if !same.map_err(|error| error.to_string())? {
                    let name: Result<String, _> = self.rows.query_row(
                        "SELECT name FROM session WHERE id = ?1",
                        params![session],
                        |row| row.get(0),
                    );
                    let (name, Cell::Integer(number)) = (name.unwrap_or_default(), number) else {
                        return Ok(());
                    };
                    return Err(format!("entry {number} of session {name} is here already, and another one"));
                }
                self.imported.known += 1;
            }
            _ => {}
        }
        Ok(())
    }
}

/// A moment has to have a day.
fn dated(line: &Map<String, Value>) -> Result<(), (&'static str, String)> {
    let offset = line.get("offset_s").and_then(Value::as_i64).map(i32::try_from);
    for name in ["at_ms", "began_ms"] {
        if let (Some(unix_ms), Some(offset)) = (line.get(name).and_then(Value::as_i64), offset) {
            let when = offset.ok().map(|offset_s| When { unix_ms, offset_s });
            when.and_then(When::day)
                .ok_or_else(|| (name, format!("{name} with this offset_s is no moment")))?;
        }
    }
    Ok(())
}

/// In which column of a line a name stands, counted from 1.
fn at(text: &str, name: &str) -> usize {
    let byte = text.find(&format!("\"{name}\"")).unwrap_or(0);
    text.get(..byte).map_or(0, |before| before.chars().count()) + 1
}

impl fmt::Display for ImportError {
    /// Without the place.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Line(_, _, what) => f.write_str(what),
            Self::NotWhole(what) => write!(f, "it is not whole: {what}"),
            Self::In(error) => write!(f, "{error}"),
            Self::Journal(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for ImportError {}
