//! What was practised, kept.
//!
//! One `SQLite` file holds raw rows: who practised when, what was tried, what came of it. Rows are only added, and they
//! are the only truth. What was practised day by day is worked out from them as they are written, kept beside them and
//! can be worked out again; everything else (ability, trends, clean tempi) is worked out from that when it is asked
//! for.
//!
//! * [`Keeper`] writes, in a thread of its own: the drawing thread and the listener never wait for a disk. What cannot
//!   be written is held in memory and written when it can be.
//! * [`Journal`] is the file: it opens, upgrades, checks, backs up and reads.
//! * A try is committed when it is judged. The death of the process loses only the try in progress, and a try that was
//!   judged in the milliseconds before. A loss of power loses no try that was committed, because each commit is forced
//!   to the disk (`synchronous = FULL`).
//! * Each entry has a running number in its session, so that [`Journal::check`] finds a hole that no check of pages can
//!   find. A session whose end is missing cannot be told from one whose process died.

mod answers;
mod backup;
mod chords;
mod derive;
mod entry;
mod error;
mod export;
mod file;
mod forget;
mod import;
mod keeper;
mod past;
mod read;
mod remarks;
mod schema;
mod store;
mod tables;
mod trace;
mod when;

pub use backup::Backup;
pub use entry::{By, Noted};
pub use error::JournalError;
pub use export::{ExportError, export, export_csv};
pub use file::{Found, Journal};
pub use forget::Older;
pub use import::{ImportError, Imported};
pub use keeper::{Keeper, KeeperNews};
pub use read::{Checked, Counts};
pub use remarks::Remark;
pub use store::Sitting;
pub use tables::{Column, TABLES, Table};
pub use when::When;
