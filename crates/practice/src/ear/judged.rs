//! What a held note is to a question.

use super::{Asks, Cause, HeldAnswer, Result};
use layout::{Harp, Note};
use scoring::{Judge, Outcome, Verdict};

/// A pitch nearer to a note than this is that note, cents: half a half step.
const SAME_CENTS: f64 = 50.0;
/// The right pitch was meant if it was held this long, seconds; of a shorter one nothing can be told.
const MEANT_S: f64 = 0.3;

/// A judge and what it said.
#[derive(Clone, Debug)]
pub(super) struct Judged {
    pub(super) judge: Judge,
    pub(super) verdict: Option<Verdict>,
}

impl Judged {
    pub(super) fn outcome(&self) -> Option<Outcome> {
        self.verdict.map(|verdict| verdict.outcome)
    }

    /// How far from its target the held pitch was, cents, without sign; infinite of none.
    pub(super) fn distance(&self) -> f64 {
        let figures = self.verdict.and_then(|verdict| verdict.figures);
        figures.map_or(f64::INFINITY, |figures| figures.cents_off.abs())
    }

    /// The note that was held.
    pub(super) fn played(&self, harp: &Harp) -> Option<Note> {
        let verdict = self.verdict?;
        if let Outcome::AnotherNote(note, _) = verdict.outcome {
            return Some(note);
        }
        let hz = self.judge.target().hz(harp)? * (verdict.figures?.cents_off / 1200.0).exp2();
        harp.concert().nearest(hz).map(|(note, _)| note)
    }
}

/// Whether a held note answers a question.
pub(super) fn result(asks: &Asks, answer: &HeldAnswer) -> Result {
    let cents = answer.verdict.figures.map(|figures| figures.cents_off.abs());
    let is_note = cents.is_some_and(|cents| cents <= SAME_CENTS);
    // A note by its name is right where it is nearer to it than to any other; a pitch and a depth have to be met.
    let by_name = matches!(asks, Asks::Interval { .. } | Asks::Degree { .. });
    match answer.verdict.outcome {
        Outcome::TooBrief(held_s) if held_s < MEANT_S => Result::CannotTell(Cause::NoPitch),
        // A drone asks for a pitch that is held.
        Outcome::TooBrief(_) | Outcome::Unsteady(_) if matches!(asks, Asks::Drone(_)) => Result::Wrong,
        Outcome::Landed | Outcome::TooBrief(_) => Result::Right,
        Outcome::Short(_) | Outcome::Past(_) | Outcome::Flat(_) | Outcome::Sharp(_) if by_name && is_note => {
            Result::Right
        }
        Outcome::CannotTell(scoring::Why::SamplesLost) => Result::CannotTell(Cause::SamplesLost),
        Outcome::Unsteady(_) | Outcome::NotHeard(_) | Outcome::CannotTell(_) => {
            Result::CannotTell(Cause::NoPitch)
        }
        Outcome::Short(_)
        | Outcome::Past(_)
        | Outcome::Flat(_)
        | Outcome::Sharp(_)
        | Outcome::AnotherNote(..) => Result::Wrong,
    }
}
