//! What an ear is told before it starts to listen.

use std::fmt;

/// The slowest input that still carries the harmonica's range, hertz.
const SLOWEST_RATE: f64 = 8_000.0;
/// The fastest input the ear takes, hertz.
const FASTEST_RATE: f64 = 192_000.0;
/// Below this two periods take longer than 33 ms, so that a note would be known too late to be played to, hertz.
const LOWEST_HZ: f64 = 60.0;

/// How an ear listens.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Samples per second, 8 000 to 192 000. Below 16 000 the top of the range shrinks to what the input can carry.
    pub sample_rate: f64,
    /// The lowest fundamental to look for, hertz.
    pub low_hz: f64,
    /// The highest fundamental to look for, hertz.
    pub high_hz: f64,
    /// The fundamentals that the harp can sound (reeds and bends), hertz; empty if unknown. A pitch near none
    /// of them is taken for one an octave away if there is one; otherwise they move no pitch.
    pub harp: Vec<f64>,
}

impl Settings {
    /// The whole range of the instrument, 80 to 3 800 Hz, at a sample rate in hertz and with no harp known.
    pub fn new(sample_rate: f64) -> Self {
        Self { sample_rate, low_hz: 80.0, high_hz: 3_800.0, harp: Vec::new() }
    }

    /// The same for a harp with these fundamentals, hertz.
    #[must_use]
    pub fn with_harp(self, harp: Vec<f64>) -> Self {
        Self { harp, ..self }
    }

    /// Says what is wrong with them, if anything is.
    pub(crate) fn check(&self) -> Result<(), SettingsError> {
        if !(SLOWEST_RATE..=FASTEST_RATE).contains(&self.sample_rate) {
            return Err(SettingsError::SampleRate(self.sample_rate));
        }
        let range_fits =
            self.low_hz >= LOWEST_HZ && self.high_hz <= 4_000.0 && self.low_hz * 1.5 <= self.high_hz;
        if !range_fits {
            return Err(SettingsError::Range(self.low_hz, self.high_hz));
        }
        match self.harp.iter().find(|hz| !(hz.is_finite() && **hz > 0.0)) {
            Some(hz) => Err(SettingsError::Harp(*hz)),
            None => Ok(()),
        }
    }
}

/// Settings that no ear can listen with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SettingsError {
    /// The sample rate, hertz.
    SampleRate(f64),
    /// The lowest and the highest fundamental, hertz.
    Range(f64, f64),
    /// A fundamental of the harp, hertz.
    Harp(f64),
}

impl fmt::Display for SettingsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SampleRate(rate) => {
                write!(
                    f,
                    "a sample rate of {rate} Hz cannot be listened to: it must lie between 8000 and 192000 Hz"
                )
            }
            Self::Range(low, high) => write!(
                f,
                "a range of {low} to {high} Hz cannot be listened to: it must lie within 60 to 4000 Hz and span a fifth"
            ),
            Self::Harp(hz) => {
                write!(f, "a harp cannot sound {hz} Hz: its fundamentals must be positive numbers")
            }
        }
    }
}

impl std::error::Error for SettingsError {}
