//! A question: what is asked, what of it may be known before the verdict, and what is sounded.

use super::Shape;
use layout::{Note, Way};
use scoring::timed::AskedNote;
use serde::Serialize;
use theory::{Degree, NoteName};

/// A note that is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Wanted {
    /// What sounds.
    pub note: Note,
    /// The way to it that costs this player least. Any other way to the note counts as well.
    pub way: Way,
    /// Its degree.
    pub degree: Degree,
}

/// A question.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Question {
    /// Which one, counted from 1.
    pub number: u32,
    /// Which time it is asked, counted from 1.
    pub attempt: u32,
    /// What is asked.
    pub asks: Asks,
}

/// What is asked.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Asks {
    /// Notes in order.
    Call {
        /// As they are sounded, in seconds from the first.
        sounded: Vec<AskedNote>,
        /// As they are to be answered: the same, or the same degrees elsewhere.
        answer: Vec<Wanted>,
    },
    /// The pitch of a drone.
    Drone(Wanted),
    /// The second of two notes.
    Interval {
        /// The first.
        from: Wanted,
        /// The second.
        to: Wanted,
    },
    /// A degree of the scale, in any octave.
    Degree {
        /// The tonic below it, or where there is none the lowest one.
        tonic: Wanted,
        /// The degree.
        to: Wanted,
    },
    /// A bent note.
    Depth(Wanted),
}

/// What of a question may be known before its verdict.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Posed {
    /// What kind of question.
    pub shape: Shape,
    /// Which one, counted from 1.
    pub number: u32,
    /// How many questions there are.
    pub of: u32,
    /// Which time it is asked, counted from 1.
    pub attempt: u32,
    /// What is named of it.
    pub named: Named,
    /// Whether it is sounded.
    pub sounded: bool,
}

/// What is named of a question.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Named {
    /// Nothing.
    Nothing,
    /// How many notes there are; where the answer is wanted elsewhere, on which tonic the call stands and on which the
    /// answer.
    Notes(usize, Option<(NoteName, NoteName)>),
    /// A degree above a tonic.
    Degree(Degree, NoteName),
    /// The tonic of a degree that is heard.
    Tonic(NoteName),
    /// The first note of an interval that is heard.
    From(Way, Note),
    /// The first note of an interval, and its half steps up, negative down.
    Interval(Way, Note, i32),
    /// The natural note from which the player bends.
    Natural(Way),
}

/// What is sounded to the player: at once, after so much silence.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sounds {
    /// Seconds from now to its beginning.
    pub lead_s: f64,
    /// What is sounded.
    pub tones: Vec<Tone>,
}

/// A tone that is sounded.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Tone {
    /// Its pitch, hertz.
    pub hz: f64,
    /// Seconds from the beginning.
    pub onset_s: f64,
    /// How long it sounds, seconds.
    pub length_s: f64,
    /// How a reed voice plays it; nothing where it is a plain tone, which does not tell by its sound how it is made.
    pub way: Option<Way>,
}

impl Sounds {
    /// Seconds from now until its end.
    pub fn ends_s(&self) -> f64 {
        self.lead_s + self.tones.iter().map(|tone| tone.onset_s + tone.length_s).fold(0.0, f64::max)
    }
}

impl Asks {
    /// The one note that is wanted; the first of a call.
    pub fn wanted(&self) -> Option<Wanted> {
        match self {
            Self::Call { answer, .. } => answer.first().copied(),
            Self::Drone(wanted) | Self::Depth(wanted) => Some(*wanted),
            Self::Interval { to, .. } | Self::Degree { to, .. } => Some(*to),
        }
    }

    /// All notes that are wanted, in their order: several of a call, one of everything else.
    pub fn all_wanted(&self) -> Vec<Wanted> {
        match self {
            Self::Call { answer, .. } => answer.clone(),
            one => one.wanted().into_iter().collect(),
        }
    }

    /// A note that may be played first to find the wanted one from: the first time it is not taken for the answer.
    pub(super) fn start_note(&self) -> Option<Note> {
        match self {
            Self::Interval { from, .. } => Some(from.note),
            Self::Degree { tonic, .. } => Some(tonic.note),
            Self::Call { .. } | Self::Drone(_) | Self::Depth(_) => None,
        }
    }
}
