//! Jamming: free playing over the chords of a form that goes round, on a clock.
//!
//! [`JamPlan`] says over what is played, and [`Jam`] is a jam under way. Nothing is asked for, so nothing is right or
//! wrong: each [`JamNote`] says where in the bar it stood, which chord sounded under it and what it was to that chord;
//! a [`Tally`] sums up a chorus, which is one time round the form, or all of them.

mod form;
mod jamming;
mod note;
mod tally;
mod walk;

pub use form::{Form, FormChord, FormError};
pub use jamming::{Jam, JamPhase};
pub use note::{Clash, Is, JamNote};
pub use tally::{Change, HeldClash, Met, Tally};

use crate::Moment;
use crate::run::{Clicking, Rhythm, StartAt};
use layout::Harp;
use serde::Serialize;
use theory::{Ability, Groove, ScaleInKey};

/// What is played over.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct JamPlan {
    /// The chords, bar by bar, and how often they go round.
    pub form: Form,
    /// How the band plays.
    pub feel: Groove,
    /// Tempo and metre.
    pub rhythm: Rhythm,
    /// The scale that the player wants to play, in the key of the form.
    pub scale: ScaleInKey,
    /// What the player commands: of the scale nothing beyond it is missed.
    pub ability: Ability,
    /// What decides where the first beat is. A jam has a beat: [`StartAt::FreeTime`] waits for the first note as
    /// [`StartAt::FirstNote`] does.
    pub start: StartAt,
    /// What is clicked besides the count-in.
    pub clicking: Clicking,
    /// Seconds from a beat that sounds until the microphone hands in what was played on it; `None` where that was never
    /// measured.
    pub delay_s: Option<f64>,
}

/// A chorus that is over: once round the form.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChorusOver {
    /// Which one, counted from 1.
    pub number: u32,
    /// What was played in it.
    pub tally: Tally,
}

/// A jam that is over, complete in itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct JamOver {
    /// What was played over.
    pub plan: JamPlan,
    /// The harp.
    pub harp: Harp,
    /// When it was over.
    pub ended: Moment,
    /// Choruses that were played to their end.
    pub choruses: u32,
    /// What was played in all of them and in the one that was broken off.
    pub tally: Tally,
    /// The notes of the scale within the player's ability that were not played, from the lowest up.
    pub unused: Vec<layout::Way>,
}
