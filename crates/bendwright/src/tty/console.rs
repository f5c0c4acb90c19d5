//! The terminal as a device where there are no terminals as POSIX knows them.

use crate::failure::Failure;
use ratatui::crossterm::terminal::{disable_raw_mode, enable_raw_mode, size};
use std::io::{self, IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};

/// The console.
pub(crate) struct Tty {
    taken: AtomicBool,
}

impl Tty {
    /// Finds the console; it stays as it is.
    ///
    /// # Errors
    /// [`Failure::User`] if input or output is no console.
    pub(crate) fn open() -> Result<Self, Failure> {
        if !io::stdin().is_terminal() || !io::stdout().is_terminal() {
            return Err(Failure::user(
                "the full screen needs a terminal; use drill, scale, phrase or listen with --plain or --json elsewhere",
            ));
        }
        Ok(Self { taken: AtomicBool::new(false) })
    }

    /// Columns and rows; (0, 0) where the console does not know.
    pub(super) fn size(&self) -> (u16, u16) {
        size().unwrap_or_default()
    }

    /// Whether the program has taken the console.
    pub(crate) fn is_ours(&self) -> bool {
        self.taken.load(Ordering::Relaxed)
    }

    /// There is no background.
    pub(super) fn in_foreground(&self) -> bool {
        true
    }

    /// Takes keys as they come, without echo.
    ///
    /// # Errors
    /// If the console refuses.
    pub(super) fn take(&self) -> io::Result<()> {
        self.taken.store(true, Ordering::Relaxed);
        enable_raw_mode()
    }

    /// Sends `leave` and sets the console as it was, once for each time it was taken.
    pub(super) fn give_back(&self, leave: &[u8]) {
        if self.taken.swap(false, Ordering::Relaxed) {
            let _ = self.write(leave);
            let _ = disable_raw_mode();
        }
    }

    /// Sends `bytes`; a console always has room.
    ///
    /// # Errors
    /// If the console is gone.
    pub(super) fn insist(&self, _again: &[u8], bytes: &[u8]) -> io::Result<()> {
        self.write(bytes).map(drop)
    }

    /// Writes all of it; a console always takes it.
    ///
    /// # Errors
    /// If the console is gone.
    pub(super) fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        let mut out = io::stdout().lock();
        out.write_all(bytes)?;
        out.flush()?;
        Ok(bytes.len())
    }
}

/// The failure of a terminal that refuses.
pub(crate) fn refused(error: impl std::fmt::Display) -> Failure {
    Failure::world(format!("the terminal does not answer: {error}"))
}
