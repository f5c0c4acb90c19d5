//! What is worked out from the rows.

use crate::{Journal, JournalError, When};
use std::collections::HashMap;

/// How many of what there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Practice sessions.
    pub sessions: i64,
    /// Tries.
    pub tries: i64,
    /// Runs in time.
    pub runs: i64,
    /// Notes of those.
    pub notes: i64,
}

/// The last time that a drill was practised by a player.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Last {
    /// When its last try was judged.
    pub when: When,
    /// Tries of that session that count: something was heard, and something could be told.
    pub tries: i64,
    /// How many of them landed.
    pub landed: i64,
}

/// What a check found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// What there is.
    pub counts: Counts,
    /// What is wrong, each in a sentence; nothing if all is well.
    pub faults: Vec<String>,
}

impl Journal {
    /// How many of what there are.
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
            tries: count("try")?,
            runs: count("run")?,
            notes: count("run_note")?,
        })
    }

    /// Of each drill that a player practised, by its name: the last session of it. What the built-in player or a recording
    /// played does not count.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub fn last_of_drills(&self, player: &str) -> Result<HashMap<String, Last>, JournalError> {
        // The outcomes that use up no try are those of `Verdict::asks_again`.
        const TEXT: &str = "
            WITH own AS (
              SELECT entry.what, entry.session, max(entry.at_ms) AS at_ms, entry.offset_s,
                     count(*) AS tries, sum(word.text = 'landed') AS landed
              FROM entry
              JOIN session ON session.id = entry.session
              JOIN try USING (session, number)
              JOIN word ON word.id = try.outcome
              WHERE session.player = ?1 AND entry.by = 'player' AND word.text NOT IN ('not heard', 'cannot tell')
              GROUP BY entry.what, entry.session
            )
            SELECT word.text, max(own.at_ms), own.offset_s, own.tries, own.landed
            FROM own JOIN word ON word.id = own.what GROUP BY own.what";
        let read = || -> rusqlite::Result<HashMap<String, Last>> {
            let mut query = self.connection.prepare(TEXT)?;
            let rows = query.query_map([player], |row| {
                let name: String = row.get(0)?;
                let when = When { unix_ms: row.get(1)?, offset_s: row.get(2)? };
                let last = Last { when, tries: row.get(3)?, landed: row.get(4)? };
                Ok((name.trim_start_matches("drill ").to_owned(), last))
            })?;
            rows.collect()
        };
        read().map_err(|error| JournalError::of(&self.file, error))
    }

    /// Looks the whole file through: its pages, its rows, and the numbers of each session, among which a lost end or a hole
    /// shows what no check of pages can.
    ///
    /// # Errors
    /// If the file cannot be read at all.
    pub fn check(&self) -> Result<Checked, JournalError> {
        let read = || -> rusqlite::Result<Vec<String>> {
            let mut faults = self.texts("PRAGMA integrity_check")?;
            faults.retain(|said| said != "ok");
            faults.extend(self.texts(
                "SELECT 'a row of ' || \"table\" || ' belongs to nothing' FROM pragma_foreign_key_check",
            )?);
            faults.extend(self.texts(
                "SELECT 'session ' || name || ' has a hole: ' || count(*) || ' entries, the last of them number ' || max(number)
                 FROM entry JOIN session ON session.id = entry.session
                 GROUP BY session HAVING count(*) <> max(number)",
            )?);
            faults.extend(self.texts(
                "SELECT kind || ' ' || number || ' of session ' || session.name || ' has no figures'
                 FROM entry JOIN session ON session.id = entry.session
                 WHERE kind = 'try' AND NOT EXISTS (SELECT 1 FROM try WHERE try.session = entry.session AND try.number = entry.number)
                    OR kind = 'run' AND NOT EXISTS (SELECT 1 FROM run WHERE run.session = entry.session AND run.number = entry.number)",
            )?);
            Ok(faults)
        };
        let faults = read().map_err(|error| JournalError::of(&self.file, error))?;
        Ok(Checked { counts: self.counts()?, faults })
    }

    fn texts(&self, query: &str) -> rusqlite::Result<Vec<String>> {
        let mut query = self.connection.prepare(query)?;
        query.query_map([], |row| row.get(0))?.collect()
    }

    /// Copies the journal to a dated file beside it, and lets go of all but the last seven copies.
    ///
    /// # Errors
    /// If the copy cannot be written or is not whole; what there was before stays.
    pub fn back_up(&self, now: When) -> Result<std::path::PathBuf, JournalError> {
        crate::Backup::make(&self.connection, &self.file, now)
    }
}
