//! What can be wrong with a journal.

use std::fmt;
use std::io;
use std::path::PathBuf;

/// Why the journal cannot be read or written.
#[derive(Debug)]
pub enum JournalError {
    /// Its folder cannot be made, or a file cannot be found or renamed.
    Folder(PathBuf, io::Error),
    /// What stands in its place is no regular file.
    NotAFile(PathBuf),
    /// There is nothing in it yet.
    Empty(PathBuf),
    /// A later version of the program wrote it: its number, and the newest one that is understood.
    Newer(PathBuf, i64, i64),
    /// It is no journal, or damaged.
    Damaged(PathBuf, String),
    /// The file system or the database said no.
    Sql(PathBuf, rusqlite::Error),
}

impl JournalError {
    /// What `SQLite` said about a file.
    pub(crate) fn of(file: &std::path::Path, error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode::{DatabaseCorrupt, NotADatabase};
        match error.sqlite_error_code() {
            Some(DatabaseCorrupt | NotADatabase) => Self::Damaged(file.to_owned(), error.to_string()),
            _ => Self::Sql(file.to_owned(), error),
        }
    }
}

impl fmt::Display for JournalError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Folder(path, error) => write!(f, "{}: {error}", path.display()),
            Self::NotAFile(path) => {
                write!(f, "{} is no regular file; move it away, or name another one", path.display())
            }
            Self::Empty(path) => write!(f, "there is nothing in {} yet", path.display()),
            Self::Newer(path, version, ours) => write!(
                f,
                "{} is of version {version}, this program understands {ours}; a newer program can read it",
                path.display()
            ),
            Self::Damaged(path, what) => write!(f, "{} is damaged: {what}", path.display()),
            Self::Sql(path, error) => write!(f, "{}: {}", path.display(), said(error)),
        }
    }
}

impl std::error::Error for JournalError {}

/// What `SQLite` said, in words for a player.
fn said(error: &rusqlite::Error) -> String {
    use rusqlite::ErrorCode;
    match error.sqlite_error_code() {
        Some(ErrorCode::DiskFull) => "the disk is full".to_owned(),
        Some(ErrorCode::ReadOnly) => "it may only be read".to_owned(),
        Some(ErrorCode::CannotOpen) => {
            "it cannot be opened; look at the folder and its permissions".to_owned()
        }
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
            "another program holds it and does not let go".to_owned()
        }
        _ => error.to_string(),
    }
}
