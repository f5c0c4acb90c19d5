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

/// What came of a drill or a run the last time that a player practised it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Last {
    /// When that was.
    pub when: When,
    /// Of a drill: tries of that session that count, where something was heard and something could be told. Of a run: its notes.
    pub of: u32,
    /// How many of them landed, or were right in pitch and in time.
    pub good: u32,
    /// Of a run.
    pub run: Option<LastRun>,
}

/// What came of a run the last time, and of all of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LastRun {
    /// Its tempo, beats a minute.
    pub tempo: f64,
    /// The fastest tempo at which two runs were clean, if there is one.
    pub clean_tempo: Option<f64>,
}

/// What a check found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// What there is.
    pub counts: Counts,
    /// What is wrong, each in a sentence; nothing if all is well.
    pub faults: Vec<String>,
}

/// The last session of each drill. The outcomes that use up no try are those of `Verdict::asks_again`.
const LAST_OF_DRILLS: &str = "
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

/// The last of each run, and the fastest tempo at which two were clean. A run in free time has a tempo of its own and no clean one.
const LAST_OF_RUNS: &str = "
    WITH own AS (
      SELECT entry.what, entry.at_ms, entry.offset_s, run.asked, run.right, run.tempo, run.clean AND run.timed AS clean
      FROM entry
      JOIN session ON session.id = entry.session
      JOIN run USING (session, number)
      WHERE session.player = ?1 AND entry.by = 'player'
    ),
    clean AS (
      SELECT what, tempo FROM own WHERE clean GROUP BY what, tempo HAVING count(*) >= 2
    )
    SELECT word.text, max(own.at_ms), own.offset_s, own.asked, own.right, own.tempo,
           (SELECT max(clean.tempo) FROM clean WHERE clean.what = own.what)
    FROM own JOIN word ON word.id = own.what GROUP BY own.what";

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

    /// What came of each drill and each run of a player the last time, by what they are called in the journal: `drill` and its
    /// name, `run` and its title. What the built-in player or a recording played does not count.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub fn last(&self, player: &str) -> Result<HashMap<String, Last>, JournalError> {
        let read = || -> rusqlite::Result<HashMap<String, Last>> {
            let mut query = self.connection.prepare(LAST_OF_DRILLS)?;
            let drills = query.query_map([player], |row| {
                let when = When { unix_ms: row.get(1)?, offset_s: row.get(2)? };
                Ok((row.get(0)?, Last { when, of: row.get(3)?, good: row.get(4)?, run: None }))
            })?;
            let mut last = drills.collect::<rusqlite::Result<HashMap<String, Last>>>()?;
            let mut query = self.connection.prepare(LAST_OF_RUNS)?;
            let runs = query.query_map([player], |row| {
                let when = When { unix_ms: row.get(1)?, offset_s: row.get(2)? };
                let run = LastRun { tempo: row.get(5)?, clean_tempo: row.get(6)? };
                Ok((row.get(0)?, Last { when, of: row.get(3)?, good: row.get(4)?, run: Some(run) }))
            })?;
            for run in runs {
                let (name, run) = run?;
                last.insert(name, run);
            }
            Ok(last)
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
