//! Ear and memory: something is sounded to the player, or named, and the player answers it on the harp.
//!
//! [`EarPlan`] says what is asked. [`ByEar`] carries it out: it poses a [`Question`], waits, hears the answer, judges
//! it, tells only then what was asked ([`Answered`]), and goes on to the next. [`Posed`] holds everything that may be
//! known before the verdict.

mod answer;
mod call;
mod compare;
mod held;
mod judged;
mod length;
mod making;
mod on_the_way;
mod posing;
mod question;

pub use answer::{Answer, Answered, Cause, HeldAnswer, NoteAnswer, NoteIs, Result};
pub use on_the_way::{ByEar, EarPhase};
pub use question::{Asks, Named, Posed, Question, Sounds, Tone, Wanted};

use layout::Harp;
use serde::Serialize;
use std::fmt;
use std::str::FromStr;
use theory::{Ability, ScaleInKey};

/// What kind of question is asked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Shape {
    /// Call and response: a few notes are played, and the player answers with the same.
    #[default]
    Call,
    /// A drone sounds, and the player matches its pitch and holds it.
    Drone,
    /// A note and an interval above or below it; the player plays the second note.
    Interval,
    /// A degree of the scale.
    Degree,
    /// A bent note sounds, and the player bends to the same depth.
    Depth,
}

/// What is asked by ear.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EarPlan {
    /// What kind of question.
    pub shape: Shape,
    /// An interval or a degree is sounded and not named.
    pub heard: bool,
    /// How many questions.
    pub questions: u32,
    /// The scale on its tonic, from which the notes are taken.
    pub key: ScaleInKey,
    /// The scale on another tonic of the same harp, in which a call is to be answered on the same degrees.
    pub elsewhere: Option<ScaleInKey>,
    /// What the player commands: nothing beyond it is asked.
    pub ability: Ability,
    /// Decides which questions are asked.
    pub seed: u64,
    /// Hole and breath of a bend are named, and only its depth is left to the ear.
    pub hole_told: bool,
    /// Whether anything can be sounded to the player. Where nothing can, the degree of a drone is named; calls, depths,
    /// and intervals and degrees that are to be heard can then be asked of a recording only.
    pub sounded: bool,
}

/// A text that names no shape.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShapeError(String);

impl Shape {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Call, Self::Drone, Self::Interval, Self::Degree, Self::Depth];
    /// How many questions where nobody says otherwise: some five minutes.
    pub const QUESTIONS: u32 = 10;

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Call => "call",
            Self::Drone => "drone",
            Self::Interval => "interval",
            Self::Degree => "degree",
            Self::Depth => "depth",
        }
    }

    /// What the player does, in a sentence.
    pub fn about(self) -> &'static str {
        match self {
            Self::Call => "A few notes are played to you; answer with the same notes.",
            Self::Drone => "A drone sounds; play the same pitch and hold it.",
            Self::Interval => "From one note to another by its interval; play the second note.",
            Self::Degree => "A degree of the scale; play it.",
            Self::Depth => "A bent note sounds; bend to the same depth.",
        }
    }
}

impl EarPlan {
    /// Whether its questions have to be sounded: where they cannot be, they cannot be asked.
    pub fn has_to_sound(&self) -> bool {
        match self.shape {
            Shape::Call | Shape::Depth => true,
            Shape::Drone => false,
            Shape::Interval | Shape::Degree => self.heard,
        }
    }

    /// Why nothing can be asked on a harp, in a sentence; nothing if it can.
    pub fn cannot_ask(&self, harp: &Harp) -> Option<String> {
        if making::question(self, harp, (1, length::LEAST)).is_some() {
            return None;
        }
        Some(match self.shape {
            Shape::Depth => {
                format!("no bend of this harp is within reach of \"{}\"; name more with --able", self.ability)
            }
            _ if self.elsewhere.is_some() => format!(
                "no call of {} has its notes within reach of \"{}\" in both positions; name more with --able",
                self.key.title(),
                self.ability
            ),
            _ => format!(
                "too few notes of {} are within reach of \"{}\" on this harp; name more with --able",
                self.key.title(),
                self.ability
            ),
        })
    }
}

impl fmt::Display for Shape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Shape {
    type Err = ShapeError;

    fn from_str(text: &str) -> std::result::Result<Self, ShapeError> {
        let wanted = text.trim().to_lowercase();
        Self::ALL.into_iter().find(|shape| shape.name() == wanted).ok_or_else(|| ShapeError(text.to_owned()))
    }
}

impl fmt::Display for ShapeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let all = Shape::ALL.map(Shape::name).join(", ");
        write!(f, "{:?} is nothing that is asked by ear; there are: {all}", self.0)
    }
}

impl std::error::Error for ShapeError {}
