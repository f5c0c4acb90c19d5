//! Which style says what.

use ratatui::style::{Color, Modifier, Style};

/// The styles of the screen by what they say. No style sets a background; the terminal keeps its own.
///
/// Every difference that a colour makes is also made by a word, a glyph or a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Theme {
    /// Ordinary text.
    pub plain: Style,
    /// What matters now: headings, the note asked for.
    pub strong: Style,
    /// What is there for orientation only: rules, scales, labels.
    pub faint: Style,
    /// The target: its mark, its band, its tab.
    pub target: Style,
    /// The player's own pitch.
    pub voice: Style,
    /// A key in the key line.
    pub key: Style,
    /// What is chosen in a list.
    pub chosen: Style,
    /// A warning.
    pub warning: Style,
}

impl Theme {
    /// The terminal's own colours with one blue (the target) and one orange (the player). Both are among the sixteen
    /// named colours, so the terminal's palette decides their exact shade; yellow is the orange of that palette.
    pub const COLOUR: Self = Self {
        plain: Style::new(),
        strong: Style::new().add_modifier(Modifier::BOLD),
        faint: Style::new().add_modifier(Modifier::DIM),
        target: Style::new().fg(Color::LightBlue),
        voice: Style::new().fg(Color::Yellow).add_modifier(Modifier::BOLD),
        key: Style::new().add_modifier(Modifier::BOLD),
        chosen: Style::new().add_modifier(Modifier::REVERSED),
        warning: Style::new().fg(Color::Yellow).add_modifier(Modifier::BOLD),
    };

    /// No colour at all: bold, dim, reverse and underline only.
    pub const MONO: Self = Self {
        target: Style::new(),
        voice: Style::new().add_modifier(Modifier::BOLD),
        warning: Style::new().add_modifier(Modifier::BOLD.union(Modifier::UNDERLINED)),
        ..Self::COLOUR
    };

    /// The theme of this name, as written in the configuration.
    pub fn named(name: &str) -> Option<Self> {
        Self::all().into_iter().find(|(known, _)| *known == name).map(|(_, theme)| theme)
    }

    /// Every theme with its name, the default first.
    pub fn all() -> [(&'static str, Self); 2] {
        [("default", Self::COLOUR), ("mono", Self::MONO)]
    }
}

impl Default for Theme {
    fn default() -> Self {
        Self::COLOUR
    }
}
