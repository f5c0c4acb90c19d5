//! The file: opened, upgraded, set aside where it is damaged.

use crate::{Backup, JournalError, When, schema};
use rusqlite::{Connection, OpenFlags};
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long a lock of another program is waited for: its writes take milliseconds.
const BUSY: Duration = Duration::from_secs(5);

/// The most files that are set aside under names of their own on one day; nobody has more.
const MOST_ASIDE: u32 = 1_000;

/// An open journal.
#[derive(Debug)]
pub struct Journal {
    pub(crate) connection: Connection,
    pub(crate) file: PathBuf,
}

/// How a journal was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Found {
    /// As it was left, or not there yet.
    Well,
    /// Damaged, and set aside under another name.
    Damaged {
        /// Where it stands now.
        aside: PathBuf,
        /// The newest good copy.
        backup: Option<PathBuf>,
    },
}

impl Journal {
    /// Opens a journal for writing, and makes one where there is none. An older one is upgraded after a copy of it was
    /// made, a damaged one is set aside and a new one begun.
    ///
    /// # Errors
    /// If the folder cannot be made, the place is taken by something else, a later program wrote it, or the disk says
    /// no.
    pub fn open(file: &Path, now: When) -> Result<(Self, Found), JournalError> {
        if let Some(folder) = file.parent() {
            fs::create_dir_all(folder).map_err(|error| JournalError::Folder(folder.to_owned(), error))?;
        }
        match Self::open_good(file, now) {
            Ok(journal) => Ok((journal, Found::Well)),
            Err(JournalError::Damaged(..)) => {
                let aside = set_aside(file, "damaged", now)?;
                let backup = Backup::newest(file);
                Self::open_good(file, now).map(|journal| (journal, Found::Damaged { aside, backup }))
            }
            Err(error) => Err(error),
        }
    }

    /// Opens a journal that is only read. An older one is upgraded first, after a copy of it was made.
    ///
    /// # Errors
    /// If there is none, or nothing in it yet, it is damaged, a later program wrote it, or it is older and cannot be
    /// upgraded.
    pub fn read(file: &Path, now: When) -> Result<Self, JournalError> {
        is_file(file)?;
        let of = |error| JournalError::of(file, error);
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(file, flags).map_err(of)?;
        connection.busy_timeout(BUSY).map_err(of)?;
        if not_newer(&connection, file)? == 0 {
            // A file that was begun on a full disk.
            return Err(JournalError::Empty(file.to_owned()));
        }
        if !schema::is_newest(&connection).map_err(|error| not_ours(file, error))? {
            drop(connection);
            return Self::open_good(file, now);
        }
        Ok(Self { connection, file: file.to_owned() })
    }

    fn open_good(file: &Path, now: When) -> Result<Self, JournalError> {
        is_file(file)?;
        let of = |error| JournalError::of(file, error);
        let mut connection = Connection::open(file).map_err(of)?;
        connection.busy_timeout(BUSY).map_err(of)?;
        let version = not_newer(&connection, file)?;
        // Where the file system has no shared memory for the write-ahead log, SQLite keeps its other log by itself.
        connection.pragma_update(None, "journal_mode", "wal").map_err(of)?;
        connection.pragma_update(None, "synchronous", "full").map_err(of)?;
        let ours = |error| not_ours(file, error);
        if version > 0 {
            // The first pages tell whether it is a journal at all.
            connection.query_row("SELECT count(*) FROM session", [], |_| Ok(())).map_err(ours)?;
        }
        if version > 0 && version < schema::NEWEST {
            // Without a good copy the old journal stays as it is, and what is practised stays in memory: a disk that is
            // too full for the copy may be too full for the upgrade.
            Backup::before_upgrade(&connection, (file, version), now)?;
        }
        if version == 0 || !schema::is_newest(&connection).map_err(ours)? {
            schema::upgrade(&mut connection).map_err(ours)?;
        }
        connection.pragma_update(None, "foreign_keys", true).map_err(of)?;
        Ok(Self { connection, file: file.to_owned() })
    }

    /// Where it stands.
    pub fn file(&self) -> &Path {
        &self.file
    }
}

/// The version of a file, which has to be one that is understood, or 0 of an empty one.
pub(crate) fn not_newer(connection: &Connection, file: &Path) -> Result<i64, JournalError> {
    let of = |error| JournalError::of(file, error);
    let version = schema::version(connection).map_err(of)?;
    if version > schema::NEWEST {
        return Err(JournalError::Newer(file.to_owned(), version, schema::NEWEST));
    }
    let tables: i64 =
        connection.query_row("SELECT count(*) FROM sqlite_master", [], |row| row.get(0)).map_err(of)?;
    if version == 0 && tables > 0 {
        return Err(JournalError::Damaged(file.to_owned(), "it is another program's".to_owned()));
    }
    Ok(version)
}

/// The database of another program may have a version number of ours, but it has none of our tables. An SQL error about
/// a table or column therefore means that the file is no journal.
fn not_ours(file: &Path, error: rusqlite::Error) -> JournalError {
    match JournalError::of(file, error) {
        JournalError::Sql(file, rusqlite::Error::SqlInputError { msg, .. }) => {
            JournalError::Damaged(file, msg)
        }
        JournalError::Sql(file, rusqlite::Error::SqliteFailure(_, Some(said)))
            if said.contains("no such") =>
        {
            JournalError::Damaged(file, said)
        }
        other => other,
    }
}

fn is_file(file: &Path) -> Result<(), JournalError> {
    match fs::metadata(file) {
        Ok(there) if !there.is_file() => Err(JournalError::NotAFile(file.to_owned())),
        _ => Ok(()),
    }
}

/// Moves a journal and its logs out of the way together: an old log beside a new file would be played into it. The log
/// goes first, because a file without its log is only older.
pub(crate) fn set_aside(file: &Path, why: &str, now: When) -> Result<PathBuf, JournalError> {
    let day = now.stamp();
    let name = |number: u32, end: &str| {
        let again = if number == 1 { String::new() } else { format!("-{number}") };
        PathBuf::from(format!("{}.{why}-{day}{again}{end}", file.display()))
    };
    let free = (1..=MOST_ASIDE).find(|number| !name(*number, "").exists()).unwrap_or(MOST_ASIDE);
    for end in ["-wal", "-shm", ""] {
        let from = PathBuf::from(format!("{}{end}", file.display()));
        match fs::rename(&from, name(free, end)) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                return Err(JournalError::Folder(from, error));
            }
            _ => {}
        }
    }
    Ok(name(free, ""))
}
