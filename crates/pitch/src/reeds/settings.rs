//! How reeds are listened to, and what cannot be listened to.

use crate::settings::{SettingsError, within};
use std::ops::RangeInclusive;

/// The most holes of a harp.
pub const MAX_HOLES: usize = 16;
/// Samples per second that can be listened to: the slowest is what the front makes of 24 kHz. Below, the harmonics that
/// tell reeds apart are missing.
const RATES: RangeInclusive<f64> = 12_000.0..=192_000.0;
/// Where the fundamentals of reeds may lie, hertz.
const REEDS_HZ: RangeInclusive<f64> = 50.0..=5_000.0;

/// How reeds are listened to.
#[derive(Clone, Debug, PartialEq)]
pub struct ReedSettings {
    /// Samples per second, 12 000 to 192 000.
    pub sample_rate: f64,
    /// The fundamentals of the blow and the draw reed of each hole, from hole 1 upwards, hertz; at most 16 holes.
    /// Empty if the harp is unknown; then the two strongest pitches are told.
    pub holes: Vec<[f64; 2]>,
}

impl ReedSettings {
    /// Says what is wrong with them, if anything is.
    pub(super) fn check(&self) -> Result<(), SettingsError> {
        within("chords cannot be told at", self.sample_rate, "samples a second", RATES)?;
        let holes = self.holes.len() as f64;
        within("chords cannot be told on a harp of", holes, "holes", 0.0..=MAX_HOLES as f64)?;
        let reed = |hz: &f64| within("chords cannot be told on a harp with a reed at", *hz, "Hz", REEDS_HZ);
        self.holes.iter().flatten().try_for_each(reed)
    }
}
