//! Drills: what to play, in order.

use crate::DrillId;
use crate::read::read;
use layout::Harp;
use scoring::Target;
use serde::Serialize;

/// One line of a drill: what to play and how often.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Item {
    /// What to play.
    pub target: Target,
    /// How many tries it gets.
    pub tries: u32,
}

/// A drill, checked against the harp it is for.
#[derive(Clone, Debug, PartialEq, Serialize)]
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

/// A drill file with a mistake: line, column, what is wrong, what is allowed.
pub type DrillError = layout::FileError;

impl Drill {
    /// Which drill it is.
    pub fn id(&self) -> DrillId {
        DrillId { name: self.name.clone(), title: self.title.clone() }
    }

    /// Reads a drill as a player writes it, in TOML:
    ///
    /// ```toml
    /// title = "First half steps"     # needed
    /// about = "What it is good for"  # the rest of this block may be left out
    /// caution = "What to take care of"
    /// hold = 2.0                     # seconds, 0.3 to 20, for every item that says nothing else
    /// tries = 1                      # 1 to 20, likewise
    ///
    /// [[item]]                       # one such block for everything that is to be played
    /// play = "-4'"                   # tab, needed
    /// hold = 1.5
    /// tries = 2
    /// cents = 0                      # wanted offset from where it is in tune, −50 to 50
    /// ```
    ///
    /// Tab is written with the usual signs ([`layout::TabStyle::default`]): `4` blow, `-4` draw, an apostrophe for
    /// every half step of bend, `o` for an overblow or overdraw.
    ///
    /// # Errors
    /// If the text is no TOML, has an unknown key or a value out of range, or asks for something that `harp` cannot
    /// play: the first such mistake.
    pub fn parse(name: &str, text: &str, harp: &Harp) -> Result<Self, DrillError> {
        read(name, text, harp)
    }
}
