//! The keyboard: a thread of its own that reads what the terminal sends, so that the thread that draws can wait for
//! keys and for news of the listener at one place.

#[cfg(unix)]
mod decoder;

use crate::failure::Failure;
use crate::input::Input;
use crate::tty::Tty;
use std::io;
use std::sync::Arc;
use std::thread;

/// Reads keys as long as it lives. It is the only one that reads from the terminal.
pub(crate) struct Keyboard {
    /// When this is closed, the thread ends.
    #[cfg(unix)]
    _alive: std::os::unix::net::UnixStream,
}

impl Keyboard {
    /// Begins to read keys and to tell them, and that the terminal is gone; `tell` says whether anybody still listens.
    ///
    /// # Errors
    /// If the system gives no thread.
    pub(crate) fn start(
        tty: Arc<Tty>,
        tell: impl FnMut(Input) -> bool + Send + 'static,
    ) -> Result<Self, Failure> {
        start(tty, tell).map_err(|error| Failure::world(format!("cannot read the keyboard: {error}")))
    }
}

#[cfg(unix)]
fn start(tty: Arc<Tty>, tell: impl FnMut(Input) -> bool + Send + 'static) -> io::Result<Keyboard> {
    let (alive, end) = std::os::unix::net::UnixStream::pair()?;
    thread::Builder::new().name("keyboard".into()).spawn(move || unix::read(&tty, &end, tell))?;
    Ok(Keyboard { _alive: alive })
}

#[cfg(unix)]
mod unix {
    use super::decoder::Decoder;
    use crate::input::Input;
    use crate::tty::Tty;
    use ratatui::crossterm::event::KeyEvent;
    use rustix::event::{PollFd, PollFlags, Timespec, poll};
    use rustix::io::Errno;
    use std::os::unix::net::UnixStream;
    use std::thread;
    use std::time::Duration;

    /// The line discipline keeps 4096 bytes (`N_TTY_BUF_SIZE` of Linux), so one read empties it.
    const READ_BYTES: usize = 4096;

    /// How often it is looked whether the shell has given the terminal back to the program.
    const IN_THE_BACKGROUND: Duration = Duration::from_millis(50);

    enum Ready {
        Keys,
        Silence,
        Interrupted,
        Gone,
        End,
    }

    pub(super) fn read(tty: &Tty, end: &UnixStream, mut tell: impl FnMut(Input) -> bool) {
        let mut decoder = Decoder::default();
        let mut bytes = [0; READ_BYTES];
        let mut keys: Vec<KeyEvent> = Vec::new();
        loop {
            match wait(tty, end, decoder.patience()) {
                Ready::End => return,
                Ready::Interrupted => continue,
                Ready::Silence => keys.extend(decoder.silence()),
                Ready::Gone => {
                    tell(Input::Gone);
                    return;
                }
                // What is typed now is meant for the shell.
                Ready::Keys if !tty.is_ours() => {
                    thread::sleep(IN_THE_BACKGROUND);
                    continue;
                }
                Ready::Keys => match rustix::io::read(tty.input(), &mut bytes) {
                    Ok(count) => bytes[..count].iter().for_each(|byte| decoder.take(*byte, &mut keys)),
                    Err(Errno::AGAIN | Errno::INTR) => continue,
                    Err(_) => {
                        tell(Input::Gone);
                        return;
                    }
                },
            }
            if !keys.drain(..).all(|key| tell(Input::Key(key))) {
                return;
            }
        }
    }

    fn wait(tty: &Tty, end: &UnixStream, patience: Option<Duration>) -> Ready {
        let mut both =
            [PollFd::from_borrowed_fd(tty.input(), PollFlags::IN), PollFd::new(end, PollFlags::IN)];
        let patience = patience.and_then(|patience| Timespec::try_from(patience).ok());
        match poll(&mut both, patience.as_ref()) {
            Ok(0) => return Ready::Silence,
            Ok(_) => {}
            Err(Errno::INTR) => return Ready::Interrupted,
            Err(_) => return Ready::Gone,
        }
        let lost = PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL;
        match both.map(|one| one.revents()) {
            [_, end] if !end.is_empty() => Ready::End,
            [terminal, _] if terminal.intersects(lost) => Ready::Gone,
            _ => Ready::Keys,
        }
    }
}

/// Elsewhere crossterm reads the console.
#[cfg(not(unix))]
fn start(_tty: Arc<Tty>, mut tell: impl FnMut(Input) -> bool + Send + 'static) -> io::Result<Keyboard> {
    use ratatui::crossterm::event::{self, Event};

    let read = move || {
        loop {
            let goes_on = match event::read() {
                Ok(Event::Key(key)) => tell(Input::Key(key)),
                Ok(Event::Resize(..)) => tell(Input::Resized),
                Ok(_) => true,
                Err(_) => tell(Input::Gone) && false,
            };
            if !goes_on {
                return;
            }
        }
    };
    thread::Builder::new().name("keyboard".into()).spawn(read)?;
    Ok(Keyboard {})
}
