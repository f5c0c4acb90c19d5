//! What is to be practised in time, and where that stands.

use super::{Clicked, Clicking, Material, MaterialError, Over, Tempi};
use serde::Serialize;
use std::ops::Range;

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
    /// The first run is in free time, and the runs after it take over the tempo in which it was played.
    pub own_tempo_first: bool,
    /// What is clicked.
    pub clicking: Clicking,
    /// The band that belongs to it, whether it sounds or not; none where nobody knows over which chords it goes.
    pub over: Option<Over>,
    /// Seconds from a beat that sounds until the microphone hands in what was played on it; `None` where that was never
    /// measured.
    pub delay_s: Option<f64>,
}

impl Plan {
    /// The band, if it sounds. The band plays by the clock, so there is none in free time.
    pub fn band(&self) -> Option<&Over> {
        self.over.as_ref().filter(|over| over.sounds && self.start != StartAt::FreeTime)
    }

    /// The same with its band or without it. The kit of the band is the beat: nothing is clicked to it but the
    /// count-in.
    #[must_use]
    pub fn with_band(self, sounds: bool) -> Self {
        let what = if sounds { Clicked::CountIn } else { Clicked::Beats };
        let over = self.over.map(|over| Over { sounds, ..over });
        Self { over, clicking: Clicking { what, silent_bars: 0 }, ..self }
    }

    /// The chords of a bar, counted from 0, with what each does in the key: those of the band, or those that the notes
    /// were made from.
    pub fn chords_of_bar(&self, bar: usize) -> Vec<(&str, &str)> {
        if let Some(over) = self.band() {
            return over.chords(bar).iter().map(|chord| (&chord.symbol[..], &chord.numeral[..])).collect();
        }
        let own = self.material.chords_of_bar(bar);
        own.map(|chord| (&chord.symbol[..], &chord.numeral[..])).collect()
    }

    /// Only some bars of it, counted from 0, over the chords that they have in the whole.
    ///
    /// # Errors
    /// If there is no note in them.
    pub fn only_bars(&self, bars: Range<usize>) -> Result<Self, MaterialError> {
        let over = self.over.clone().map(|over| Over { from_bar: over.from_bar + bars.start, ..over });
        Ok(Self { material: self.material.only_bars(bars)?, over, ..self.clone() })
    }
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
