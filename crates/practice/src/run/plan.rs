//! What is to be practised in time, and where that stands.

use super::{Clicking, Material, Tempi};
use serde::Serialize;

/// What decides where the first beat is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StartAt {
    /// The clock: a count-in, and then the first beat.
    CountIn,
    /// The player: the first note that is heard is the first beat.
    FirstNote,
    /// The player, in a tempo of his own: nothing is judged in time, and the tempo is told.
    FreeTime,
    /// A moment of a recording: the first beat is this many seconds from its beginning.
    At(f64),
}

/// What is to be practised in time.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// What is played when.
    pub material: Material,
    /// Where it begins.
    pub start: StartAt,
    /// How many runs there are.
    pub runs: u32,
    /// How the tempo moves from run to run.
    pub tempi: Tempi,
    /// The first run is in free time, and the tempo in which it is played is that of the runs behind it.
    pub own_tempo_first: bool,
    /// What is clicked.
    pub clicking: Clicking,
    /// Seconds from a beat that sounds until the microphone hands in what was played on it; `None` where that was never
    /// measured.
    pub delay_s: Option<f64>,
}

/// Where it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RunPhase {
    /// What is to be played is played to the player; nothing is judged.
    Model,
    /// It waits for the first note.
    Waiting,
    /// It counts in.
    CountIn,
    /// It goes.
    Playing,
    /// The verdict of the last run is shown, and the next one comes by itself.
    Shown,
    /// The verdict of the last run is held by the player, and the next one waits.
    Held,
    /// Paused by the player.
    Paused,
    /// All runs are over.
    Done,
    /// The player left before that.
    Left,
}
