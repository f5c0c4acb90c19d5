//! Pipes, asked whether they have something before they are read, so that whoever reads one is never held up for long.

use std::fs::File;
use std::io;
use std::time::Duration;

/// How long an empty pipe is waited for before its reader may do something else.
const PATIENCE: Duration = Duration::from_millis(20);

/// Standard input without the buffer of the standard library, which cannot be asked whether there is something in it.
pub(crate) fn standard_input() -> io::Result<File> {
    #[cfg(unix)]
    let own = std::os::fd::AsFd::as_fd(&io::stdin()).try_clone_to_owned();
    #[cfg(windows)]
    let own = std::os::windows::io::AsHandle::as_handle(&io::stdin()).try_clone_to_owned();
    own.map(File::from)
}

/// Whether `pipe` can be read at once: it holds bytes, or has ended. Waits up to `PATIENCE` for that. A pipe that
/// cannot be asked counts as ready.
#[cfg(unix)]
pub(crate) fn has_something(pipe: &File) -> bool {
    use rustix::event::{PollFd, PollFlags, Timespec, poll};
    let patience = Timespec { tv_sec: 0, tv_nsec: i64::from(PATIENCE.subsec_nanos()) };
    let asked = poll(&mut [PollFd::new(pipe, PollFlags::IN)], Some(&patience));
    !matches!(asked, Ok(0) | Err(rustix::io::Errno::INTR))
}

/// On other systems no pipe can be asked.
#[cfg(not(unix))]
pub(crate) fn has_something(_pipe: &File) -> bool {
    true
}
