//! What the screen is given at the start, and what it asks for.

use crate::keys::KeyMap;
use crate::mapping::Library;
use crate::{Look, View};
use course::Day;
use layout::{Harp, HarpKey, Tuning};
use practice::{Drill, Order};
use theory::{Ability, Position, ScaleInKey};

/// Everything the screen has to know from the start.
#[derive(Clone, Debug)]
pub struct Setup {
    /// Theme and glyphs.
    pub look: Look,
    /// The keys in force.
    pub keys: KeyMap,
    /// The drills to choose from, whether this harp can play them or not.
    pub drills: Vec<Drill>,
    /// What the map can choose from.
    pub library: Library,
    /// The view in which the program begins: the way back from there is the way out.
    pub first: View,
    /// Numbers instead of moving marks, and at most four pictures a second.
    pub reduced_motion: bool,
    /// The player's day.
    pub today: Day,
    /// How long there is for today's practice, minutes.
    pub minutes: u32,
}

/// What the screen asks of the program around it.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// End the program.
    Quit,
    /// Put the program to sleep in the shell.
    Suspend,
    /// Hand this to the exercise, and what it says back to [`crate::App::on_event`].
    Order(Order),
    /// Load this drill for the harp of the exercise and begin it.
    StartDrill(String),
    /// The player took another harp: of another key, and of another tuning only where the player owns such a harp. The
    /// settings may know the offsets of its reeds.
    TakeHarp(HarpKey, Tuning),
    /// The player took another harp in the middle of a drill; this drill begins on the new harp.
    BeginAnew(HarpKey, Tuning, Box<Drill>),
    /// The player took other reeds for the harp of the same key: another tuning or temperament.
    SetReeds(Box<Harp>),
    /// Write the sheet of what the map shows for the harp of the exercise: the position, the scale on its tonic, what
    /// the player is taken to command. Where the sheet is, or why it is not, is said as [`crate::Notice::Say`].
    WriteSheet(Position, Box<ScaleInKey>, Box<Ability>),
    /// Keep this remark with what was practised last.
    Remark(String),
    /// The harp goes to the player of this name: what is practised from now on is his. The exercise is at rest.
    HandOver(String),
    /// Let the built-in player play instead of the microphone.
    UsePlayer,
    /// Listen to the microphone again.
    UseMicrophone,
    /// Sound a reference tone of this frequency, hertz.
    Hear(f64),
    /// Sound these one after the other; each is a set of frequencies that sound together, hertz.
    HearRun(Vec<Vec<f64>>),
}
