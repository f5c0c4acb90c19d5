//! Drills as a player writes them: TOML.

use scoring::Target;

/// One line of a drill: what to play and how often.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Item {
    /// What to play.
    pub target: Target,
    /// How many tries it gets.
    pub tries: u32,
}

/// A drill, checked against the harp it is for.
#[derive(Clone, Debug, PartialEq)]
pub struct Drill {
    /// Short name, as given on the command line.
    pub name: String,
    /// Title for the screen.
    pub title: String,
    /// What it is good for, a sentence or two.
    pub about: String,
    /// What to take care of (breath, reeds), if the drill needs it said.
    pub caution: Option<String>,
    /// Its items, in order.
    pub items: Vec<Item>,
}

/// A drill file with a mistake: where, what is wrong, what is allowed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrillError {
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    /// What is wrong and what is allowed, one sentence each.
    pub message: String,
}
