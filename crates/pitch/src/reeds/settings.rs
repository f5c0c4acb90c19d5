//! How reeds are listened to, and what cannot be listened to.

use std::fmt;
use std::ops::RangeInclusive;

/// The most holes of a harp.
pub const MAX_HOLES: usize = 16;
/// Samples per second that can be listened to: the slowest is what the front makes of 24 kHz. Below, the harmonics that tell reeds apart
/// are missing.
const RATES: RangeInclusive<f64> = 12_000.0..=192_000.0;
/// Where the fundamentals of reeds may lie, hertz.
const REEDS_HZ: RangeInclusive<f64> = 50.0..=5_000.0;

/// How reeds are listened to.
#[derive(Clone, Debug, PartialEq)]
pub struct ReedSettings {
    /// Samples per second, 16 000 to 192 000.
    pub sample_rate: f64,
    /// The fundamentals of the blow and the draw reed of each hole, from hole 1 upwards, hertz; at most 16 holes.
    /// Empty if the harp is unknown; then the two strongest pitches are told.
    pub holes: Vec<[f64; 2]>,
}

/// Settings that no reeds can be told with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ReedSettingsError {
    /// The sample rate, hertz.
    SampleRate(f64),
    /// The fundamental of a reed, hertz.
    Reed(f64),
    /// The number of holes.
    Holes(usize),
}

impl ReedSettings {
    /// Whether these can be listened with.
    pub(super) fn check(&self) -> Result<(), ReedSettingsError> {
        if !RATES.contains(&self.sample_rate) {
            return Err(ReedSettingsError::SampleRate(self.sample_rate));
        }
        if self.holes.len() > MAX_HOLES {
            return Err(ReedSettingsError::Holes(self.holes.len()));
        }
        match self.holes.iter().flatten().find(|hz| !REEDS_HZ.contains(*hz)) {
            Some(hz) => Err(ReedSettingsError::Reed(*hz)),
            None => Ok(()),
        }
    }
}

impl fmt::Display for ReedSettingsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "reeds that sound together cannot be told ")?;
        match self {
            Self::SampleRate(rate) => {
                write!(f, "at {rate} samples a second; it takes {} to {}", RATES.start(), RATES.end())
            }
            Self::Reed(hz) => {
                let (low, high) = (REEDS_HZ.start(), REEDS_HZ.end());
                write!(f, "on a harp with a reed at {hz:.0} Hz; it takes {low} to {high} Hz")
            }
            Self::Holes(holes) => write!(f, "on a harp with {holes} holes; it takes at most {MAX_HOLES}"),
        }
    }
}

impl std::error::Error for ReedSettingsError {}
