//! What the player and the system say to the full screen.

use ratatui::crossterm::event::KeyEvent;

/// One thing that was said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Input {
    /// A key.
    Key(KeyEvent),
    /// The terminal has another size.
    Resized,
    /// The program shall stop, as Ctrl-Z would have it: `FullScreen::suspend`.
    Stop,
    /// The program goes on after it was stopped, by whatever: `FullScreen::resume`.
    GoesOn,
    /// There is news of what is heard.
    Heard,
    /// A signal asks for the end.
    End,
    /// The terminal is gone.
    Gone,
}
