//! What the screen is given at the start, and what it asks for.

use crate::Look;
use crate::keys::KeyMap;
use layout::{Harp, HarpKey, Way};
use practice::Drill;
use scoring::Tolerance;

/// Everything the screen has to know from the start.
#[derive(Clone, Debug)]
pub struct Setup {
    /// The harp in the player's hand.
    pub harp: Harp,
    /// What counts as centred and as in tune.
    pub tolerance: Tolerance,
    /// Theme and glyphs.
    pub look: Look,
    /// The keys in force.
    pub keys: KeyMap,
    /// The drills to choose from.
    pub drills: Vec<DrillEntry>,
    /// Numbers instead of moving marks, and at most four pictures a second.
    pub reduced_motion: bool,
}

/// A drill as the first screen offers it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrillEntry {
    /// The name by which it is started.
    pub name: String,
    /// Its title.
    pub title: String,
    /// What it is good for, a sentence or two.
    pub about: String,
    /// What to take care of, if that needs saying.
    pub caution: Option<String>,
    /// What it asks for.
    pub ways: Vec<Way>,
}

impl From<Drill> for DrillEntry {
    fn from(drill: Drill) -> Self {
        let ways = drill.items.iter().map(|item| item.target.way).collect();
        let Drill { name, title, about, caution, .. } = drill;
        Self { name, title, about, caution, ways }
    }
}

/// What the screen asks of the program around it.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// End the program.
    Quit,
    /// Put the program to sleep in the shell.
    Suspend,
    /// Load this drill for the harp of [`crate::App::harp`] and hand it to [`crate::App::begin`].
    StartDrill(String),
    /// Free playing has begun.
    Listen,
    /// The drill or the free playing is over; the first screen shows again.
    Home,
    /// The player took another harp.
    SetHarp(HarpKey),
    /// Let the built-in player play instead of the microphone.
    UsePlayer,
    /// Listen to the microphone again.
    UseMicrophone,
    /// The player took another tuning or temperament for the harp of [`crate::App::harp`].
    SetReeds,
    /// Sound a reference tone of this frequency, hertz.
    Hear(f64),
    /// Sound these one after the other; each is a set of frequencies that sound together, hertz.
    HearRun(Vec<Vec<f64>>),
}
