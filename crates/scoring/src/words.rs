//! Verdicts in words.

use crate::Outcome;

impl Outcome {
    /// The outcome in a word or two, without its number: `landed`, `short`, `another note` …
    pub fn word(self) -> &'static str {
        match self {
            Self::Landed => "landed",
            Self::Short(_) => "short",
            Self::Past(_) => "past",
            Self::Flat(_) => "flat",
            Self::Sharp(_) => "sharp",
            Self::AnotherNote(..) => "another note",
            Self::TooBrief(_) => "let go early",
            Self::Unsteady(_) => "unsteady",
            Self::NotHeard => "not heard",
            Self::NotScored => "not scored",
        }
    }
}
