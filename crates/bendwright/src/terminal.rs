//! The terminal while the full screen has it: taken, drawn on, and given back whatever happens.

use crate::failure::Failure;
use ratatui::backend::CrosstermBackend;
use ratatui::crossterm::terminal::{
    BeginSynchronizedUpdate, Clear, ClearType, EndSynchronizedUpdate, EnterAlternateScreen,
    LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use ratatui::crossterm::{cursor, execute, style};
use ratatui::{Frame, Terminal};
use sound::QuietStderr;
use std::fs::File;
use std::io::{self, BufWriter, IsTerminal, Stdout, Write};
use std::panic;
use std::thread;

/// One write per frame even for a large screen; a slow line then never shows half a picture.
const FRAME_BYTES: usize = 64 * 1024;

type Tty = Terminal<CrosstermBackend<BufWriter<Stdout>>>;

/// The full screen. Dropping it gives the terminal back.
pub(crate) struct FullScreen {
    terminal: Tty,
    /// What C libraries print on standard error would land on the picture, so it goes to a file that is thrown away.
    _quiet: QuietStderr,
}

impl FullScreen {
    /// Takes the terminal.
    ///
    /// # Errors
    /// [`Failure::User`] if input or output is no terminal, [`Failure::World`] if it refuses.
    pub(crate) fn take() -> Result<Self, Failure> {
        if !io::stdin().is_terminal() || !io::stdout().is_terminal() {
            return Err(Failure::user(
                "the full screen needs a terminal; use drill or listen with --plain or --json elsewhere",
            ));
        }
        // The theme decides about colour; crossterm's own NO_COLOR switch would also reset bold and reverse.
        style::force_color_output(true);
        let quiet = tempfile::tempfile().and_then(|log| QuietStderr::start(&log)).map_err(refused)?;
        give_back_on_panic(quiet.original().map_err(refused)?);
        let terminal = enter().map_err(refused)?;
        Ok(Self { terminal, _quiet: quiet })
    }

    /// Draws one frame.
    ///
    /// # Errors
    /// If the terminal has gone away.
    pub(crate) fn draw(&mut self, render: impl FnOnce(&mut Frame<'_>)) -> Result<(), Failure> {
        let drawn = (|| -> io::Result<()> {
            execute!(self.terminal.backend_mut(), BeginSynchronizedUpdate)?;
            self.terminal.draw(render)?;
            execute!(self.terminal.backend_mut(), EndSynchronizedUpdate)
        })();
        drawn.map_err(refused)
    }

    /// Gives the terminal back, stops the process as Ctrl-Z asks, and takes the terminal again when it goes on.
    ///
    /// # Errors
    /// If the terminal cannot be taken again.
    pub(crate) fn suspend(&mut self) -> Result<(), Failure> {
        leave();
        stop_this_process();
        self.terminal = enter().map_err(refused)?;
        Ok(())
    }
}

impl Drop for FullScreen {
    fn drop(&mut self) {
        leave();
    }
}

fn refused(error: impl std::fmt::Display) -> Failure {
    Failure::world(format!("the terminal does not answer: {error}"))
}

/// A terminal that knows nothing of an earlier picture, on a screen that holds none.
fn enter() -> io::Result<Tty> {
    enable_raw_mode()?;
    execute!(io::stdout(), EnterAlternateScreen, Clear(ClearType::All), cursor::Hide)?;
    Terminal::new(CrosstermBackend::new(BufWriter::with_capacity(FRAME_BYTES, io::stdout())))
}

/// Gives the terminal back. Errors are of no use here: there is nothing left to say them on.
pub(crate) fn leave() {
    let _ = execute!(io::stdout(), EndSynchronizedUpdate, LeaveAlternateScreen, cursor::Show);
    let _ = io::stdout().flush();
    let _ = disable_raw_mode();
}

/// A panic in the thread that draws gives the terminal back before its message is printed. Other threads catch
/// their own panics and report them, so the screen stays up under the player's hands.
fn give_back_on_panic(stderr: File) {
    let drawing = thread::current().id();
    panic::set_hook(Box::new(move |info| {
        if thread::current().id() == drawing {
            leave();
            let _ = writeln!(&stderr, "bendwright: a fault in the program, please report it: {info}");
        }
    }));
}

/// Stops with SIGSTOP: a SIGTSTP sent to oneself is discarded in an orphaned process group.
#[cfg(unix)]
fn stop_this_process() {
    let _ = rustix::process::kill_process(rustix::process::getpid(), rustix::process::Signal::STOP);
}

#[cfg(not(unix))]
fn stop_this_process() {}
