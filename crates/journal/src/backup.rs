//! Copies of a journal, one a day at most, the last seven kept.

use crate::{JournalError, When, schema};
use rusqlite::{Connection, OpenFlags};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How many copies are kept.
const KEPT: usize = 7;

/// Prefix of the file name of an unfinished copy.
const UNFINISHED: &str = "unfinished";

/// Time since its last change after which an unfinished copy counts as abandoned.
const FORGOTTEN: Duration = Duration::from_hours(1);

/// Makes copies and finds them.
#[derive(Clone, Copy, Debug)]
pub struct Backup;

impl Backup {
    /// Copies an open journal to a file of its own beside it, named by the day, and lets go of all but the last seven.
    ///
    /// # Errors
    /// If the copy cannot be written or is not whole; the copies that were there before stay.
    pub(crate) fn make(connection: &Connection, file: &Path, now: When) -> Result<PathBuf, JournalError> {
        let (copy, target) = (unfinished(file, now)?, copy_of(file, now));
        write(connection, &copy)?;
        keep(file, &copy, target)
    }

    /// Copies an old journal before it is upgraded; the name of the copy says the version. If another program upgrades
    /// the journal meanwhile, this copy is removed, because the other program has made one.
    ///
    /// # Errors
    /// As for [`Self::make`].
    pub(crate) fn before_upgrade(
        connection: &Connection,
        (file, version): (&Path, i64),
        now: When,
    ) -> Result<(), JournalError> {
        let copy = unfinished(file, now)?;
        if write(connection, &copy)? == version {
            let name = format!("{}-version-{version}.sqlite", now.stamp());
            return keep(file, &copy, folder(file).join(name)).map(drop);
        }
        let _ = fs::remove_file(&copy);
        Ok(())
    }

    /// Whether there is a copy of this day.
    pub(crate) fn is_made(file: &Path, now: When) -> bool {
        copy_of(file, now).exists()
    }

    /// Lets go of a copy that is of no use.
    pub(crate) fn let_go(copy: &Path) {
        // Where it cannot be removed it lies there without harm.
        let _ = fs::remove_file(copy);
    }

    /// The newest copy that is whole.
    pub(crate) fn newest(file: &Path) -> Option<PathBuf> {
        all(file).into_iter().rev().find(|copy| whole(copy).is_ok())
    }
}

/// The name of a copy that is not finished, in the folder of the copies. Two programs that copy at once have a name
/// each.
pub(crate) fn unfinished(file: &Path, now: When) -> Result<PathBuf, JournalError> {
    let folder = folder(file);
    fs::create_dir_all(&folder).map_err(|error| JournalError::Folder(folder.clone(), error))?;
    Ok(folder.join(format!("{UNFINISHED}-{}", now.unique())))
}

/// Writes a copy, then opens and checks it, because a full disk leaves an empty file. Returns the version of the copy.
pub(crate) fn write(connection: &Connection, copy: &Path) -> Result<i64, JournalError> {
    let made = connection.execute("VACUUM INTO ?1", [copy.to_string_lossy()]);
    let made = made.map_err(|error| JournalError::of(copy, error)).and_then(|_| whole(copy));
    made.inspect_err(|_| {
        let _ = fs::remove_file(copy);
    })
}

/// Gives a finished copy its name, and lets go of the oldest ones.
fn keep(file: &Path, copy: &Path, target: PathBuf) -> Result<PathBuf, JournalError> {
    fs::rename(copy, &target).map_err(|error| JournalError::Folder(target.clone(), error))?;
    for old in all(file).into_iter().rev().skip(KEPT).chain(forgotten(&folder(file))) {
        let _ = fs::remove_file(old);
    }
    Ok(target)
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

/// Copies that were never finished, because a process died over them long ago.
fn forgotten(folder: &Path) -> impl Iterator<Item = PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let unfinished = entries.filter(|entry| entry.file_name().to_string_lossy().starts_with(UNFINISHED));
    let old = |entry: &fs::DirEntry| entry.metadata().ok()?.modified().ok()?.elapsed().ok();
    unfinished.filter(move |entry| old(entry).is_some_and(|age| age > FORGOTTEN)).map(|entry| entry.path())
}

/// The version of a copy, if the copy is a journal without a fault.
fn whole(copy: &Path) -> Result<i64, JournalError> {
    let of = |error| JournalError::of(copy, error);
    let connection = Connection::open_with_flags(copy, OpenFlags::SQLITE_OPEN_READ_ONLY).map_err(of)?;
    let said: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0)).map_err(of)?;
    let version = schema::version(&connection).map_err(of)?;
    if said == "ok" && version > 0 { Ok(version) } else { Err(JournalError::Damaged(copy.to_owned(), said)) }
}
