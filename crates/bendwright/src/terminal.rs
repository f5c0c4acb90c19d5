//! The terminal while the full screen has it: taken, drawn on, and given back whatever happens.
//!
//! The thread that draws never waits for the terminal: what it does not take at once is owed, and until it has been
//! taken no further picture is made. A terminal that nobody reads therefore costs pictures and nothing else.

use crate::failure::Failure;
use crate::input::Input;
use crate::keyboard::Keyboard;
use crate::stderr;
use crate::tty::{Tty, refused};
use ratatui::backend::CrosstermBackend;
use ratatui::crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};
use ratatui::crossterm::terminal::{
    BeginSynchronizedUpdate, Clear, ClearType, EndSynchronizedUpdate, EnterAlternateScreen,
    LeaveAlternateScreen,
};
use ratatui::crossterm::{cursor, queue, style};
use ratatui::layout::Rect;
use ratatui::{Frame, Terminal, TerminalOptions, Viewport};
use sound::QuietStderr;
use std::cell::RefCell;
use std::collections::VecDeque;
use std::fs::File;
use std::io::{self, Write};
use std::panic;
use std::rc::Rc;
use std::sync::Arc;
use std::thread;
use std::time::Duration;

/// The size of a terminal that does not know its own, as on a serial line: that of the first terminals with a screen.
const USUAL: (u16, u16) = (80, 24);

/// More than a large desktop screen full of small letters. A size beyond is a mistake of whoever set it, and a picture
/// of that size would not fit into memory.
const LARGEST: (u16, u16) = (600, 200);

/// The full screen. Dropping it gives the terminal back.
pub(crate) struct FullScreen {
    tty: Arc<Tty>,
    owed: Owed,
    picture: Terminal<CrosstermBackend<Owed>>,
    size: (u16, u16),
    _keyboard: Keyboard,
    /// What C libraries print on standard error would land on the picture.
    _quiet: Option<QuietStderr>,
}

/// What has been drawn and not yet been taken by the terminal.
#[derive(Clone, Default)]
struct Owed(Rc<RefCell<VecDeque<u8>>>);

impl FullScreen {
    /// Takes the terminal. Keys are told to `tell`, which says whether anybody still listens, from another thread.
    ///
    /// # Errors
    /// [`Failure::User`] if the terminal can do no more than a typewriter, [`Failure::World`] if it refuses.
    pub(crate) fn take(
        tty: Arc<Tty>,
        tell: impl FnMut(Input) -> bool + Send + 'static,
    ) -> Result<Self, Failure> {
        if std::env::var_os("TERM").is_some_and(|term| term == "dumb") {
            return Err(Failure::user(
                "the full screen needs a terminal that can place its cursor, and TERM says dumb; use drill, scale, phrase or listen \
                 with --plain, or set TERM to the kind of terminal it is",
            ));
        }
        // The theme decides about colour; crossterm's own NO_COLOR switch would also reset bold and reverse.
        style::force_color_output(true);
        let quiet = stderr::hush();
        give_back_on_panic(Arc::clone(&tty), quiet.as_ref().and_then(|quiet| quiet.original().ok()));
        let owed = Owed::default();
        let picture = picture(&owed, USUAL).map_err(refused)?;
        let keyboard = Keyboard::start(Arc::clone(&tty), tell)?;
        let mut screen = Self { tty, owed, picture, size: USUAL, _keyboard: keyboard, _quiet: quiet };
        screen.begin()?;
        Ok(screen)
    }

    /// Draws one frame if the terminal has taken the last one; gives back whether it drew.
    ///
    /// # Errors
    /// If the terminal is gone.
    pub(crate) fn draw(&mut self, render: impl FnOnce(&mut Frame<'_>)) -> Result<bool, Failure> {
        if !self.settle()? || !self.tty.is_ours() {
            return Ok(false);
        }
        if self.size != drawn_size(self.tty.size()) {
            self.clear().map_err(refused)?;
        }
        let drawn = (|| -> io::Result<()> {
            queue!(self.owed, BeginSynchronizedUpdate)?;
            self.picture.draw(render)?;
            queue!(self.owed, EndSynchronizedUpdate)
        })();
        drawn.map_err(refused)?;
        self.settle()?;
        Ok(true)
    }

    /// Writes what is owed, as far as the terminal takes it; whether it took everything.
    ///
    /// # Errors
    /// If the terminal is gone.
    pub(crate) fn settle(&mut self) -> Result<bool, Failure> {
        let mut owed = self.owed.0.borrow_mut();
        while !owed.is_empty() {
            match self.tty.write(owed.make_contiguous()) {
                Ok(0) => return Ok(false),
                Ok(count) => drop(owed.drain(..count)),
                Err(_) => return Err(gone()),
            }
        }
        Ok(true)
    }

    /// Gives the terminal back and stops the process. When it goes on, the system says [`Input::GoesOn`].
    pub(crate) fn suspend(&mut self) {
        give_back(&self.tty);
        stop_this_process();
    }

    /// To be called when the process goes on, before the signals are looked at and [`FullScreen::resume`]: in the
    /// background it waits until a signal that ends the process has been noted.
    pub(crate) fn wait_for_an_end(&self) {
        if !self.tty.in_foreground() {
            thread::sleep(END_WITHIN);
        }
    }

    /// Takes the terminal again, or stops again until the shell puts the program into the foreground. The next
    /// [`FullScreen::draw`] begins on an empty screen.
    ///
    /// # Errors
    /// If the terminal cannot be taken again.
    pub(crate) fn resume(&mut self) -> Result<(), Failure> {
        if self.tty.in_foreground() {
            self.begin()
        } else {
            stop_this_process();
            Ok(())
        }
    }

    fn begin(&mut self) -> Result<(), Failure> {
        self.tty.take().map_err(refused)?;
        self.owed.0.borrow_mut().clear();
        let entered = queue!(self.owed, EnterAlternateScreen, EnableBracketedPaste, cursor::Hide);
        entered.and_then(|()| self.clear()).map_err(refused)
    }

    /// Begins an empty picture on a cleared screen, so that nothing of an earlier one is left.
    fn clear(&mut self) -> io::Result<()> {
        self.size = drawn_size(self.tty.size());
        self.picture = picture(&self.owed, self.size)?;
        queue!(self.owed, style::ResetColor, Clear(ClearType::All))
    }
}

impl Drop for FullScreen {
    fn drop(&mut self) {
        give_back(&self.tty);
    }
}

impl Write for Owed {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().extend(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Gives the terminal back, from whatever thread, if the program has it.
pub(crate) fn give_back(tty: &Tty) {
    tty.give_back(&leave());
}

/// Leaves a line in the shell after the terminal was given back, without waiting for somebody to read it; where the
/// terminal is gone, on standard error.
pub(crate) fn tell(tty: &Tty, line: &str) {
    if tty.insist(&leave(), format!("{line}\n").as_bytes()).is_err() {
        stderr::say(line);
    }
}

fn leave() -> Vec<u8> {
    let mut leave = Vec::new();
    // Writing into memory does not fail.
    let _ = queue!(leave, EndSynchronizedUpdate, DisableBracketedPaste, LeaveAlternateScreen, cursor::Show);
    leave
}

/// The end of a program whose terminal has gone away.
pub(crate) fn gone() -> Failure {
    Failure::world("the terminal is gone")
}

fn picture(owed: &Owed, (columns, rows): (u16, u16)) -> io::Result<Terminal<CrosstermBackend<Owed>>> {
    let viewport = Viewport::Fixed(Rect::new(0, 0, columns, rows));
    Terminal::with_options(CrosstermBackend::new(owed.clone()), TerminalOptions { viewport })
}

/// The size to draw for a terminal that says it has this one.
fn drawn_size((columns, rows): (u16, u16)) -> (u16, u16) {
    let or = |said: u16, usual: u16| if said == 0 { usual } else { said };
    (or(columns, USUAL.0).min(LARGEST.0), or(rows, USUAL.1).min(LARGEST.1))
}

/// A panic in the thread that draws gives the terminal back before its message is printed. Other threads catch
/// their own panics and report them, so the screen stays up under the player's hands.
fn give_back_on_panic(tty: Arc<Tty>, stderr: Option<File>) {
    let drawing = thread::current().id();
    panic::set_hook(Box::new(move |info| {
        if thread::current().id() == drawing {
            give_back(&tty);
            let report = format!("bendwright: a fault in the program, please report it: {info}");
            match &stderr {
                Some(before) => drop(writeln!(&*before, "{report}")),
                None => stderr::say(&report),
            }
        }
    }));
}

/// A shell that ends a stopped program also lets it go on, and two threads may take the two signals. The signal that
/// ends it is noted within this time after SIGCONT, even on a busy machine.
const END_WITHIN: Duration = Duration::from_millis(100);

/// Stops with SIGSTOP: a SIGTSTP sent to oneself is discarded in an orphaned process group.
#[cfg(unix)]
fn stop_this_process() {
    let _ = rustix::process::kill_process(rustix::process::getpid(), rustix::process::Signal::STOP);
}

#[cfg(not(unix))]
fn stop_this_process() {}
