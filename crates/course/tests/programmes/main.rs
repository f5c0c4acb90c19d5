//! Programmes: how they are read, where a player stands in them, and those that come with the program.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod reading;
mod shipped;
mod standing;

use course::{Known, Programme};
use layout::{FileError, Tunings};
use practice::Drill;
use practice::run::Phrase;
use theory::Scales;

/// What comes with the program.
struct Ours {
    drills: Vec<Drill>,
    phrases: Vec<Phrase>,
    scales: Scales,
    tunings: Tunings,
}

impl Ours {
    fn all() -> Self {
        let drill = |(name, text): &(&str, &str)| Drill::read(name, text).unwrap();
        let phrase = |(name, text): &(&str, &str)| Phrase::read(name, text).unwrap();
        Self {
            drills: practice::built_in().iter().map(drill).collect(),
            phrases: practice::built_in_phrases().iter().map(phrase).collect(),
            scales: Scales::ours(),
            tunings: Tunings::ours(),
        }
    }

    fn parse(&self, text: &str) -> Result<Programme, FileError> {
        let Self { drills, phrases, scales, tunings } = self;
        Programme::parse("mine", text, &Known { drills, phrases, scales, tunings })
    }
}
