//! What somebody remarked: a teacher, or the player.

use crate::{Journal, JournalError, When, entry};
use course::Day;
use rusqlite::{Transaction, params};

/// A remark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// The day that it is about.
    pub day: Day,
    /// The drill or the run that it is about, if it is about a try or a run.
    pub what: Option<String>,
    /// What was remarked.
    pub text: String,
}

impl Remark {
    /// The remark, and before it what it is about.
    pub fn words(&self) -> String {
        self.what.as_ref().map_or_else(|| self.text.clone(), |what| format!("{what}: {}", self.text))
    }
}

/// Adds a remark. A remark about the try or the run before it is about the day if there is none.
pub(crate) fn add(
    rows: &Transaction<'_>,
    (session, number): (i64, usize),
    remark: &entry::Remark,
    when: When,
) -> rusqlite::Result<()> {
    let about: Option<i64> = match remark.day {
        Some(_) => None,
        None => rows.query_row(
            "SELECT max(number) FROM entry WHERE session = ?1 AND number < ?2 AND kind IN ('try', 'run')",
            params![session, number],
            |row| row.get(0),
        )?,
    };
    let day = remark.day.or(when.day()).unwrap_or_default();
    rows.execute(
        "INSERT INTO remark VALUES (?1, ?2, ?3, ?4, ?5)",
        params![session, number, about, day.0, remark.text],
    )?;
    Ok(())
}

impl Journal {
    /// What was remarked about a player's practice, in the order of the days that the remarks are about.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub fn remarks(&self, player: &str) -> Result<Vec<Remark>, JournalError> {
        let read = || -> rusqlite::Result<Vec<Remark>> {
            let mut query = self.connection.prepare(
                "SELECT day, word.text, remark.text
                 FROM remark JOIN session ON session.id = remark.session
                 LEFT JOIN entry AS tried ON tried.session = remark.session AND tried.number = remark.about
                 LEFT JOIN word ON word.id = tried.what
                 WHERE player = ?1 ORDER BY day, began_ms, session.name, remark.number",
            )?;
            let rows = query.query_map([player], |row| {
                Ok(Remark { day: Day(row.get(0)?), what: row.get(1)?, text: row.get(2)? })
            })?;
            rows.collect()
        };
        read().map_err(|error| JournalError::of(&self.file, error))
    }
}
