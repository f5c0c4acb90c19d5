//! One try at reeds that are to sound together.

use super::shares::{Is, Shares};
use super::{Holes, ReedsOutcome, ReedsVerdict, ReedsWhy};
use layout::{Breath, Technique, Way};
use pitch::reeds::Sounding;
use serde::Serialize;

/// Left out at the beginning and at the end of a sound, seconds: reeds neither begin nor end all at once.
const EDGE_S: f64 = 0.1;
/// A sound is over after so much silence, seconds: shorter silences are dropouts of the ear.
const RELEASED_S: f64 = 0.1;
/// Wrong reeds that sound on are called wrong after this long at the earliest, seconds: the player may be putting it
/// right.
const WRONG_S: f64 = 1.0;
/// Fewer readings than this of the middle of a sound say nothing about its reeds: a seventh of a second of them.
const LEAST_READINGS: f64 = 14.0;
/// A sound that has lasted this much longer than the hold is judged as it then stands, seconds.
const GIVEN_UP_S: f64 = 4.0;
/// Without any sound for this long the try was not heard, seconds.
const NOT_HEARD_S: f64 = 10.0;
/// A sound that is at most this much shorter than asked was held for long enough, seconds: its ends are known no
/// better.
const NEARLY_S: f64 = 0.05;

/// What is asked for in one try: reeds that are to sound together.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ReedsTarget {
    /// Blown or drawn.
    pub breath: Breath,
    /// The holes.
    pub holes: Holes,
    /// How long they have to sound, seconds.
    pub hold_s: f64,
}

impl ReedsTarget {
    /// The ways, from the lowest hole upwards.
    pub fn ways(&self) -> impl Iterator<Item = Way> + use<> {
        let breath = self.breath;
        self.holes.iter().map(move |hole| Way::new(hole, breath, Technique::Natural))
    }
}

/// Listens to one try at a [`ReedsTarget`].
///
/// A try ends when the reeds that were asked for, and no others, have sounded for the time asked; when others have
/// sounded for that time, and for 1 s at least; and when the sound ends. The right reeds that end too soon are *let go
/// early*.
#[derive(Clone, Debug)]
pub struct ReedsJudge {
    target: ReedsTarget,
    sample_rate: f64,
    /// The sample time from which it listens.
    since: Option<u64>,
    /// When the sound began, and when it was last heard.
    sounds: Option<(u64, u64)>,
    heard: Vec<Sounding>,
    patient: bool,
}

impl ReedsJudge {
    /// Listens to readings whose times are samples at this rate, hertz.
    pub fn new(target: ReedsTarget, sample_rate: f64) -> Self {
        Self { target, sample_rate, since: None, sounds: None, heard: Vec::new(), patient: false }
    }

    /// The same judge, waiting for the first sound for as long as it takes.
    #[must_use]
    pub fn patient(self) -> Self {
        Self { patient: true, ..self }
    }

    /// When the sound of the try began, samples; `None` before that.
    pub fn began(&self) -> Option<u64> {
        self.sounds.map(|(began, _)| began)
    }

    /// How long it has sounded, seconds.
    pub fn held_s(&self) -> f64 {
        self.sounds.map_or(0.0, |(began, last)| self.seconds(began, last))
    }

    /// Takes a reading; says what came of the try once that is known.
    pub fn hear(&mut self, sounding: &Sounding) -> Option<ReedsVerdict> {
        let now = sounding.time;
        let since = *self.since.get_or_insert(now);
        if sounding.voices().next().is_some() {
            let began = self.began().unwrap_or(now);
            self.sounds = Some((began, now));
        }
        let Some((began, last)) = self.sounds else {
            let over = !self.patient && self.seconds(since, now) >= NOT_HEARD_S;
            return over.then(|| self.without(ReedsOutcome::NotHeard));
        };
        self.heard.push(*sounding);
        if self.seconds(last, now) >= RELEASED_S {
            return Some(self.released(began, last));
        }
        // A silence that may be a dropout adds nothing to the time that the reeds have sounded.
        if last == now { self.sounding(began, now) } else { None }
    }

    /// Samples were lost: of a try that was sounding nothing can be told.
    pub fn gap(&mut self) -> Option<ReedsVerdict> {
        self.began()?;
        Some(self.without(ReedsOutcome::CannotTell(ReedsWhy::SamplesLost)))
    }

    /// What can be said while the sound goes on.
    fn sounding(&self, began: u64, now: u64) -> Option<ReedsVerdict> {
        let (sounds_s, hold_s) = (self.seconds(began, now), self.target.hold_s);
        if sounds_s < hold_s {
            return None;
        }
        let lately = self.over((began, now), hold_s);
        let (outcome, shares) = self.outcome(lately);
        let wrong_s = hold_s.max(WRONG_S);
        match outcome {
            ReedsOutcome::Right => Some(self.told(outcome, &shares)),
            _ if sounds_s >= hold_s + GIVEN_UP_S => Some(self.told(outcome, &shares)),
            ReedsOutcome::CannotTell(_) => None,
            _ if sounds_s >= wrong_s + EDGE_S => {
                // What was wrong just now has to have been wrong all the while.
                let (longer, shares) = self.outcome(self.over((began, now), wrong_s));
                (longer == outcome).then(|| self.told(outcome, &shares))
            }
            _ => None,
        }
    }

    /// What can be said once the sound is over.
    fn released(&self, began: u64, last: u64) -> ReedsVerdict {
        let edge = self.samples(EDGE_S);
        let middle = began + edge..last.saturating_sub(edge);
        let shares = Shares::of(self.heard.iter().filter(|heard| middle.contains(&heard.time)));
        let (outcome, shares) = self.outcome(shares);
        let held_s = self.seconds(began, last);
        let outcome = match outcome {
            ReedsOutcome::Right if held_s < self.target.hold_s - NEARLY_S => ReedsOutcome::TooBrief(held_s),
            other => other,
        };
        self.told(outcome, &shares)
    }

    /// The newest readings of so many seconds, without those of the beginning.
    fn over(&self, (began, now): (u64, u64), seconds: f64) -> Shares {
        let from = (began + self.samples(EDGE_S)).max(now.saturating_sub(self.samples(seconds)));
        Shares::of(self.heard.iter().rev().take_while(|heard| heard.time >= from))
    }

    fn outcome(&self, shares: Shares) -> (ReedsOutcome, Shares) {
        let ReedsTarget { breath, holes, .. } = self.target;
        let other = if breath == Breath::Draw { Breath::Blow } else { Breath::Draw };
        let outcome = if shares.readings() < LEAST_READINGS {
            ReedsOutcome::CannotTell(ReedsWhy::TooShort)
        } else if shares.breath(other) == Is::Sounding {
            ReedsOutcome::WrongBreath
        } else if shares.breath(breath) != Is::Sounding {
            ReedsOutcome::CannotTell(ReedsWhy::Flickers)
        } else {
            match shares.against(breath, holes) {
                (missing, leaked, true) if missing.is_empty() && leaked.is_empty() => ReedsOutcome::Right,
                (missing, leaked, false) if missing.is_empty() && leaked.is_empty() => {
                    ReedsOutcome::CannotTell(ReedsWhy::Flickers)
                }
                (missing, leaked, _) => ReedsOutcome::Off { missing, leaked },
            }
        };
        (outcome, shares)
    }

    fn told(&self, outcome: ReedsOutcome, shares: &Shares) -> ReedsVerdict {
        let breath = match (outcome, self.target.breath) {
            (ReedsOutcome::WrongBreath, Breath::Draw) => Breath::Blow,
            (ReedsOutcome::WrongBreath, Breath::Blow) => Breath::Draw,
            (_, own) => own,
        };
        ReedsVerdict { outcome, heard: shares.heard(breath), held_s: self.held_s() }
    }

    fn without(&self, outcome: ReedsOutcome) -> ReedsVerdict {
        ReedsVerdict { outcome, heard: Vec::new(), held_s: self.held_s() }
    }

    fn samples(&self, seconds: f64) -> u64 {
        (seconds * self.sample_rate) as u64
    }

    fn seconds(&self, from: u64, to: u64) -> f64 {
        to.saturating_sub(from) as f64 / self.sample_rate
    }
}
