//! Holes that are played at once.

use serde::{Serialize, Serializer};

/// A set of holes, which are counted from 1; at most sixteen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Holes(u16);

impl Holes {
    /// No hole.
    pub const NONE: Self = Self(0);

    /// The set with this hole added. A number outside 1 to 16 is left out.
    #[must_use]
    pub fn with(self, hole: u8) -> Self {
        Self(self.0 | Self::bit(hole))
    }

    /// Whether this hole is one of them.
    pub fn contains(self, hole: u8) -> bool {
        self.0 & Self::bit(hole) != 0
    }

    /// The lowest first.
    pub fn iter(self) -> impl DoubleEndedIterator<Item = u8> {
        (1..=16).filter(move |hole| self.contains(*hole))
    }

    /// How many there are.
    pub fn len(self) -> usize {
        self.0.count_ones() as usize
    }

    /// Whether there is none.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    fn bit(hole: u8) -> u16 {
        if (1..=16).contains(&hole) { 1 << (hole - 1) } else { 0 }
    }
}

impl FromIterator<u8> for Holes {
    fn from_iter<T: IntoIterator<Item = u8>>(holes: T) -> Self {
        holes.into_iter().fold(Self::NONE, Self::with)
    }
}

impl Serialize for Holes {
    /// As a list of numbers.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.iter())
    }
}
