//! Ways to play: hole, breath, technique.

use serde::{Deserialize, Serialize};

/// Direction of the breath.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Breath {
    /// Breathing out, into the harp.
    Blow,
    /// Breathing in, through the harp.
    Draw,
}

/// What the mouth does besides breathing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Technique {
    /// The reed as it is.
    Natural,
    /// The higher reed of the hole pulled down by this many semitones, at least 1.
    Bend(u8),
    /// The other reed sounding as an opening reed: an overblow when blown, an overdraw when drawn.
    Overbend,
}

/// One way to make a pitch. Ways sort by hole, then breath, then technique; the order says nothing about difficulty.
/// Printed with `{}` it is said in words, such as "half step on 3 draw".
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Way {
    /// Hole number, counted from 1 at the low end.
    pub hole: u8,
    /// Breath that makes it sound.
    pub breath: Breath,
    /// Technique it asks for.
    pub technique: Technique,
}

impl Breath {
    /// The other breath.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Blow => Self::Draw,
            Self::Draw => Self::Blow,
        }
    }

    /// `blow` or `draw`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Blow => "blow",
            Self::Draw => "draw",
        }
    }
}

impl Way {
    /// A way from its three parts. Whether a harp can do it, [`crate::Harp::play`] says.
    pub fn new(hole: u8, breath: Breath, technique: Technique) -> Self {
        Self { hole, breath, technique }
    }

    /// The same hole and breath without technique: the note the player slides in from.
    #[must_use]
    pub fn natural(self) -> Self {
        Self { technique: Technique::Natural, ..self }
    }
}
