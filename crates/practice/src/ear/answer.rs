//! What came of a question.

use super::{EarPlan, Question, Wanted};
use crate::Moment;
use layout::{Harp, Note, Way};
use scoring::{Target, Tolerance, Trace, Verdict};
use serde::Serialize;

/// A question that was answered, complete in itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answered {
    /// What is asked by ear.
    pub plan: EarPlan,
    /// The harp.
    pub harp: Harp,
    /// The question.
    pub question: Question,
    /// How near was near enough.
    pub tolerance: Tolerance,
    /// When the verdict was known.
    pub ended: Moment,
    /// Whether it was right.
    pub result: Result,
    /// What was played.
    pub answer: Answer,
}

/// Whether an answer was right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Result {
    /// It was.
    Right,
    /// It was not.
    Wrong,
    /// It cannot be told: the question is asked again, and this time counts neither way.
    CannotTell(Cause),
    /// The player passed the question.
    Passed,
}

/// Why an answer cannot be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// Samples were lost meanwhile.
    SamplesLost,
    /// It began while the question still sounded, or could still be heard.
    BeganEarly,
    /// What the program itself sounded may have hidden it.
    Hidden,
    /// It was too short, too unsteady or too unsure to have a pitch.
    NoPitch,
}

/// What was played.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// Nothing that could be judged.
    Nothing,
    /// Notes in order, those that are missing among them.
    Notes(Vec<NoteAnswer>),
    /// A note that was held.
    Held(Box<HeldAnswer>),
}

/// A note of an answer to a call.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct NoteAnswer {
    /// What was wanted; nothing of one that was played beyond that.
    pub wanted: Option<Wanted>,
    /// What was played: the note and the simplest way to it; nothing of one that is missing.
    pub played: Option<(Note, Way)>,
    /// Cents from where the wanted way is in tune, if it is the note that was wanted and long enough to have a pitch.
    pub cents: Option<f64>,
    /// What it is.
    pub is: NoteIs,
}

/// What a note of an answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoteIs {
    /// The note that was wanted.
    Right,
    /// Another note in its place.
    Other,
    /// Not played.
    Missing,
    /// Played beyond what was wanted.
    Extra,
}

/// A note that was held.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeldAnswer {
    /// What it was measured against.
    pub target: Target,
    /// As of a try in a drill.
    pub verdict: Verdict,
    /// The note it is nearest to, if a pitch was held.
    pub played: Option<Note>,
    /// How its pitch went.
    pub trace: Trace,
}

impl Answered {
    /// Whether the answer was right or wrong; nothing where neither can be said.
    pub fn is_right(&self) -> Option<bool> {
        match self.result {
            Result::Right => Some(true),
            Result::Wrong => Some(false),
            Result::CannotTell(_) | Result::Passed => None,
        }
    }

    /// Whether the same question is asked again.
    pub fn asks_again(&self) -> bool {
        matches!(self.result, Result::CannotTell(_))
    }
}
