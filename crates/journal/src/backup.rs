//! Copies of a journal, one a day at most, the last seven kept.

use crate::{JournalError, When, schema};
use rusqlite::{Connection, OpenFlags};
use std::fs;
use std::path::{Path, PathBuf};

/// How many copies are kept.
const KEPT: usize = 7;

/// Makes copies and finds them.
#[derive(Clone, Copy, Debug)]
pub struct Backup;

impl Backup {
    /// Copies an open journal to a file of its own beside it, named by the day, and lets go of all but the last seven. The
    /// copy is made under another name, opened and checked before it counts: a full disk leaves an empty file.
    ///
    /// # Errors
    /// If it cannot be written or is not whole; what there was before stays.
    pub(crate) fn make(connection: &Connection, file: &Path, now: When) -> Result<PathBuf, JournalError> {
        let folder = folder(file);
        fs::create_dir_all(&folder).map_err(|error| JournalError::Folder(folder.clone(), error))?;
        let (copy, target) = (folder.join("unfinished"), copy_of(file, now));
        let _ = fs::remove_file(&copy);
        let of = |error| JournalError::of(&copy, error);
        let made = connection.execute("VACUUM INTO ?1", [copy.to_string_lossy()]);
        let made = made.map_err(of).and_then(|_| whole(&copy));
        if let Err(error) = made {
            let _ = fs::remove_file(&copy);
            return Err(error);
        }
        fs::rename(&copy, &target).map_err(|error| JournalError::Folder(target.clone(), error))?;
        for old in all(file).into_iter().rev().skip(KEPT) {
            let _ = fs::remove_file(old);
        }
        Ok(target)
    }

    /// Whether there is a copy of this day.
    pub(crate) fn is_made(file: &Path, now: When) -> bool {
        copy_of(file, now).exists()
    }

    /// The newest copy that is whole.
    pub(crate) fn newest(file: &Path) -> Option<PathBuf> {
        all(file).into_iter().rev().find(|copy| whole(copy).is_ok())
    }
}

fn folder(file: &Path) -> PathBuf {
    PathBuf::from(format!("{}.copies", file.display()))
}

fn copy_of(file: &Path, now: When) -> PathBuf {
    folder(file).join(format!("{}.sqlite", now.stamp()))
}

/// The copies, the oldest first: their names are their days.
fn all(file: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder(file)).into_iter().flatten().flatten().map(|entry| entry.path());
    let mut copies: Vec<PathBuf> =
        entries.filter(|path| path.extension().is_some_and(|end| end == "sqlite")).collect();
    copies.sort();
    copies
}

fn whole(copy: &Path) -> Result<(), JournalError> {
    let of = |error| JournalError::of(copy, error);
    let connection = Connection::open_with_flags(copy, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(of)?;
    let said: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0)).map_err(of)?;
    let is_journal = schema::version(&connection).map_err(of)? > 0;
    if said == "ok" && is_journal { Ok(()) } else { Err(JournalError::Damaged(copy.to_owned(), said)) }
}
