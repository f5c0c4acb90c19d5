//! What is played when.

use super::Rhythm;
use layout::{Harp, Way};
use scoring::timed::AskedNote;
use serde::Serialize;
use std::fmt;

/// The most bars of one run: longer ones are practised in parts.
const MOST_BARS: usize = 64;
/// The most notes of one run.
const MOST_NOTES: usize = 1024;

/// A note of a run, in ticks from the first beat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct TimedNote {
    pub(super) start: u32,
    pub(super) length: u32,
    /// How it is played.
    pub way: Way,
}

/// Notes on a clock.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Material {
    /// What it is: "G blues, up and down".
    pub title: String,
    /// The rhythm it is written in; the tempo may change from run to run.
    pub rhythm: Rhythm,
    notes: Vec<TimedNote>,
}

/// Why notes are no run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MaterialError {
    /// There are none: nothing of the scale is within the player's ability, or within the range.
    Nothing,
    /// More bars than fit, and how many fit.
    TooLong(usize, usize),
}

impl fmt::Display for MaterialError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => f.write_str(
                "nothing of it lies within your ability and the range; --able or --range changes that",
            ),
            Self::TooLong(bars, most) => {
                write!(f, "{bars} bars are more than the {most} of one run; practise it in parts")
            }
        }
    }
}

impl std::error::Error for MaterialError {}

impl Material {
    /// Ways one after the other in the rhythm's notes; the last one is held to the end of its bar.
    ///
    /// # Errors
    /// If there are none, or more than fit in a run.
    pub fn of_ways(title: String, ways: &[Way], rhythm: Rhythm) -> Result<Self, MaterialError> {
        let (each, bar) = (rhythm.value.ticks(), rhythm.metre.bar());
        let count = u32::try_from(ways.len()).unwrap_or(u32::MAX);
        let bars = (u64::from(count) * u64::from(each)).div_ceil(u64::from(bar)) as usize;
        if ways.is_empty() {
            return Err(MaterialError::Nothing);
        }
        if bars > MOST_BARS || ways.len() > MOST_NOTES {
            return Err(MaterialError::TooLong(bars, MOST_BARS));
        }
        let mut notes: Vec<TimedNote> =
            (0..).zip(ways).map(|(i, way)| TimedNote { start: i * each, length: each, way: *way }).collect();
        if let Some(last) = notes.last_mut() {
            let end = (last.start + last.length).div_ceil(bar) * bar;
            last.length = end - last.start;
        }
        Ok(Self { title, rhythm, notes })
    }

    /// The notes, the first one first.
    pub fn notes(&self) -> &[TimedNote] {
        &self.notes
    }

    /// How many bars it has.
    pub fn bars(&self) -> usize {
        let end = self.notes.iter().map(|note| note.start + note.length).max().unwrap_or(0);
        end.div_ceil(self.rhythm.metre.bar()) as usize
    }

    /// Seconds from the first beat to the end of the last bar.
    pub fn seconds(&self) -> f64 {
        self.bars() as f64 * self.rhythm.bar_s()
    }

    /// The same at another tempo.
    #[must_use]
    pub fn at(self, tempo: super::Tempo) -> Self {
        Self { rhythm: self.rhythm.at(tempo), ..self }
    }

    /// Only some bars of it, counted from 0, so that they begin at once.
    ///
    /// # Errors
    /// If there is no note in them.
    pub fn only_bars(&self, bars: std::ops::Range<usize>) -> Result<Self, MaterialError> {
        let bar = self.rhythm.metre.bar();
        let within = |note: &&TimedNote| bars.contains(&((note.start / bar) as usize));
        let from = bars.start as u32 * bar;
        let notes: Vec<TimedNote> = self
            .notes
            .iter()
            .filter(within)
            .map(|note| TimedNote { start: note.start - from, ..*note })
            .collect();
        if notes.is_empty() { Err(MaterialError::Nothing) } else { Ok(Self { notes, ..self.clone() }) }
    }

    /// The notes in seconds, as this harp sounds them; what it cannot play is left out.
    pub fn asked(&self, harp: &Harp) -> Vec<AskedNote> {
        let bar = self.rhythm.metre.bar();
        let asked = |note: &TimedNote| {
            let onset_s = self.rhythm.seconds(note.start);
            Some(AskedNote {
                way: note.way,
                note: harp.note(note.way)?,
                onset_s,
                length_s: self.rhythm.seconds(note.start + note.length) - onset_s,
                bar: (note.start / bar) as usize,
            })
        };
        self.notes.iter().filter_map(asked).collect()
    }
}
