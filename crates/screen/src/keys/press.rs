//! One key press: read from text, written as text, made from what the terminal sends.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use std::fmt;
use std::str::FromStr;

/// A key with the modifiers that count: control and alt. Shift is part of the character.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Press {
    code: KeyCode,
    modifiers: KeyModifiers,
}

/// A text that names no key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PressError(pub String);

/// The keys that are named rather than typed.
const NAMED: [(&str, KeyCode); 15] = [
    ("space", KeyCode::Char(' ')),
    ("enter", KeyCode::Enter),
    ("esc", KeyCode::Esc),
    ("tab", KeyCode::Tab),
    ("backspace", KeyCode::Backspace),
    ("delete", KeyCode::Delete),
    ("insert", KeyCode::Insert),
    ("up", KeyCode::Up),
    ("down", KeyCode::Down),
    ("left", KeyCode::Left),
    ("right", KeyCode::Right),
    ("home", KeyCode::Home),
    ("end", KeyCode::End),
    ("pageup", KeyCode::PageUp),
    ("pagedown", KeyCode::PageDown),
];

const COUNTED: KeyModifiers = KeyModifiers::CONTROL.union(KeyModifiers::ALT);

impl Press {
    /// What the terminal sent, with shift folded into the character.
    pub fn from_event(event: &KeyEvent) -> Self {
        Self::new(event.code, event.modifiers)
    }

    /// Control makes no difference between `C` and `c`, as terminals make none.
    fn new(code: KeyCode, modifiers: KeyModifiers) -> Self {
        let modifiers = modifiers.intersection(COUNTED);
        let code = match code {
            KeyCode::Char(c) if modifiers.contains(KeyModifiers::CONTROL) => {
                KeyCode::Char(c.to_ascii_lowercase())
            }
            code => code,
        };
        Self { code, modifiers }
    }
}

impl FromStr for Press {
    type Err = PressError;

    /// Reads `q`, `?`, `space`, `f1`, `ctrl+x`, `alt+left`.
    fn from_str(text: &str) -> Result<Self, PressError> {
        let fail = || PressError(text.to_owned());
        let mut modifiers = KeyModifiers::NONE;
        let mut rest = text;
        while let Some((word, tail)) = rest.split_once('+').filter(|(_, tail)| !tail.is_empty()) {
            modifiers |= match word.to_ascii_lowercase().as_str() {
                "ctrl" => KeyModifiers::CONTROL,
                "alt" => KeyModifiers::ALT,
                _ => return Err(fail()),
            };
            rest = tail;
        }
        code(rest).map(|code| Self::new(code, modifiers)).ok_or_else(fail)
    }
}

/// The key of a name or a single character.
fn code(text: &str) -> Option<KeyCode> {
    let mut chars = text.chars();
    if let (Some(c), None) = (chars.next(), chars.next()) {
        return (!c.is_control() && !c.is_whitespace()).then_some(KeyCode::Char(c));
    }
    let lower = text.to_ascii_lowercase();
    if let Some((_, code)) = NAMED.iter().find(|(name, _)| *name == lower) {
        return Some(*code);
    }
    let number: u8 = lower.strip_prefix('f')?.parse().ok()?;
    (1..=12).contains(&number).then_some(KeyCode::F(number))
}

impl fmt::Display for Press {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.modifiers.contains(KeyModifiers::CONTROL) {
            f.write_str("ctrl+")?;
        }
        if self.modifiers.contains(KeyModifiers::ALT) {
            f.write_str("alt+")?;
        }
        match self.code {
            KeyCode::F(number) => write!(f, "f{number}"),
            code => match (NAMED.iter().find(|(_, named)| *named == code), code) {
                (Some((name, _)), _) => f.write_str(name),
                (None, KeyCode::Char(c)) => write!(f, "{c}"),
                (None, _) => f.write_str("?"),
            },
        }
    }
}

impl fmt::Display for PressError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} is no key; write one character, f1 to f12, or one of", self.0)?;
        for (name, _) in NAMED {
            write!(f, " {name}")?;
        }
        f.write_str(", with ctrl+ or alt+ before it if wanted")
    }
}

impl std::error::Error for PressError {}
