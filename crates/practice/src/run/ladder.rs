//! How the tempo moves from run to run.

use super::RhythmError;
use super::Tempo;
use serde::Serialize;
use std::str::FromStr;

/// Of the last runs at a tempo this many are looked at: the tempo is clean when …
const OF_RUNS: usize = 3;
/// … at least this many of them were clean.
const CLEAN_RUNS: usize = 2;
/// After so many runs in a row that were not clean it is time for a pause.
const TIRED: usize = 4;

/// The slow tempo that takes turns with the full one, as a share of it. Common practice, no source.
const SLOW: f64 = 0.6;

/// How the tempo moves from run to run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Tempi {
    /// Not at all.
    #[default]
    Same,
    /// Up after clean runs, down after others.
    Steps,
    /// Slow and full tempo in turn, the slow one first; the full one moves by steps. A summary of studies found this
    /// better than steps alone (Henley, JRME 49, 2001; from a secondary source).
    InTurn,
}

impl Tempi {
    /// The tempo of a run, counted from 1, if the full tempo is `full`.
    pub(super) fn of_run(self, number: u32, full: Tempo) -> Tempo {
        let slow = self == Self::InTurn && number % 2 == 1;
        if slow { full.plus(-(1.0 - SLOW) * full.bpm()).whole() } else { full }
    }
}

impl FromStr for Tempi {
    type Err = RhythmError;

    fn from_str(text: &str) -> Result<Self, RhythmError> {
        match text.trim() {
            "steps" => Ok(Self::Steps),
            "in-turn" => Ok(Self::InTurn),
            other => Err(RhythmError(format!("there is no ladder {other:?}; there are: steps, in-turn"))),
        }
    }
}

/// The tempi of one practice of one run, and which of them are clean.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Ladder {
    runs: Vec<(f64, bool)>,
}

impl Ladder {
    /// A step after a clean run, beats a minute: small steps above the fastest accurate tempo strain less (Arthur, Khuu
    /// & Blom, Australian Journal of Music Education 50(2):71–82, 2016); four is common practice, no source.
    pub const STEP_BPM: f64 = 4.0;

    /// Notes a run.
    pub fn note(&mut self, tempo: Tempo, clean: bool) {
        self.runs.push((tempo.bpm(), clean));
    }

    /// The tempo of the next run: a step up after two clean runs of the last three at this tempo, a step down after two
    /// that were not, the same otherwise.
    pub fn next(&self, tempo: Tempo) -> Tempo {
        let at: Vec<bool> = self.at(tempo.bpm());
        let clean = at.iter().filter(|clean| **clean).count();
        if clean >= CLEAN_RUNS {
            tempo.plus(Self::STEP_BPM)
        } else if at.len() - clean >= CLEAN_RUNS {
            tempo.plus(-Self::STEP_BPM)
        } else {
            tempo
        }
    }

    /// The fastest tempo at which two runs of three were clean, beats a minute.
    pub fn clean_bpm(&self) -> Option<f64> {
        let is_clean = |bpm: &f64| self.at(*bpm).iter().filter(|clean| **clean).count() >= CLEAN_RUNS;
        self.runs.iter().map(|(bpm, _)| *bpm).filter(is_clean).max_by(f64::total_cmp)
    }

    /// Whether the runs get worse: a pause would do more than another run.
    pub fn is_tired(&self) -> bool {
        let last = self.runs.iter().rev().take(TIRED);
        last.clone().count() == TIRED
            && last.clone().all(|(_, clean)| !clean)
            && self.runs.iter().any(|(_, c)| *c)
    }

    /// The last runs in a row at this tempo.
    fn at(&self, bpm: f64) -> Vec<bool> {
        let same = self.runs.iter().rev().filter(|(other, _)| (other - bpm).abs() < 0.05);
        same.take(OF_RUNS).map(|(_, clean)| *clean).collect()
    }
}
