//! Forgetting what was practised before a day, and restoring a copy.

use crate::backup::{self, Backup};
use crate::{Journal, JournalError, When, derive, file};
use course::Day;
use rusqlite::{Connection, OpenFlags, TransactionBehavior, params};
use std::fs;
use std::path::{Path, PathBuf};

/// What there is before a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Older {
    /// Sessions that were over by then.
    pub sessions: i64,
    /// Entries in them.
    pub entries: i64,
}

/// The sessions of a player (`?1`), or of all (null), whose last entry is of a day before `?2`. Only whole sessions are
/// forgotten, because a session without its first entries looks like one that lost them by a fault.
macro_rules! older {
    () => {
        concat!(
            "SELECT session.id FROM session JOIN entry ON entry.session = session.id
             WHERE ?1 IS NULL OR player = ?1 GROUP BY session.id HAVING max(",
            derive::day!(),
            ") < ?2"
        )
    };
}

impl Journal {
    /// What would be forgotten.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub fn older(&self, who: Option<&str>, before: Day) -> Result<Older, JournalError> {
        let query =
            concat!("SELECT count(DISTINCT session), count(*) FROM entry WHERE session IN (", older!(), ")");
        let older = self.connection.query_row(query, params![who, before.0], |row| {
            Ok(Older { sessions: row.get(0)?, entries: row.get(1)? })
        });
        older.map_err(|error| JournalError::of(&self.file, error))
    }

    /// Forgets what was practised before a day, of a player or of all, so that it is not in the file any more. Copies
    /// still have it.
    ///
    /// # Errors
    /// If the file cannot be written; then nothing is forgotten.
    pub fn forget(&mut self, who: Option<&str>, before: Day) -> Result<Older, JournalError> {
        let older = self.older(who, before)?;
        let mut gone = || -> rusqlite::Result<()> {
            let rows = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            rows.execute_batch("CREATE TEMP TABLE gone (id INTEGER PRIMARY KEY)")?;
            rows.execute(concat!("INSERT INTO gone ", older!()), params![who, before.0])?;
            // Tables that refer to others come first.
            for table in
                ["trace", "delay", "remark", "answer", "run_note", "run", "clean", "chord", "try", "entry"]
            {
                rows.execute(&format!("DELETE FROM {table} WHERE session IN (SELECT id FROM gone)"), [])?;
            }
            rows.execute_batch("DELETE FROM session WHERE id IN (SELECT id FROM gone); DROP TABLE gone;")?;
            derive::rebuild(&rows)?;
            rows.commit()?;
            // A page that is free still holds what stood in it.
            self.connection.execute_batch("VACUUM; PRAGMA wal_checkpoint(TRUNCATE);")
        };
        gone().map_err(|error| JournalError::of(&self.file, error))?;
        Ok(older)
    }

    /// Puts a copy in the place of the present journal, which is set aside as it is. Returns where the present journal
    /// then stands, or `None` if there was none.
    ///
    /// # Errors
    /// If the copy is no good journal, another program holds the present one, or the disk says no. Then the present one
    /// stays.
    pub fn restore(present: &Path, copy: &Path, now: When) -> Result<Option<PathBuf>, JournalError> {
        let of = |error| JournalError::of(copy, error);
        fs::metadata(copy).map_err(|error| JournalError::Folder(copy.to_owned(), error))?;
        let source = Connection::open_with_flags(copy, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(of)?;
        file::not_newer(&source, copy)?;
        // The copy is written anew, so it has no log that could be left behind.
        let whole = backup::unfinished(present, now)?;
        backup::write(&source, &whole)?;
        let put = || {
            let aside = if present.exists() {
                alone(present)?;
                Some(file::set_aside(present, "before-restore", now)?)
            } else {
                None
            };
            fs::rename(&whole, present).map_err(|error| JournalError::Folder(present.to_owned(), error))?;
            Ok(aside)
        };
        put().inspect_err(|_| Backup::let_go(&whole))
    }
}

/// Makes sure that no other program holds a journal: `SQLite` lets only the last connection switch its write-ahead log
/// off.
fn alone(present: &Path) -> Result<(), JournalError> {
    let left = Connection::open(present).and_then(|connection| {
        connection.pragma_update_and_check(None, "journal_mode", "delete", |row| row.get::<_, String>(0))
    });
    match left.map_err(|error| JournalError::of(present, error)) {
        // Whoever holds a damaged journal cannot go on with it.
        Ok(_) | Err(JournalError::Damaged(..)) => Ok(()),
        Err(error) => Err(error),
    }
}
