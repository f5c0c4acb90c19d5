//! Questions by ear on their way: pose, wait, hear, judge, tell, go on.

use super::call::CallEar;
use super::held::HeldEar;
use super::length::{LEAST, Length};
use super::making::question;
use super::{Answer, Answered, Asks, Cause, EarPlan, Posed, Question, Result, Shape, posing};
use crate::beat::LEAD_S;
use crate::hidden::Hidden;
use crate::{Ending, Event, Moment, Order, Timebase};
use layout::Harp;
use pitch::Reading;
use scoring::{Tolerance, Voice};

/// Silence before every sound but the first, seconds: the loudspeaker is open by then.
const OPEN_LEAD_S: f64 = 0.3;
/// Time left after a sound, seconds: a loudspeaker sounds later than it is told to. What rings on in the room is no new
/// sound.
const ENDS_S: f64 = 0.25;
/// What was asked is shown for this long at least, seconds, and until the player is silent for so long.
const SHOWN_S: f64 = 2.5;
const PAUSE_S: f64 = 0.4;

/// Where questions stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EarPhase {
    /// The question is sounded: nothing is judged.
    Sounding,
    /// It waits for the answer.
    Waiting,
    /// The answer is heard.
    Answering,
    /// What was asked is told.
    Told,
    /// Paused by the player.
    Paused,
    /// All questions were asked.
    Done,
    /// The player left before that.
    Left,
}

#[derive(Clone, Debug)]
enum Stage {
    /// It is posed with the next reading, which tells the time.
    Pose,
    /// It sounds until this sample.
    Sounding(f64),
    /// The answer is heard.
    Listening(Box<Listening>),
    /// Told since this sample.
    Told(u64),
    Over(Ending),
}

#[derive(Clone, Debug)]
enum Listening {
    Call(Box<CallEar>),
    Held(HeldEar),
}

/// Questions by ear on their way.
#[derive(Clone, Debug)]
pub struct ByEar {
    plan: EarPlan,
    base: Timebase,
    tolerance: Tolerance,
    stage: Stage,
    paused: bool,
    /// The question that is asked, or was asked last; `None` where nothing can be asked on this harp.
    question: Option<Question>,
    length: Length,
    /// Whether something has been sounded yet.
    sounded: bool,
    results: Vec<Answered>,
    voice: Voice,
    hidden: Hidden,
    /// The sample from which the answer is heard.
    heard_from: u64,
    known: u64,
}

impl ByEar {
    /// Begins with the first question; where nothing can be asked it is done from the start.
    pub(crate) fn new(
        plan: EarPlan,
        harp: &Harp,
        (tolerance, base): (Tolerance, Timebase),
    ) -> (Self, Vec<Event>) {
        let first = question(&plan, harp, (1, LEAST)).filter(|_| plan.questions > 0);
        let mut by_ear = Self {
            plan,
            base,
            tolerance,
            stage: Stage::Pose,
            paused: false,
            question: first,
            length: Length::new(),
            sounded: false,
            results: Vec::new(),
            voice: Voice::default(),
            hidden: Hidden::default(),
            heard_from: 0,
            known: 0,
        };
        let events = if by_ear.question.is_some() { by_ear.posed() } else { by_ear.over(Ending::Done) };
        (by_ear, events)
    }

    /// Takes one reading.
    pub(crate) fn hear(&mut self, harp: &Harp, reading: &Reading) -> Vec<Event> {
        let before = std::mem::replace(&mut self.known, reading.known);
        let now = self.base.moment(self.known).seconds();
        self.voice.hear(now, reading.hz.is_some());
        if self.paused {
            return Vec::new();
        }
        match &mut self.stage {
            Stage::Pose => self.pose(harp),
            Stage::Sounding(until) if self.known as f64 >= *until => {
                // Where the microphone does not hear through what is sounded, no reading comes meanwhile.
                let deaf_s = self.base.seconds(before.max(*until as u64), self.known);
                self.listen(harp, deaf_s);
                Vec::new()
            }
            Stage::Sounding(_) | Stage::Over(_) => Vec::new(),
            Stage::Listening(_) => self.listen_to(harp, reading),
            Stage::Told(since) => {
                let since = *since;
                self.go_on(harp, (since, now))
            }
        }
    }

    /// Sounds the question, or listens at once where nothing is sounded.
    fn pose(&mut self, harp: &Harp) -> Vec<Event> {
        let lead_s = if self.sounded { OPEN_LEAD_S } else { LEAD_S };
        let question = self.question.as_ref().filter(|_| self.plan.sounded);
        let Some(sounds) = question.and_then(|question| posing::sounds(&self.plan, question, (harp, lead_s)))
        else {
            self.listen(harp, 0.0);
            return Vec::new();
        };
        self.sounded = true;
        if self.plan.shape == Shape::Drone {
            // It is answered while it sounds.
            self.listen(harp, 0.0);
        } else {
            self.stage = Stage::Sounding(self.known as f64 + (sounds.ends_s() + ENDS_S) * self.base.rate);
        }
        vec![Event::EarSounds(Box::new(sounds))]
    }

    /// Between these two samples the player could not be told from what is sounded.
    pub(crate) fn mask(&mut self, from: u64, until: u64) {
        self.hidden.add((from, until), self.base);
    }

    fn listen(&mut self, harp: &Harp, deaf_s: f64) {
        self.heard_from = self.known;
        let Some(question) = &self.question else { return };
        let listening = match &question.asks {
            Asks::Call { sounded, answer } => {
                let last = sounded.last().map(|note| note.note).filter(|_| self.plan.sounded);
                let from = (self.known, deaf_s);
                Some(Listening::Call(Box::new(CallEar::new(self.base, (answer.clone(), last), from))))
            }
            asks => {
                let asks = (asks, !self.plan.sounded);
                HeldEar::new(self.base, harp, asks, self.tolerance).map(Listening::Held)
            }
        };
        if let Some(listening) = listening {
            self.stage = Stage::Listening(Box::new(listening));
        }
    }

    fn listen_to(&mut self, harp: &Harp, reading: &Reading) -> Vec<Event> {
        let Stage::Listening(listening) = &mut self.stage else { return Vec::new() };
        let answer = match &mut **listening {
            Listening::Call(call) => {
                call.hear(&self.plan, harp, reading).then(|| call.judge(&self.plan, harp))
            }
            Listening::Held(held) => held.hear(harp, reading),
        };
        answer.map_or(Vec::new(), |answer| self.answered(harp, answer))
    }

    /// Tells what came of a question.
    fn answered(&mut self, harp: &Harp, (result, answer): (Result, Answer)) -> Vec<Event> {
        let Some(question) = self.question.clone() else { return Vec::new() };
        let is_hidden = result == Result::Wrong && self.hidden.excuses(self.heard_from, self.base);
        let result = if is_hidden { Result::CannotTell(Cause::Hidden) } else { result };
        let answered = Answered {
            plan: self.plan.clone(),
            harp: harp.clone(),
            question,
            tolerance: self.tolerance,
            ended: self.moment(),
            result,
            answer,
        };
        if let Some(right) = answered.is_right() {
            self.length.answered(right);
        }
        self.results.push(answered.clone());
        let mut events = vec![Event::Answered(Box::new(answered))];
        if self.is_drone_sounding() {
            events.insert(0, Event::EarSilent);
        }
        self.stage = Stage::Told(self.known);
        events
    }

    fn is_drone_sounding(&self) -> bool {
        self.plan.shape == Shape::Drone && self.plan.sounded && matches!(self.stage, Stage::Listening(_))
    }

    /// Goes on to the next question once what was asked has been shown and the player is silent.
    fn go_on(&mut self, harp: &Harp, (since, now): (u64, f64)) -> Vec<Event> {
        // Nobody reads what is told of a recording before it plays on.
        let shown_s = if self.plan.sounded || !self.plan.has_to_sound() { SHOWN_S } else { 0.0 };
        if self.base.seconds(since, self.known) < shown_s || self.voice.silent_s(now) < PAUSE_S {
            return Vec::new();
        }
        if self.results.last().is_some_and(Answered::asks_again) {
            return self.ask_again();
        }
        self.next(harp)
    }

    fn next(&mut self, harp: &Harp) -> Vec<Event> {
        let number = self.question.as_ref().map_or(1, |question| question.number.saturating_add(1));
        let lengths = (LEAST..=self.length.notes()).rev();
        let mut next = lengths.filter(|_| number <= self.plan.questions);
        let Some(next) = next.find_map(|length| question(&self.plan, harp, (number, length))) else {
            return self.over(Ending::Done);
        };
        self.question = Some(next);
        self.posed()
    }

    fn ask_again(&mut self) -> Vec<Event> {
        if let Some(question) = &mut self.question {
            question.attempt = question.attempt.saturating_add(1);
        }
        self.posed()
    }

    /// Says what may be known of the question; it is sounded with the next reading.
    fn posed(&mut self) -> Vec<Event> {
        self.stage = Stage::Pose;
        self.told_now().map(|posed| Event::Posed(Box::new(posed))).into_iter().collect()
    }

    /// What of the question may be known now.
    pub fn told_now(&self) -> Option<Posed> {
        Some(posing::posed(&self.plan, self.question.as_ref()?))
    }

    /// Samples were lost. While a question sounds this changes nothing; of an answer that had begun nothing can be
    /// told.
    pub(crate) fn gap(&mut self, harp: &Harp) -> Vec<Event> {
        self.voice = Voice::default();
        if self.paused {
            return Vec::new();
        }
        let Stage::Listening(listening) = &mut self.stage else { return Vec::new() };
        let begun = match &mut **listening {
            Listening::Call(call) => call.count() > 0,
            Listening::Held(held) => held.gap(),
        };
        if begun {
            self.answered(harp, (Result::CannotTell(Cause::SamplesLost), Answer::Nothing))
        } else {
            Vec::new()
        }
    }

    /// Goes on in a new stream, after a [`gap`](ByEar::gap): the question is posed anew.
    pub(crate) fn restart(&mut self, base: Timebase) {
        (self.base, self.known, self.voice) = (base, 0, Voice::default());
        self.hidden = Hidden::default();
        match self.stage {
            Stage::Told(_) => self.stage = Stage::Told(0),
            Stage::Pose | Stage::Sounding(_) | Stage::Listening(_) => self.stage = Stage::Pose,
            Stage::Over(_) => {}
        }
    }

    /// Takes another tolerance, for the answers to come.
    pub(crate) fn take_tolerance(&mut self, tolerance: Tolerance) {
        self.tolerance = tolerance;
    }

    /// Nothing can be sounded. What has to sound is paused, because it cannot be asked; what can be named is named.
    fn cannot_sound(&mut self) -> Vec<Event> {
        if !self.plan.sounded || matches!(self.stage, Stage::Over(_)) {
            return Vec::new();
        }
        if self.plan.has_to_sound() {
            let was_paused = std::mem::replace(&mut self.paused, true);
            self.back_to_posing();
            return if was_paused { Vec::new() } else { vec![Event::Paused] };
        }
        self.plan.sounded = false;
        if self.is_told() { Vec::new() } else { self.posed() }
    }

    fn is_told(&self) -> bool {
        matches!(self.stage, Stage::Told(_))
    }

    fn back_to_posing(&mut self) {
        if !matches!(self.stage, Stage::Told(_) | Stage::Over(_)) {
            self.stage = Stage::Pose;
        }
    }

    /// Does what the player wants of a question.
    pub(crate) fn steer(&mut self, harp: &Harp, order: &Order) -> Vec<Event> {
        match order {
            Order::Next => self.skip(harp),
            Order::Again => self.again(),
            Order::CannotSound => self.cannot_sound(),
            _ => self.toggle_pause(),
        }
    }

    /// Pauses, or goes on with the question posed anew.
    fn toggle_pause(&mut self) -> Vec<Event> {
        if matches!(self.stage, Stage::Over(_)) {
            return Vec::new();
        }
        self.paused = !self.paused;
        self.back_to_posing();
        match (self.paused, self.is_told()) {
            (true, _) => vec![Event::EarSilent, Event::Paused],
            (false, true) => Vec::new(),
            (false, false) => self.posed(),
        }
    }

    /// Poses the question once more; one that has been told is asked again.
    fn again(&mut self) -> Vec<Event> {
        if self.paused || matches!(self.stage, Stage::Over(_)) {
            return Vec::new();
        }
        let silent = Event::EarSilent;
        let again = if self.is_told() { self.ask_again() } else { self.posed() };
        [silent].into_iter().chain(again).collect()
    }

    /// Passes the question: what it asked is told, and the next one comes.
    fn skip(&mut self, harp: &Harp) -> Vec<Event> {
        if self.paused || matches!(self.stage, Stage::Over(_)) {
            return Vec::new();
        }
        if self.is_told() {
            return self.next(harp);
        }
        let mut events = vec![Event::EarSilent];
        events.extend(self.answered(harp, (Result::Passed, Answer::Nothing)));
        events
    }

    /// The player leaves, or a recording is over: an answer that is complete is judged.
    pub(crate) fn leave(&mut self, harp: &Harp) -> Vec<Event> {
        let mut events = Vec::new();
        if let Stage::Listening(listening) = &mut self.stage
            && let Listening::Call(call) = &mut **listening
            && call.end(&self.plan, harp)
        {
            let answer = call.judge(&self.plan, harp);
            events.extend(self.answered(harp, answer));
        }
        let was_last = self.question.as_ref().is_none_or(|question| question.number >= self.plan.questions);
        let done = self.is_told() && was_last && !self.results.last().is_some_and(Answered::asks_again);
        match self.stage {
            Stage::Over(_) => {}
            _ => events.extend(self.over(if done { Ending::Done } else { Ending::Left })),
        }
        events
    }

    fn over(&mut self, ending: Ending) -> Vec<Event> {
        (self.stage, self.paused) = (Stage::Over(ending), false);
        vec![Event::Ended(ending)]
    }

    /// What is asked by ear.
    pub fn plan(&self) -> &EarPlan {
        &self.plan
    }

    /// Where it stands.
    pub fn phase(&self) -> EarPhase {
        match &self.stage {
            Stage::Over(Ending::Done) => EarPhase::Done,
            Stage::Over(Ending::Left) => EarPhase::Left,
            _ if self.paused => EarPhase::Paused,
            Stage::Told(_) => EarPhase::Told,
            Stage::Pose | Stage::Sounding(_) => EarPhase::Sounding,
            Stage::Listening(_) if self.notes_heard() > 0 => EarPhase::Answering,
            Stage::Listening(_) => EarPhase::Waiting,
        }
    }

    /// How many notes of the answer were heard; what they are is told with the verdict.
    pub fn notes_heard(&self) -> usize {
        match &self.stage {
            Stage::Listening(listening) => match &**listening {
                Listening::Call(call) => call.count(),
                Listening::Held(held) => usize::from(held.live().is_some_and(|live| live.sounding)),
            },
            _ => 0,
        }
    }

    /// The question. What of it may be shown before its verdict is in [`ByEar::told_now`].
    pub fn question(&self) -> Option<&Question> {
        self.question.as_ref()
    }

    /// What was answered, oldest first.
    pub fn results(&self) -> &[Answered] {
        &self.results
    }

    /// The verdict that is told now.
    pub fn told(&self) -> Option<&Answered> {
        self.results.last().filter(|_| self.is_told() || matches!(self.stage, Stage::Over(_)))
    }

    /// Questions that were answered right, and those that were answered.
    pub fn score(&self) -> (usize, usize) {
        let answered = || self.results.iter().filter_map(Answered::is_right);
        (answered().filter(|right| *right).count(), answered().count())
    }

    fn moment(&self) -> Moment {
        self.base.moment(self.known)
    }
}
