//! Notes in time.

use crate::error::brought_within;
use crate::gesture::Gesture;
use crate::random::{bell, generator};
use layout::Way;

/// How a line of notes is played: tempo, and how well it is kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Phrase {
    beat_s: f64,
    late_s: f64,
    scatter_s: f64,
    sounding: f64,
    seed: u64,
}

impl Phrase {
    /// A phrase at `bpm` beats a minute (10 to 400, brought into that range), perfectly in time, each note
    /// sounding for nine tenths of its length.
    pub fn new(bpm: f64) -> Self {
        Self {
            beat_s: 60.0 / brought_within(bpm, 10.0, 400.0),
            late_s: 0.0,
            scatter_s: 0.0,
            sounding: 0.9,
            seed: 0,
        }
    }

    /// Every note comes late by this much, seconds; early if negative.
    #[must_use]
    pub fn late(self, late_s: f64) -> Self {
        Self { late_s, ..self }
    }

    /// On top of that the starts scatter with this standard deviation, seconds.
    #[must_use]
    pub fn scatter(self, scatter_s: f64, seed: u64) -> Self {
        Self { scatter_s, seed, ..self }
    }

    /// The share of its length for which a note sounds, 0.1 to 1 (brought into that range).
    #[must_use]
    pub fn sounding(self, share: f64) -> Self {
        Self { sounding: brought_within(share, 0.1, 1.0), ..self }
    }

    /// The gestures for ways and their lengths in beats; `None` is a rest. Nothing sounds before the first
    /// note's time: the first gesture has no rest of its own.
    ///
    /// The gestures are plain notes in tune; add what else they should do, but leave `rest`, `seconds`,
    /// `release` and `late` alone if the time is to be kept. A slide takes its time on top, so take it off
    /// `seconds`.
    pub fn gestures(&self, notes: &[(Option<Way>, f64)]) -> Vec<Gesture> {
        let mut random = generator(self.seed, 0x7068_7261);
        let mut rest_s = 0.0;
        let mut gestures = Vec::with_capacity(notes.len());
        for (way, beats) in notes {
            let length_s = beats * self.beat_s;
            let Some(way) = way else {
                rest_s += length_s;
                continue;
            };
            let sounding_s = length_s * self.sounding;
            let release_s = (0.2 * sounding_s).clamp(0.001, 0.025);
            let late_s = self.late_s + self.scatter_s * bell(&mut random);
            let note = Gesture::new(*way).rest(rest_s).release(release_s);
            gestures.push(note.seconds(sounding_s - release_s).late(late_s));
            rest_s = length_s - sounding_s;
        }
        gestures
    }
}
