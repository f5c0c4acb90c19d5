//! What an ear is told before it starts to listen.

use std::fmt;
use std::ops::RangeInclusive;

/// Samples per second that can be listened to: the slowest still carry the harmonica's range.
const RATES: RangeInclusive<f64> = 8_000.0..=192_000.0;
/// Where fundamentals may be looked for, hertz. Below it two periods take longer than 33 ms, so that a note would be
/// known too late to be played to.
const FUNDAMENTALS_HZ: RangeInclusive<f64> = 60.0..=4_000.0;

/// How an ear listens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Samples per second, 8 000 to 192 000. Below 16 000 the top of the range shrinks to what the input can carry.
    pub sample_rate: f64,
    /// The lowest fundamental to look for, hertz.
    pub low_hz: f64,
    /// The highest fundamental to look for, hertz.
    pub high_hz: f64,
}

impl Settings {
    /// The whole range of the instrument, 80 to 3 800 Hz, at a sample rate in hertz.
    pub fn new(sample_rate: f64) -> Self {
        Self { sample_rate, low_hz: 80.0, high_hz: 3_800.0 }
    }

    /// Says what is wrong with them, if anything is. The range has to span a fifth, 3:2.
    pub(crate) fn check(&self) -> Result<(), SettingsError> {
        within("notes cannot be told at", self.sample_rate, "samples a second", RATES)?;
        within("notes cannot be looked for from", self.low_hz, "Hz", FUNDAMENTALS_HZ)?;
        let high = 1.5 * self.low_hz..=*FUNDAMENTALS_HZ.end();
        within("notes cannot be looked for up to", self.high_hz, "Hz", high)
    }
}

/// Settings that no ear can listen with, in words: what cannot be done, and what it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct SettingsError(String);

/// An error, begun with these words, unless a number lies within its range.
pub(crate) fn within(
    fails: &str,
    number: f64,
    unit: &str,
    range: RangeInclusive<f64>,
) -> Result<(), SettingsError> {
    if range.contains(&number) {
        return Ok(());
    }
    let (least, most) = range.into_inner();
    Err(SettingsError(format!("{fails} {number} {unit}; it takes {least} to {most}")))
}

impl fmt::Display for SettingsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for SettingsError {}
