//! Tab: ways written as text, with marks of the player's choice.

mod error;
mod marks;
mod read;

pub use error::{NotTab, TabError, TabFault};
pub use marks::{MarksError, TabMarks, TabStyle};

use crate::Way;

/// What is played at one moment of a tab line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TabStep {
    /// One way.
    One(Way),
    /// Several holes together on one breath, written in brackets: `(4 5 6)`.
    Together(Vec<Way>),
}

impl TabStep {
    /// The ways of this step, one or more.
    pub fn ways(&self) -> &[Way] {
        match self {
            Self::One(way) => std::slice::from_ref(way),
            Self::Together(ways) => ways,
        }
    }
}
