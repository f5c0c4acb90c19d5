//! What can be wrong with tab.

use crate::CannotPlay;
use std::fmt;

/// A mistake in a line of tab.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TabError {
    /// Column of the mistake in characters, counted from 1.
    pub column: usize,
    /// The piece of tab it is in, as written.
    pub text: String,
    /// What is wrong.
    pub fault: TabFault,
}

/// Whether the text is no tab at all, or tab that this harp cannot play.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TabFault {
    /// It cannot be read.
    NotTab(NotTab),
    /// It can be read, but the harp cannot do it.
    Cannot(CannotPlay),
}

/// Why a text is no tab.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotTab {
    /// Nothing there.
    Empty,
    /// No hole number where one belongs.
    NoHole,
    /// A hole number beyond any harp.
    HugeHole,
    /// The breath's mark is missing.
    NoBreath {
        /// Mark of the blow.
        blow: String,
        /// Mark of the draw.
        draw: String,
        /// Whether the mark belongs after the hole number.
        after: bool,
    },
    /// A sign with no meaning here, and the signs that have one.
    UnknownSign(char, String),
    /// An overbend is marked as bent too, or overbent twice.
    Mixed,
    /// A bracket that is never closed, or closed before it opens.
    Bracket,
    /// Brackets with fewer than two holes.
    Alone,
    /// Brackets with holes of both breaths.
    BothBreaths,
    /// The same hole twice in one pair of brackets.
    Twice(u8),
    /// More than one way where one is asked for.
    Several,
}

impl TabError {
    /// What is wrong, without the column: for a place where columns would mislead, such as a string inside a file.
    pub fn reason(&self) -> String {
        match &self.fault {
            TabFault::NotTab(NotTab::Empty) => NotTab::Empty.to_string(),
            TabFault::NotTab(why) => format!("{:?} is not tab: {why}", self.text),
            TabFault::Cannot(why) => format!("this harp cannot play {}: {why}", self.text),
        }
    }
}

impl fmt::Display for TabError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "column {}: {}", self.column, self.reason())
    }
}

impl fmt::Display for NotTab {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => f.write_str("there is no tab here; write a hole number with its signs"),
            Self::NoHole => f.write_str("a hole number is missing"),
            Self::HugeHole => f.write_str("no harp has so many holes"),
            Self::NoBreath { blow, draw, after } => {
                let place = if *after { "after" } else { "before" };
                write!(f, "the breath is missing; write {blow} or {draw} {place} the hole number")
            }
            Self::UnknownSign(sign, allowed) => {
                write!(f, "{sign:?} means nothing here; allowed are {allowed}")
            }
            Self::Mixed => f.write_str("an overblow or overdraw takes no further sign"),
            Self::Bracket => f.write_str("a bracket has no partner; write holes together as (4 5)"),
            Self::Alone => f.write_str("brackets hold two holes or more"),
            Self::BothBreaths => f.write_str("holes played together need one breath"),
            Self::Twice(hole) => write!(f, "hole {hole} stands twice in the brackets"),
            Self::Several => f.write_str("one hole is asked for here, not several"),
        }
    }
}

impl std::error::Error for TabError {}
