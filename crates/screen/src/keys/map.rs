//! Which key asks for what, after the player's own wishes.

use super::{Command, Press, PressError, Row, TABLE};
use crate::View;
use ratatui::crossterm::event::KeyEvent;
use std::fmt;

/// The keys in force.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyMap {
    keys: Vec<(Command, Vec<Press>)>,
}

/// What is wrong with the player's keys.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum KeyMapError {
    /// No command of this name.
    NoCommand(String),
    /// The command has been given no key at all.
    NoKey(String),
    /// A key that cannot be read: the command, and what is wrong.
    Key(String, PressError),
    /// One key for two commands of the same view: key, first and second command.
    Twice(String, String, String),
}

impl Default for KeyMap {
    fn default() -> Self {
        let keys = TABLE.iter().map(|row| (row.command, read(row.keys).unwrap_or_default())).collect();
        Self { keys }
    }
}

/// The keys of a text such as `q esc`.
fn read(text: &str) -> Result<Vec<Press>, PressError> {
    text.split_whitespace().map(str::parse).collect()
}

impl KeyMap {
    /// The table with the player's own keys: pairs of a command's name and its keys, separated by spaces. A command
    /// that is not named keeps its keys, less those that the player gave to another.
    ///
    /// # Errors
    /// If a name or a key is unknown, a command ends up without a key, or a key would do two things in one view.
    pub fn with<'a>(own: impl IntoIterator<Item = (&'a str, &'a str)>) -> Result<Self, KeyMapError> {
        let mut map = Self::default();
        let mut changed = Vec::new();
        for (name, keys) in own {
            let row = TABLE
                .iter()
                .find(|row| row.name == name)
                .ok_or_else(|| KeyMapError::NoCommand(name.to_owned()))?;
            let presses = read(keys).map_err(|error| KeyMapError::Key(name.to_owned(), error))?;
            if presses.is_empty() {
                return Err(KeyMapError::NoKey(name.to_owned()));
            }
            map.set(row.command, &presses);
            changed.push(row.command);
        }
        map.give_way(&changed);
        map.check()?;
        Ok(map)
    }

    fn set(&mut self, command: Command, presses: &[Press]) {
        for (known, keys) in &mut self.keys {
            if *known == command {
                presses.clone_into(keys);
            }
        }
    }

    /// Takes from every command that kept its keys those which a changed command now has in the same view.
    fn give_way(&mut self, changed: &[Command]) {
        let taken: Vec<(Command, Press)> = changed
            .iter()
            .flat_map(|command| self.presses(*command).iter().map(|press| (*command, *press)))
            .collect();
        for (command, keys) in &mut self.keys {
            if !changed.contains(command) {
                keys.retain(|press| !taken.iter().any(|(other, key)| key == press && meet(*command, *other)));
            }
        }
    }

    fn check(&self) -> Result<(), KeyMapError> {
        let name = |command: Command| command.row().map_or("", |row| row.name).to_owned();
        for (i, (command, keys)) in self.keys.iter().enumerate() {
            if keys.is_empty() {
                return Err(KeyMapError::NoKey(name(*command)));
            }
            for (other, others) in self.keys.iter().skip(i + 1).filter(|(other, _)| meet(*command, *other)) {
                if let Some(press) = keys.iter().find(|press| others.contains(press)) {
                    return Err(KeyMapError::Twice(press.to_string(), name(*command), name(*other)));
                }
            }
        }
        Ok(())
    }

    /// The keys of a command.
    pub fn presses(&self, command: Command) -> &[Press] {
        self.keys.iter().find(|(known, _)| *known == command).map_or(&[], |(_, keys)| keys)
    }

    /// What a key asks for in this view.
    pub fn command(&self, view: View, event: &KeyEvent) -> Option<Command> {
        let press = Press::from_event(event);
        TABLE
            .iter()
            .filter(|row| row.views.contains(&view))
            .map(|row| row.command)
            .find(|command| self.presses(*command).contains(&press))
    }

    /// The rows that work in this view, in the order of the table.
    pub fn rows(view: View) -> impl Iterator<Item = &'static Row> {
        TABLE.iter().filter(move |row| row.views.contains(&view))
    }
}

/// Whether two commands work in the same view.
fn meet(a: Command, b: Command) -> bool {
    let views = |command: Command| command.row().map_or(&[] as &[View], |row| row.views);
    views(a).iter().any(|view| views(b).contains(view))
}

impl fmt::Display for KeyMapError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoCommand(name) => {
                write!(f, "nothing is called {name:?}; keys can be given to")?;
                for row in &TABLE {
                    write!(f, " {}", row.name)?;
                }
                Ok(())
            }
            Self::NoKey(name) => write!(f, "{name} is left without a key; give it one"),
            Self::Key(name, error) => write!(f, "the key for {name}: {error}"),
            Self::Twice(key, first, second) => {
                write!(f, "{key} would be both {first} and {second}; give one of them another key")
            }
        }
    }
}

impl std::error::Error for KeyMapError {}
