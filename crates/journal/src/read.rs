//! Counting the rows, and checking the file.

use crate::{Journal, JournalError, When, derive};
use rusqlite::Connection;

/// How many rows of each kind there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Practice sessions.
    pub sessions: i64,
    /// Tries, at notes and at chords.
    pub tries: i64,
    /// Runs in time.
    pub runs: i64,
    /// Notes of the runs.
    pub notes: i64,
}

/// What a check found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// What there is.
    pub counts: Counts,
    /// What is wrong, each in a sentence; nothing if all is well.
    pub faults: Vec<String>,
    /// How many rows of the tables that are worked out differ from what the raw rows give. [`Journal::rebuild`] mends
    /// them.
    pub differing: u64,
}

impl Journal {
    /// How many rows of each kind there are.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub fn counts(&self) -> Result<Counts, JournalError> {
        let count = |table: &str| {
            let count =
                self.connection.query_row(&format!("SELECT count(*) FROM {table}"), [], |row| row.get(0));
            count.map_err(|error| JournalError::of(&self.file, error))
        };
        Ok(Counts {
            sessions: count("session")?,
            tries: count("try")? + count("chord")?,
            runs: count("run")?,
            notes: count("run_note")?,
        })
    }

    /// Who has practised into a microphone, by name.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub fn players(&self) -> Result<Vec<String>, JournalError> {
        let players = "SELECT player FROM thing_day UNION SELECT player FROM played_day ORDER BY player";
        let players = texts(&self.connection, players);
        players.map_err(|error| JournalError::of(&self.file, error))
    }

    /// Checks the whole file: its pages; its rows; the numbers of each session, among which a hole shows a loss that no
    /// check of pages can show; and whether the tables that are worked out agree with the raw rows.
    ///
    /// # Errors
    /// If the file cannot be read at all.
    pub fn check(&self) -> Result<Checked, JournalError> {
        let read = || -> rusqlite::Result<(Vec<String>, u64)> {
            let mut faults = texts(&self.connection, "PRAGMA integrity_check")?;
            faults.retain(|said| said != "ok");
            faults.extend(unsound(&self.connection)?);
            let differing = if faults.is_empty() { derive::differing(&self.connection)? } else { 0 };
            Ok((faults, differing))
        };
        let (faults, differing) = read().map_err(|error| JournalError::of(&self.file, error))?;
        Ok(Checked { counts: self.counts()?, faults, differing })
    }

    /// Copies the journal to a dated file beside it, and lets go of all but the last seven copies.
    ///
    /// # Errors
    /// If the copy cannot be written or is not whole; the copies that were there before stay.
    pub fn back_up(&self, now: When) -> Result<std::path::PathBuf, JournalError> {
        crate::Backup::make(&self.connection, &self.file, now)
    }
}

/// What does not fit together among the rows, each in a sentence.
pub(crate) fn unsound(connection: &Connection) -> rusqlite::Result<Vec<String>> {
    let mut faults = texts(
        connection,
        "SELECT 'a row of ' || \"table\" || ' belongs to nothing' FROM pragma_foreign_key_check",
    )?;
    faults.extend(texts(
        connection,
        "SELECT 'session ' || name || ' has a hole: ' || count(*) || ' entries, the last of them number ' || max(number)
         FROM entry JOIN session ON session.id = entry.session
         GROUP BY session HAVING count(*) <> max(number)",
    )?);
    for kind in ["try", "run", "answer", "remark", "delay"] {
        faults.extend(texts(
            connection,
            &format!(
                "SELECT kind || ' ' || number || ' of session ' || session.name || ' has no figures'
                 FROM entry JOIN session ON session.id = entry.session
                 WHERE kind = '{kind}' AND NOT EXISTS
                   (SELECT 1 FROM {kind} AS it WHERE it.session = entry.session AND it.number = entry.number)
                 AND NOT (kind = 'try' AND EXISTS
                   (SELECT 1 FROM chord AS it WHERE it.session = entry.session AND it.number = entry.number))
                 UNION ALL
                 SELECT 'entry ' || number || ' of session ' || session.name || ' has the figures of a {kind}, which it is not'
                 FROM {kind} JOIN entry USING (session, number) JOIN session ON session.id = entry.session
                 WHERE kind <> '{kind}'"
            ),
        )?);
    }
    Ok(faults)
}

fn texts(connection: &Connection, query: &str) -> rusqlite::Result<Vec<String>> {
    let mut query = connection.prepare(query)?;
    query.query_map([], |row| row.get(0))?.collect()
}
