//! A line that the player types: a remark, or a name.

use crate::Action;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// The most characters that can be typed into the line.
const LONGEST: usize = 300;

/// What the line is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Asks {
    /// A remark on what was just practised, or on the day.
    Remark,
    /// Who takes the harp.
    Player,
}

/// A line that is being typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Prompt {
    asks: Asks,
    text: String,
    /// What stands there was put there for the player, and the first letter typed takes its place.
    is_offered: bool,
}

/// What a key did to the line.
pub(crate) enum Typed {
    /// It goes on.
    On,
    /// It is over, and this is to be done, if anything.
    Over(Option<Action>),
}

impl Prompt {
    pub(crate) fn new(asks: Asks, text: &str) -> Self {
        Self { asks, text: text.to_owned(), is_offered: true }
    }

    /// Takes a key.
    pub(crate) fn key(&mut self, event: &KeyEvent) -> Typed {
        let offered = std::mem::take(&mut self.is_offered);
        let alone = !event.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT);
        match event.code {
            KeyCode::Enter => return Typed::Over(self.done()),
            KeyCode::Esc => return Typed::Over(None),
            KeyCode::Backspace => {
                self.text.pop();
            }
            KeyCode::Char(c) if alone && !c.is_control() && self.text.chars().count() < LONGEST => {
                if offered {
                    self.text.clear();
                }
                self.text.push(c);
            }
            _ => {}
        }
        Typed::On
    }

    /// What the line asks for; nothing of an empty one.
    fn done(&self) -> Option<Action> {
        let text = self.text.trim().to_owned();
        (!text.is_empty()).then_some(match self.asks {
            Asks::Remark => Action::Remark(text),
            Asks::Player => Action::HandOver(text),
        })
    }

    /// The line as it stands, and in front of it what it is for.
    pub(crate) fn words(&self) -> (&'static str, &str) {
        let asks = match self.asks {
            Asks::Remark => "remark (enter keeps it): ",
            Asks::Player => "who takes the harp (esc: nobody new)? ",
        };
        (asks, &self.text)
    }
}
