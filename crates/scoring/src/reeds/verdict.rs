//! What is said about reeds that were to sound together.

use super::Holes;
use crate::Why;
use layout::Way;
use serde::Serialize;

/// The judgement itself.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ReedsOutcome {
    /// All that was asked for sounded for as long as it was to, and nothing else.
    Right,
    /// Other holes than those asked for: which asked ones were silent, and which others sounded. One of the two sets may
    /// be empty, but never both.
    Off {
        /// Asked for, and silent.
        missing: Holes,
        /// Not asked for, and sounding.
        leaked: Holes,
    },
    /// Blown instead of drawn, or drawn instead of blown.
    WrongBreath,
    /// The right reeds, let go before the time was reached; how long they sounded, seconds.
    TooBrief(f64),
    /// Nothing sounded within the time allowed.
    NotHeard,
    /// What was heard does not allow a judgement; it counts neither way.
    CannotTell(ReedsWhy),
}

/// Why nothing can be told of a try.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ReedsWhy {
    /// Samples were lost meanwhile.
    SamplesLost,
    /// The sound was over before its reeds could be told apart.
    TooShort,
    /// Of some reed the readings say now one thing, now another.
    Flickers,
    /// What the program itself sounds may have hidden it.
    Masked,
}

/// A reed that sounded for most of the time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HeardReed {
    /// How it is played; a bent reed is told as its natural note.
    pub way: Way,
    /// Its mean level below the strongest reed, decibels; 0 for that one.
    pub below_db: f64,
}

/// The end of a try.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReedsVerdict {
    /// The judgement.
    pub outcome: ReedsOutcome,
    /// The reeds that surely sounded, the lowest hole first.
    pub heard: Vec<HeardReed>,
    /// How long it sounded, seconds.
    pub held_s: f64,
}

impl ReedsVerdict {
    /// Whether it uses up no try: nothing was heard, or nothing can be told.
    pub fn asks_again(&self) -> bool {
        matches!(self.outcome, ReedsOutcome::NotHeard | ReedsOutcome::CannotTell(_))
    }

    /// The verdict on a try during which the player may have been hidden by what the program itself sounds: what was
    /// right is right, and of everything else nothing can be told.
    #[must_use]
    pub fn hidden(self) -> Self {
        match self.outcome {
            ReedsOutcome::Right => self,
            _ => Self { outcome: ReedsOutcome::CannotTell(ReedsWhy::Masked), heard: Vec::new(), ..self },
        }
    }

    /// Whether it is what was asked for.
    pub fn is_right(&self) -> bool {
        self.outcome == ReedsOutcome::Right
    }
}

impl ReedsOutcome {
    /// The outcome in a word or two. These words are the only ones for it, on the screen, in lines of text, in JSON and
    /// in the journal.
    pub fn word(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Off { leaked, .. } if leaked.is_empty() => "missing",
            Self::Off { missing, .. } if missing.is_empty() => "leaked in",
            Self::Off { .. } => "missing and leaked in",
            Self::WrongBreath => "wrong breath",
            Self::TooBrief(_) => "let go early",
            Self::NotHeard => "not heard",
            Self::CannotTell(_) => "cannot tell",
        }
    }
}

impl ReedsWhy {
    /// Why nothing can be told, as half a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::SamplesLost => "sound was lost during this try",
            Self::TooShort => "it was too short to tell its reeds apart",
            Self::Flickers => "the reeds came and went, or could not be told apart",
            Self::Masked => Why::Masked.words(),
        }
    }
}
