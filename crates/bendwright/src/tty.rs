//! The terminal as a device: taken, written to without ever waiting for it, and given back from any thread.

use crate::failure::Failure;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fs::{Mode, OFlags, open};
use rustix::io::{Errno, retry_on_intr};
use rustix::process::getpgrp;
use rustix::termios::{
    OptionalActions, QueueSelector, Termios, tcflush, tcgetattr, tcgetpgrp, tcgetwinsize, tcsetattr, ttyname,
};
use std::ffi::CString;
use std::io::{self, IsTerminal};
use std::os::fd::{AsFd, AsRawFd, BorrowedFd, OwnedFd};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How long a terminal that takes nothing is waited for when it is given back.
const LAST_PATIENCE: Duration = Duration::from_millis(300);

/// The terminal. Nothing here waits for it longer than `LAST_PATIENCE`, however little of what was written to it has
/// been read.
pub(crate) struct Tty {
    input: OwnedFd,
    output: Output,
    /// How the line was set before it was taken.
    before: Mutex<Termios>,
    taken: AtomicBool,
}

/// Where pictures are written to.
enum Output {
    /// An open file description of our own that never waits. Setting the one that came as standard output to never
    /// wait would set it for the shell and everybody else who has it.
    Own(OwnedFd),
    /// Standard output itself, where the terminal cannot be opened anew, as after a change of user.
    Shared(OwnedFd),
}

impl Tty {
    /// Finds the terminal; it stays as it is.
    ///
    /// # Errors
    /// [`Failure::User`] if input or output is no terminal, [`Failure::World`] if it refuses.
    pub(crate) fn open() -> Result<Self, Failure> {
        let (input, output) = (io::stdin(), io::stdout());
        if !input.is_terminal() || !output.is_terminal() {
            return Err(Failure::user(
                "the full screen needs a terminal; use drill, scale, phrase or listen with --plain or --json elsewhere",
            ));
        }
        let opened = || -> io::Result<Self> {
            let before = Mutex::new(tcgetattr(&input)?);
            let output = match anew(output.as_fd()) {
                Some(own) => Output::Own(own),
                None => Output::Shared(output.as_fd().try_clone_to_owned()?),
            };
            let input = match anew(input.as_fd()) {
                Some(own) => own,
                None => input.as_fd().try_clone_to_owned()?,
            };
            Ok(Self { input, output, before, taken: AtomicBool::new(false) })
        };
        opened().map_err(refused)
    }

    /// Where keys come from.
    pub(crate) fn input(&self) -> BorrowedFd<'_> {
        self.input.as_fd()
    }

    /// Columns and rows; (0, 0) where the terminal does not know.
    pub(super) fn size(&self) -> (u16, u16) {
        tcgetwinsize(self.output()).map_or((0, 0), |size| (size.ws_col, size.ws_row))
    }

    /// Whether the program has taken the terminal and stands in the foreground of its shell: only then may it draw, and
    /// only then is what is typed meant for it.
    pub(crate) fn is_ours(&self) -> bool {
        self.taken.load(Ordering::Relaxed) && self.in_foreground()
    }

    /// Whether the shell has put the program into the foreground. Where no shell controls the terminal, it is.
    pub(super) fn in_foreground(&self) -> bool {
        tcgetpgrp(&self.input).map_or(true, |foreground| foreground == getpgrp())
    }

    /// Takes keys as they come, without echo.
    ///
    /// # Errors
    /// If the terminal refuses.
    pub(super) fn take(&self) -> io::Result<()> {
        let mut before = self.before.lock().unwrap_or_else(PoisonError::into_inner);
        // A program that was stopped while it had the terminal would find its own setting there.
        if !self.taken.load(Ordering::Relaxed) {
            *before = tcgetattr(&self.input)?;
        }
        let mut raw = before.clone();
        raw.make_raw();
        self.taken.store(true, Ordering::Relaxed);
        Ok(tcsetattr(&self.input, OptionalActions::Now, &raw)?)
    }

    /// Sends `leave` and sets the line as it was, once for each time the terminal was taken. Errors are of no use here:
    /// there is nothing left to say them on.
    pub(super) fn give_back(&self, leave: &[u8]) {
        if !self.taken.swap(false, Ordering::Relaxed) {
            return;
        }
        let _ = self.insist(&[], leave);
        // In the background the line is set as the shell wants it, and changing it would stop the program once more.
        if self.in_foreground() {
            let before = self.before.lock().unwrap_or_else(PoisonError::into_inner);
            let _ = tcsetattr(&self.input, OptionalActions::Now, &before);
        }
    }

    /// Sends `bytes`. If there is no room for them, output that nobody has read yet is thrown away: it is a picture of
    /// the past, and whoever reads later finds the terminal as it should be. `again` may have been thrown away too, and
    /// is sent once more.
    ///
    /// # Errors
    /// If the terminal is gone.
    pub(super) fn insist(&self, again: &[u8], bytes: &[u8]) -> io::Result<()> {
        if !self.send(bytes)? {
            tcflush(self.output(), QueueSelector::OFlush)?;
            self.send(&[again, bytes].concat())?;
        }
        Ok(())
    }

    /// Writes as much as the terminal takes now; 0 bytes if it takes nothing.
    ///
    /// # Errors
    /// If the terminal is gone.
    pub(super) fn write(&self, bytes: &[u8]) -> io::Result<usize> {
        let taken = match &self.output {
            Output::Own(own) => rustix::io::write(own, bytes),
            // One byte always fits where there is room; how many more would fit nobody says.
            Output::Shared(shared) if has_room(shared, Duration::ZERO) => {
                rustix::io::write(shared, bytes.get(..1).unwrap_or_default())
            }
            Output::Shared(_) => Ok(0),
        };
        match taken {
            Err(Errno::AGAIN | Errno::INTR) => Ok(0),
            taken => Ok(taken?),
        }
    }

    /// Writes all of it within [`LAST_PATIENCE`]; whether there was room.
    fn send(&self, bytes: &[u8]) -> io::Result<bool> {
        let end = Instant::now() + LAST_PATIENCE;
        let mut left = bytes;
        while !left.is_empty() {
            let count = self.write(left)?;
            left = left.get(count..).unwrap_or_default();
            let patience = end.saturating_duration_since(Instant::now());
            if count == 0 && (patience.is_zero() || !has_room(self.output(), patience)) {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn output(&self) -> BorrowedFd<'_> {
        match &self.output {
            Output::Own(fd) | Output::Shared(fd) => fd.as_fd(),
        }
    }
}

/// Opens the terminal behind a descriptor once more, by the name it has, by the descriptor (a terminal of another
/// container has no name here), or as the one that controls the program (which also another user may open).
fn anew(terminal: BorrowedFd<'_>) -> Option<OwnedFd> {
    let name = ttyname(terminal, Vec::new()).ok();
    let descriptor = CString::new(format!("/proc/self/fd/{}", terminal.as_raw_fd())).ok();
    let controlling = tcgetpgrp(terminal).is_ok().then(|| c"/dev/tty".to_owned());
    let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::NONBLOCK | OFlags::CLOEXEC;
    [name, descriptor, controlling]
        .into_iter()
        .flatten()
        .find_map(|path| open(path.as_c_str(), flags, Mode::empty()).ok())
}

fn has_room(terminal: impl AsFd, patience: Duration) -> bool {
    let mut one = [PollFd::new(&terminal, PollFlags::OUT)];
    let patience = Timespec::try_from(patience).ok();
    patience.is_some_and(|patience| retry_on_intr(|| poll(&mut one, Some(&patience))).is_ok())
        && one[0].revents().contains(PollFlags::OUT)
}

/// The failure of a terminal that refuses.
pub(crate) fn refused(error: impl std::fmt::Display) -> Failure {
    Failure::world(format!("the terminal does not answer: {error}"))
}
