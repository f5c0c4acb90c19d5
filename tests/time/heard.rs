//! What a run hears of a take.

use crate::figures::Truth;
use layout::Harp;
use pitch::{Ear, Settings};
use scoring::timed::{Divided, Notes, PlayedAt};

/// Samples per second.
pub(crate) const RATE: f64 = 48_000.0;

/// What a run counts as a note, seconds: as `practice::run` has it.
const COUNTS_S: f64 = 0.06;

/// What was heard of a take: the ear as the program sets it up, its readings divided as a run divides them.
pub(crate) fn heard(harp: &Harp, samples: &[f32]) -> Vec<Truth> {
    let mut ear = Ear::new(Settings::new(RATE)).unwrap();
    let mut notes = Notes::new(RATE, COUNTS_S);
    let mut divided: Vec<Divided> = Vec::new();
    ear.push(samples, |reading| divided.extend(notes.hear(harp.concert(), &reading)));
    divided.extend(notes.end());
    let heard = divided.iter().filter_map(|note| {
        let played = PlayedAt::new(note, 0.0, RATE);
        let hz = played.held.map(|(hz, _)| hz).or(note.median_hz())?;
        Some(Truth { onset_s: played.onset_s, ended_s: played.ended_s, hz })
    });
    heard.collect()
}
