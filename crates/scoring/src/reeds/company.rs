//! Whether a single note stayed alone.

use super::shares::{Is, Shares, all};
use layout::Way;
use pitch::reeds::Sounding;
use serde::Serialize;
use std::collections::VecDeque;

/// Left out at the beginning and at the end of a note, seconds: a short leak while the breath begins or ends does not
/// count.
const EDGE_S: f64 = 0.1;
/// Fewer readings than this say nothing: a sixth of a second of them.
const LEAST_READINGS: f64 = 16.0;
/// Readings are kept for this long, seconds: a note is held for 20 s at most.
const KEPT_S: f64 = 24.0;

/// What sounded beside a note that was to be clean.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Clean {
    /// Nothing.
    Alone,
    /// This hole, on the same breath, by so many decibels below the note.
    Leaked(u8, f64),
    /// The readings do not agree, or are too few.
    CannotTell,
}

impl Clean {
    /// What can be told if the program's own sound may have hidden the player during the note: a leak may be part of
    /// that sound.
    #[must_use]
    pub fn hidden(self) -> Self {
        if matches!(self, Self::Leaked(..)) { Self::CannotTell } else { self }
    }

    /// In a word: `clean`, `leaked in`, `cannot tell`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Alone => "clean",
            Self::Leaked(..) => "leaked in",
            Self::CannotTell => "cannot tell",
        }
    }
}

/// Keeps what the ear for reeds told lately, for the note that is judged next.
#[derive(Clone, Debug)]
pub struct Company {
    sample_rate: f64,
    recent: VecDeque<Sounding>,
}

impl Company {
    /// Nothing has been heard yet; times are samples at this rate.
    pub fn new(sample_rate: f64) -> Self {
        Self { sample_rate, recent: VecDeque::new() }
    }

    /// Takes a reading.
    pub fn hear(&mut self, sounding: &Sounding) {
        let kept = (KEPT_S * self.sample_rate) as u64;
        while self.recent.front().is_some_and(|old| old.time + kept < sounding.time) {
            self.recent.pop_front();
        }
        self.recent.push_back(*sounding);
    }

    /// What sounded beside a note of this way that was heard between two sample times.
    pub fn of(&self, way: Way, (began, ended): (u64, u64)) -> Clean {
        let edge = (EDGE_S * self.sample_rate) as u64;
        let middle = began + edge..ended.saturating_sub(edge);
        let shares = Shares::of(self.recent.iter().filter(|heard| middle.contains(&heard.time)));
        if shares.readings() < LEAST_READINGS || shares.reed(way.breath, way.hole) != Is::Sounding {
            return Clean::CannotTell;
        }
        let others = || all().filter(|hole| *hole != way.hole);
        let below = |hole: u8| shares.below_db(way.breath, hole) - shares.below_db(way.breath, way.hole);
        let loudest = others()
            .filter(|hole| shares.leak(way.breath, *hole) == Is::Sounding)
            .min_by(|a, b| below(*a).total_cmp(&below(*b)));
        match loudest {
            Some(hole) => Clean::Leaked(hole, below(hole)),
            None if others().any(|hole| shares.leak(way.breath, hole) == Is::Unsure) => Clean::CannotTell,
            None => Clean::Alone,
        }
    }
}
