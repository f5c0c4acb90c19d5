//! What was practised, kept.
//!
//! One `SQLite` file holds raw rows: who practised when, what was tried, what came of it. Rows are only added. Whatever can be
//! worked out from them (last results, trends, clean tempi) is worked out when it is asked for.
//!
//! * [`Keeper`] writes, in a thread of its own: the drawing thread and the listener never wait for a disk. What cannot be
//!   written is held in memory and written when it can be.
//! * [`Journal`] is the file: it opens, upgrades, checks, backs up and reads.
//! * A try is committed when it is judged. The death of the process loses only the one in progress, and one that was
//!   judged in the milliseconds before; a loss of power none
//!   that was committed, because each commit is forced to the disk (`synchronous = FULL`).
//! * Each entry has a running number in its session, so that [`Journal::check`] finds a hole that no check of pages can find. A
//!   session whose end is missing cannot be told from one whose process died.

mod backup;
mod entry;
mod error;
mod export;
mod file;
mod keeper;
mod read;
mod schema;
mod store;
mod when;

pub use backup::Backup;
pub use entry::{By, Noted};
pub use error::JournalError;
pub use export::{ExportError, export};
pub use file::{Found, Journal};
pub use keeper::{Keeper, KeeperNews};
pub use read::{Checked, Counts, Last, LastRun};
pub use when::When;
