//! Which channel of a source is listened to.

use crate::SoundError;
use std::fmt;
use std::str::FromStr;

/// The player's choice for a source with several channels.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Channel {
    /// The loudest of the last second. An average would halve a microphone beside a silent channel and could cancel a
    /// pair that is out of phase.
    #[default]
    Auto,
    /// The average of all.
    Mix,
    /// One of them, counted from 1.
    Only(u16),
}

impl Channel {
    /// The first channel.
    pub const LEFT: Self = Self::Only(1);
    /// The second channel, or the only one of a source that has no second.
    pub const RIGHT: Self = Self::Only(2);
}

impl FromStr for Channel {
    type Err = SoundError;

    /// Reads `auto`, `left`, `right`, `mix` or a number counted from 1.
    fn from_str(text: &str) -> Result<Self, SoundError> {
        let bad = || SoundError::BadChannel(text.to_owned());
        match text.trim().to_ascii_lowercase().as_str() {
            "auto" => Ok(Self::Auto),
            "left" => Ok(Self::LEFT),
            "right" => Ok(Self::RIGHT),
            "mix" => Ok(Self::Mix),
            number => match number.parse() {
                Ok(n) if n > 0 => Ok(Self::Only(n)),
                _ => Err(bad()),
            },
        }
    }
}

impl fmt::Display for Channel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Auto => f.write_str("auto"),
            Self::Mix => f.write_str("mix"),
            Self::LEFT => f.write_str("left"),
            Self::RIGHT => f.write_str("right"),
            Self::Only(n) => write!(f, "{n}"),
        }
    }
}
