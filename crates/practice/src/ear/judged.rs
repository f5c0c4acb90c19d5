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
    // An interval and a degree ask for a note by its name: it is right if its pitch is nearer to that note than to any
    // other. A drone and a depth ask for the pitch itself.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ear::Wanted;
    use layout::{Breath, Technique, Way};
    use scoring::{Figures, Target, Tolerance, Trace, Why};
    use theory::Degree;

    fn wanted() -> Wanted {
        let way = Way::new(4, Breath::Draw, Technique::Natural);
        Wanted { note: "D5".parse().unwrap(), way, degree: Degree::TONIC }
    }

    /// What is said of a pitch that was held so many cents off.
    fn verdict(outcome: Outcome, cents_off: f64) -> Verdict {
        let figures = Figures {
            cents_off,
            depth_semitones: 0.0,
            reach_s: 0.0,
            held_s: 0.5,
            spread_cents: 1.0,
            drift_cents_per_s: 0.0,
            overshoot_cents: 0.0,
            sigma_cents: 0.5,
            level_spread_db: 0.5,
            hnr_db: 20.0,
            vibrato: None,
        };
        Verdict { outcome, figures: Some(figures), between: None }
    }

    /// What an answer with this outcome comes to.
    fn of(asks: &Asks, outcome: Outcome, cents_off: f64) -> Result {
        let verdict = verdict(outcome, cents_off);
        let target = Target { way: wanted().way, cents: 0.0, hold_s: 0.5 };
        result(asks, &HeldAnswer { target, verdict, played: None, trace: Trace::default() })
    }

    /// A pitch is asked for by a drone and by a depth, a note by its name by an interval and by a degree.
    fn all() -> [Asks; 4] {
        let note = wanted();
        [
            Asks::Drone(note),
            Asks::Depth(note),
            Asks::Interval { from: note, to: note },
            Asks::Degree { tonic: note, to: note },
        ]
    }

    #[test]
    fn a_note_by_its_name_is_right_up_to_a_quarter_tone_and_a_pitch_only_in_tune() {
        let results = |outcome, cents| all().map(|asks| of(&asks, outcome, cents));
        let (right, wrong) = (Result::Right, Result::Wrong);
        assert_eq!(results(Outcome::Landed, 10.0), [right; 4]);
        for outcome in [Outcome::Sharp(40.0), Outcome::Flat(40.0), Outcome::Short(40.0), Outcome::Past(40.0)]
        {
            assert_eq!(results(outcome, 40.0), [wrong, wrong, right, right]);
            assert_eq!(results(outcome, -40.0), [wrong, wrong, right, right]);
            assert_eq!(results(outcome, 55.0), [wrong; 4], "nearer to the next note");
        }
        assert_eq!(results(Outcome::AnotherNote("E5".parse().unwrap(), None), 200.0), [wrong; 4]);
    }

    #[test]
    fn what_was_not_held_is_wrong_of_a_drone_only() {
        let results = |outcome| all().map(|asks| of(&asks, outcome, 0.0));
        let cannot_tell = |cause| Result::CannotTell(cause);
        let (right, wrong, no_pitch) = (Result::Right, Result::Wrong, cannot_tell(Cause::NoPitch));
        // In tune for 0.4 s it was meant, and for 0.3 s; for 0.2 s nothing can be told.
        assert_eq!(results(Outcome::TooBrief(0.4)), [wrong, right, right, right]);
        assert_eq!(results(Outcome::TooBrief(0.3)), [wrong, right, right, right]);
        assert_eq!(results(Outcome::TooBrief(0.2)), [no_pitch; 4]);
        assert_eq!(results(Outcome::Unsteady(60.0)), [wrong, no_pitch, no_pitch, no_pitch]);
        assert_eq!(results(Outcome::NotHeard(-60.0)), [no_pitch; 4]);
        assert_eq!(results(Outcome::CannotTell(Why::Unsure)), [no_pitch; 4]);
        assert_eq!(results(Outcome::CannotTell(Why::SamplesLost)), [cannot_tell(Cause::SamplesLost); 4]);
    }

    /// The fourth draw of a C harp is D5, and bent by a half step D♭5: 80 cents above that is nearer to D5, 80 below
    /// nearer to C5.
    #[test]
    fn the_note_that_was_held_is_the_one_nearest_to_its_pitch() {
        let harp = Harp::richter("C".parse().unwrap());
        let way = Way::new(4, Breath::Draw, Technique::Bend(1));
        let target = Target { way, cents: 0.0, hold_s: 0.5 };
        let played = |outcome, cents_off| {
            let judge = Judge::new(&harp, target, Tolerance::default(), 48_000.0).unwrap();
            let judged = Judged { judge, verdict: Some(verdict(outcome, cents_off)) };
            judged.played(&harp).map(|note| note.to_string())
        };
        let is = |note: &str| Some(note.parse::<Note>().unwrap().to_string());
        assert_eq!(played(Outcome::Landed, 5.0), is("D♭5"));
        assert_eq!(played(Outcome::Short(80.0), 80.0), is("D5"));
        assert_eq!(played(Outcome::Past(80.0), -80.0), is("C5"));
        // Another note says its name itself.
        assert_eq!(played(Outcome::AnotherNote("G5".parse().unwrap(), None), 600.0), is("G5"));
    }
}
