//! Keeps what C libraries print away from the screen.

use std::fs::File;
use std::io;

/// While it lives, everything written to standard error by anybody in the process goes into a file. Sound libraries
/// print there without asking, and one line of theirs spoils a full screen.
pub struct QuietStderr {
    #[cfg(unix)]
    before: std::os::fd::OwnedFd,
}

#[cfg(unix)]
impl QuietStderr {
    /// Sends standard error to `log` until the guard is dropped.
    ///
    /// # Errors
    /// When the system refuses to duplicate a file descriptor.
    pub fn start(log: &File) -> io::Result<Self> {
        use std::os::fd::AsFd;
        let before = io::stderr().as_fd().try_clone_to_owned()?;
        rustix::stdio::dup2_stderr(log)?;
        Ok(Self { before })
    }

    /// A second handle to the standard error of before, for a report that must reach the terminal.
    ///
    /// # Errors
    /// When the system refuses to duplicate the file descriptor.
    pub fn original(&self) -> io::Result<File> {
        Ok(File::from(self.before.try_clone()?))
    }
}

#[cfg(unix)]
impl Drop for QuietStderr {
    fn drop(&mut self) {
        // Nobody could be told if this failed: standard error is what is missing then.
        let _ = rustix::stdio::dup2_stderr(&self.before);
    }
}

/// Keeps what ALSA's library prints in this thread away from standard error, where it would stand between our own
/// sentences once for every device that it cannot open; the reason reaches us as an error all the same. The effect ends
/// with the thread. What other libraries print is not caught: for those there is [`QuietStderr`].
pub(crate) fn hush_this_thread() {
    #[cfg(target_os = "linux")]
    // Should it fail for want of memory, the noise is the least trouble.
    let _ = alsa::Output::local_error_handler();
}

#[cfg(windows)]
impl QuietStderr {
    /// Does nothing here: the sound system of Windows does not print.
    ///
    /// # Errors
    /// None.
    pub fn start(_log: &File) -> io::Result<Self> {
        Ok(Self {})
    }

    /// A second handle to standard error.
    ///
    /// # Errors
    /// When the system refuses to duplicate the handle.
    pub fn original(&self) -> io::Result<File> {
        use std::os::windows::io::AsHandle;
        Ok(File::from(io::stderr().as_handle().try_clone_to_owned()?))
    }
}
