//! Verdicts in words.

use crate::{Outcome, Why};

impl Outcome {
    /// The outcome in a word or two, without its number: `landed`, `short`, `another note` … These words are the only
    /// ones for it, on the screen, in lines of text and in JSON.
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
            Self::NotHeard(_) => "not heard",
            Self::CannotTell(_) => "cannot tell",
        }
    }
}

impl Why {
    /// Why nothing can be told, as half a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::SamplesLost => "sound was lost during this try",
            Self::TooShort => "it was too short to have a pitch",
            Self::Unsure => "another sound or noise hid the pitch",
            Self::Masked => "what the loudspeaker sounds hid it",
        }
    }
}
