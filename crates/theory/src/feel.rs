//! The feel of a song: which chord its home has.

use serde::Serialize;
use std::fmt;
use std::str::FromStr;

/// The feel of a song, told by the chord on its tonic.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Feel {
    /// A major chord, with a major seventh if any: folk tunes, hymns, ballads.
    Major,
    /// A major third and a minor seventh: blues, rock, funk.
    Dominant,
    /// A minor chord.
    Minor,
}

/// A text that names no feel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FeelError(pub String);

impl Feel {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Major, Self::Dominant, Self::Minor];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Major => "major",
            Self::Dominant => "dominant",
            Self::Minor => "minor",
        }
    }
}

impl fmt::Display for Feel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Feel {
    type Err = FeelError;

    /// Reads a name in any case.
    fn from_str(text: &str) -> Result<Self, FeelError> {
        let wanted = text.trim().to_lowercase();
        Self::ALL.into_iter().find(|feel| feel.name() == wanted).ok_or_else(|| FeelError(text.to_owned()))
    }
}

impl fmt::Display for FeelError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} is no feel; write major, dominant or minor", self.0)
    }
}

impl std::error::Error for FeelError {}
