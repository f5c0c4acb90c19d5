//! A drill on its way: a state machine fed with readings.

mod shown;

use crate::agenda::{Agenda, Stage};
use crate::gate::{Gate, Opened};
use crate::hidden::Hidden;
use crate::hint;
use crate::{Asked, Drill, Ending, Event, Feedback, Item, Phase, Summary, Timebase, Tried};
use layout::Harp;
use pitch::Reading;
use pitch::reeds::Sounding;
use scoring::reeds::Company;
use scoring::{Judge, Live, Outcome, Target, Tolerance, Verdict, Voice};

/// A drill on its way: what is asked, and what has been played so far.
///
/// * A try ends when it is judged, and the next one is asked for at once. What goes on sounding from the judged note is
///   its release and is judged for nothing. The next try begins with a new sound, or with a slur into what is asked
///   for.
/// * The notes of a joined item follow one another without a pause: each is asked for when the one before is judged.
/// * A try that was not heard uses nothing up: it is asked for again, and then waits for as long as it takes.
/// * A try of which nothing can be told is asked for again, and so is one that went wrong while the player may have
///   been hidden by what the program itself sounds.
/// * Items that the harp cannot play (a drill read for another harp) are passed over.
#[derive(Clone, Debug)]
pub struct Session {
    agenda: Agenda,
    tolerance: Tolerance,
    base: Timebase,
    stage: Stage,
    paused: bool,
    /// Which note of the item is asked for.
    note: usize,
    /// The judge of this try; `None` once there is nothing left to ask.
    judge: Option<Judge>,
    gate: Gate,
    voice: Voice,
    /// Seconds of the newest reading, on the stream's clock.
    now: f64,
    /// Sample time up to which something is known.
    known: u64,
    live: Live,
    results: Vec<Tried>,
    feedback: Feedback,
    /// The player was asked whether another harp is in the hand.
    hinted: bool,
    company: Company,
    hidden: Hidden,
}

impl Session {
    /// Starts a drill; says what is asked first. Where there is nothing to ask (no items, a sample rate outside
    /// [`Judge::SAMPLE_RATES`]) it is done from the start.
    pub(crate) fn new(
        drill: (Drill, Vec<usize>),
        harp: &Harp,
        tolerance: Tolerance,
        base: Timebase,
    ) -> (Self, Vec<Event>) {
        let mut session = Self {
            agenda: Agenda::new(drill),
            tolerance,
            base,
            stage: Stage::Over(Ending::Done),
            paused: false,
            note: 0,
            judge: None,
            gate: Gate::open(),
            voice: Voice::default(),
            now: 0.0,
            known: 0,
            live: Live::default(),
            results: Vec::new(),
            feedback: Feedback::default(),
            hinted: false,
            company: Company::new(base.rate),
            hidden: Hidden::default(),
        };
        let begins = session.agenda.begin(harp);
        let events = session.asks_item(harp, begins, Gate::open());
        (session, events)
    }

    /// Takes one reading; says what it brought about, in order.
    pub(crate) fn hear(&mut self, harp: &Harp, reading: &Reading) -> Vec<Event> {
        self.known = reading.known;
        let cents_off = self.judge.as_ref().and_then(|judge| judge.cents_off(reading));
        self.now = self.base.moment(self.known).seconds();
        self.voice.hear(self.now, cents_off.is_some());
        self.live.sounding = self.sounding();
        self.live.cents_off = cents_off.or(self.live.cents_off.filter(|_| self.live.sounding));
        match self.stage {
            _ if self.paused => Vec::new(),
            Stage::Asked => self.listen(harp, reading),
            Stage::Closing(_) => self.close(),
            Stage::Over(_) => Vec::new(),
        }
    }

    /// Takes a reading of the reeds that sound together.
    pub(crate) fn hear_reeds(&mut self, sounding: &Sounding) {
        self.company.hear(sounding);
    }

    /// Between these samples the player could not be told from what the program sounds.
    pub(crate) fn mask(&mut self, from: u64, until: u64) {
        self.hidden.add((from, until), self.base);
    }

    /// Samples were lost, or left out because of what the program sounds: of a try that was sounding nothing can be
    /// told, and it is asked again.
    pub(crate) fn gap(&mut self, harp: &Harp) -> Vec<Event> {
        let sounded = self.sounding();
        (self.voice, self.now) = (Voice::default(), 0.0);
        self.company = Company::new(self.base.rate);
        let began = self.judge.as_ref().and_then(Judge::began);
        let verdict = self.judge.as_mut().and_then(Judge::gap);
        let left_out = self.hidden.goes_beyond(self.known, self.base);
        let verdict = verdict.map(|verdict| if left_out { verdict.hidden() } else { verdict });
        if self.stage != Stage::Asked || self.paused {
            return Vec::new();
        }
        let rest = if sounded { Gate::after_unknown() } else { Gate::open() };
        let events =
            verdict.map_or(Vec::new(), |verdict| self.judged(harp, verdict, began.unwrap_or(self.known)));
        self.gate = rest;
        events
    }

    /// Goes on in a new stream, after a [`gap`](Session::gap).
    pub(crate) fn restart(&mut self, harp: &Harp, base: Timebase) {
        self.base = base;
        self.company = Company::new(base.rate);
        self.hidden = Hidden::default();
        self.known = 0;
        match self.stage {
            Stage::Asked => {
                let gate = std::mem::replace(&mut self.gate, Gate::open());
                self.ask(harp, gate);
            }
            Stage::Closing(_) => self.stage = Stage::Closing(None),
            Stage::Over(_) => {}
        }
    }

    /// Pauses, or goes on. A try that is sounding is dropped without a verdict.
    pub(crate) fn toggle_pause(&mut self, harp: &Harp) -> Vec<Event> {
        if matches!(self.stage, Stage::Over(_)) {
            return Vec::new();
        }
        self.paused = !self.paused;
        if self.stage == Stage::Asked {
            let gate = self.gate_now();
            self.ask(harp, gate);
        }
        if self.paused { vec![Event::Paused] } else { self.asked() }
    }

    /// Takes another tolerance of the player's. A try that is going on begins afresh; what has been judged stays.
    pub(crate) fn take_tolerance(&mut self, harp: &Harp, tolerance: Tolerance) -> Vec<Event> {
        self.tolerance = tolerance;
        if self.stage != Stage::Asked {
            return Vec::new();
        }
        let gate = self.gate_now();
        self.note = 0;
        self.ask(harp, gate);
        self.asked()
    }

    /// Leaves the current item for the next one.
    pub(crate) fn skip(&mut self, harp: &Harp) -> Vec<Event> {
        match self.stage {
            Stage::Over(_) => Vec::new(),
            Stage::Asked | Stage::Closing(_) => {
                let gate = self.gate_now();
                let is_there = self.agenda.next(harp);
                self.asks_item(harp, is_there, gate)
            }
        }
    }

    /// The player leaves. Says so unless the drill is over already.
    pub(crate) fn leave(&mut self) -> Vec<Event> {
        match self.stage {
            Stage::Over(_) => Vec::new(),
            // Everything was judged already; only the last verdict was still to be looked at.
            Stage::Closing(_) => self.over(Ending::Done),
            Stage::Asked => {
                let unfinished = self.asking().zip(self.began());
                let mut events: Vec<Event> = unfinished
                    .map(|(asked, began)| Event::Unfinished(asked, self.base.moment(began)))
                    .into_iter()
                    .collect();
                events.extend(self.over(Ending::Left));
                events
            }
        }
    }

    /// Takes the current (or just judged) item once more; earlier results stay.
    ///
    /// A try that is going on begins afresh. After a verdict it is one more try than the drill has.
    pub(crate) fn again(&mut self, harp: &Harp) -> Vec<Event> {
        let gate = self.gate_now();
        let judged = |tried: &&Tried| !tried.verdict.asks_again();
        match self.stage {
            Stage::Asked if self.began().is_some() || self.note > 0 => self.note = 0,
            // Nothing has been played since the last verdict: the judged item is meant.
            Stage::Asked => {
                let last = self.results.last().filter(judged).map(|tried| tried.asked.item);
                if let Some(item) = last
                    && self.agenda.back_to(item, self.attempts_at(item))
                {
                    self.note = 0;
                }
            }
            Stage::Closing(_) | Stage::Over(_) => {
                self.note = 0;
                self.agenda.one_more();
            }
        }
        self.ask(harp, gate);
        self.asked()
    }

    /// The drill.
    pub fn drill(&self) -> &Drill {
        self.agenda.drill()
    }

    /// Index of the current item in the drill; at the end of the drill, of the last one.
    pub fn item(&self) -> usize {
        self.agenda.item()
    }

    /// How many items stand before the current one in the order in which they are asked for.
    pub fn place(&self) -> usize {
        self.agenda.place()
    }

    /// Indices of the items in the order in which they are asked for.
    pub fn order(&self) -> &[usize] {
        self.agenda.order()
    }

    /// The items after the current one, in the order in which they are asked for.
    pub fn coming(&self) -> impl Iterator<Item = &Item> {
        self.agenda.coming()
    }

    /// Which note of the current item is asked for, counted from 0.
    pub fn note(&self) -> usize {
        self.note
    }

    /// What is asked for now; `None` only for a drill without items.
    pub fn target(&self) -> Option<Target> {
        self.agenda.current()?.notes().get(self.note).copied()
    }

    /// Which try at the current item, counted from 1.
    pub fn attempt(&self) -> u32 {
        self.agenda.attempt()
    }

    /// How many tries at this item have landed one after the other, and how many are wanted, where the drill asks for
    /// that.
    pub fn in_a_row(&self) -> Option<(u32, u32)> {
        self.agenda.in_a_row()
    }

    /// Where the session stands.
    pub fn phase(&self) -> Phase {
        match self.stage {
            Stage::Over(Ending::Done) => Phase::Done,
            Stage::Over(Ending::Left) => Phase::Left,
            _ if self.paused => Phase::Paused,
            Stage::Closing(_) => Phase::Judged,
            Stage::Asked if self.gate.waits() => Phase::Released,
            Stage::Asked if self.began().is_some() => Phase::Playing,
            Stage::Asked => Phase::Waiting,
        }
    }

    /// How the current try stands. While the last verdict is shown, what is held and reached stays as it was at its
    /// end.
    pub fn live(&self) -> Live {
        self.live
    }

    /// What the session comes to so far.
    pub fn summary(&self) -> Summary {
        Summary::of(self.drill(), &self.results)
    }

    /// How near is near enough for the current item.
    pub fn tolerance(&self) -> Tolerance {
        self.agenda.current().and_then(|item| item.tolerance).unwrap_or(self.tolerance)
    }

    fn sounding(&self) -> bool {
        self.voice.since().is_some()
    }

    fn began(&self) -> Option<u64> {
        self.judge.as_ref().and_then(Judge::began)
    }

    /// How many tries there were at an item of the drill.
    fn attempts_at(&self, item: usize) -> u32 {
        let attempts = self.results.iter().filter(|tried| tried.asked.item == item);
        attempts.map(|tried| tried.asked.attempt).max().unwrap_or(0)
    }

    /// The gate for a try that is asked for now, by a key: what sounds began before it.
    fn gate_now(&self) -> Gate {
        match (&self.judge, self.sounding(), self.live.cents_off) {
            (_, false, _) => Gate::open(),
            (Some(judge), true, Some(cents)) => Gate::after(judge, cents),
            _ => Gate::after_unknown(),
        }
    }

    /// Hands a reading to the judge, once the gate lets it through.
    fn listen(&mut self, harp: &Harp, reading: &Reading) -> Vec<Event> {
        let Some(judge) = &self.judge else { return Vec::new() };
        match self.gate.hear(judge, reading, self.now) {
            Opened::Shut => {
                self.forget_slur(harp);
                return Vec::new();
            }
            Opened::Afresh => self.judge = self.judge_for(harp),
            Opened::Slurred => self.judge = self.judge_for(harp).map(|judge| self.gate.longer(judge)),
            Opened::Open => {}
        }
        let Some(judge) = &mut self.judge else { return Vec::new() };
        let began_before = judge.began();
        let verdict = judge.hear(reading);
        let began = judge.began().or(began_before);
        self.live = judge.live();
        let mut events = Vec::new();
        if let Some(began) = began.filter(|_| verdict.is_some() || self.gate.counts())
            && self.gate.tell_began()
        {
            events.push(Event::Began(self.base.moment(began)));
        }
        if let Some(verdict) = verdict {
            events.extend(self.judged(harp, verdict, began.unwrap_or(reading.time)));
        }
        events
    }

    /// A slur that went back to the judged note was no try, and nothing is held for it.
    fn forget_slur(&mut self, harp: &Harp) {
        if self.began().is_some() {
            self.judge = self.judge_for(harp);
            self.live = Live { held_s: 0.0, reached_s: None, ..self.live };
        }
    }

    /// Keeps a verdict, and asks for what comes next.
    fn judged(&mut self, harp: &Harp, verdict: Verdict, began: u64) -> Vec<Event> {
        let Some(asked) = self.asking() else { return Vec::new() };
        let excused = self.hidden.excuses_try(began, self.base);
        let verdict = if excused { verdict.hidden() } else { verdict };
        let is_clean = verdict.is_near() && self.agenda.current().is_some_and(|item| item.clean);
        let clean = is_clean.then(|| self.company.of(asked.target.way, (began, self.known)));
        let tried = Tried {
            clean: clean.map(|clean| if excused { clean.hidden() } else { clean }),
            drill: self.drill().id(),
            harp: harp.clone(),
            asked,
            tolerance: self.tolerance(),
            feedback: self.feedback,
            began: self.base.moment(began),
            ended: self.base.moment(self.known),
            verdict,
            trace: self.judge.as_ref().map(Judge::trace).unwrap_or_default(),
        };
        let landed = tried.has_landed();
        self.results.push(tried.clone());
        let mut events = vec![Event::Judged(Box::new(tried))];
        if let Some(key) = hint::other_key(&self.results, harp).filter(|_| !self.hinted) {
            self.hinted = true;
            events.push(Event::OtherHarp(key));
        }
        let gate = self.gate_after(&verdict);
        events.extend(self.go_on(harp, (&verdict, landed), gate));
        events
    }

    /// The gate for the try after a verdict.
    fn gate_after(&self, verdict: &Verdict) -> Gate {
        let centre = verdict.figures.map(|figures| figures.cents_off).or(self.live.cents_off);
        match (&self.judge, self.sounding(), centre) {
            (_, false, _) => Gate::open(),
            (Some(judge), true, Some(centre)) => Gate::after(judge, centre),
            _ => Gate::after_unknown(),
        }
    }

    /// Asks for the same note again, for the next note of the item, for the next try or for the next item.
    fn go_on(&mut self, harp: &Harp, (verdict, landed): (&Verdict, bool), gate: Gate) -> Vec<Event> {
        if verdict.asks_again() {
            self.ask(harp, gate);
            return self.asked();
        }
        self.agenda.note(landed);
        let Some(item) = self.agenda.current() else { return self.over(Ending::Done) };
        if self.note + 1 < item.notes().len() {
            self.note += 1;
            self.ask(harp, gate.joined());
            return self.asked();
        }
        if self.agenda.tries_again() || self.agenda.next(harp) {
            return self.asks_item(harp, true, gate);
        }
        self.stage = Stage::Closing(Some(self.known));
        Vec::new()
    }

    /// Ends the drill when its last verdict has been shown for long enough and the player is silent.
    fn close(&mut self) -> Vec<Event> {
        let is_shown = self.stage.is_shown(self.base, self.known, self.voice.silent_s(self.now));
        if is_shown { self.over(Ending::Done) } else { Vec::new() }
    }

    /// Asks for the first note of the item that is the current one now; without one the drill is over.
    fn asks_item(&mut self, harp: &Harp, is_there: bool, gate: Gate) -> Vec<Event> {
        if !is_there {
            return self.over(Ending::Done);
        }
        self.note = 0;
        self.ask(harp, gate);
        self.asked()
    }

    fn over(&mut self, ending: Ending) -> Vec<Event> {
        self.stage = Stage::Over(ending);
        self.paused = false;
        vec![Event::Ended(ending)]
    }

    /// This very note was asked for before and not heard.
    fn unheard(&self) -> bool {
        self.results.last().is_some_and(|tried| {
            matches!(tried.verdict.outcome, Outcome::NotHeard(_))
                && Some(&tried.asked) == self.asking().as_ref()
        })
    }

    fn judge_for(&self, harp: &Harp) -> Option<Judge> {
        let judge = Judge::new(harp, self.target()?, self.tolerance(), self.base.rate)?;
        Some(if self.unheard() { judge.patient() } else { judge })
    }

    /// Begins a try at the current note.
    fn ask(&mut self, harp: &Harp, gate: Gate) {
        self.judge = self.judge_for(harp);
        self.gate = gate;
        self.live = Live { sounding: self.live.sounding, ..Live::default() };
        if self.judge.is_some() {
            self.stage = Stage::Asked;
        }
    }

    /// What is asked now.
    fn asking(&self) -> Option<Asked> {
        Some(Asked { item: self.item(), note: self.note, attempt: self.attempt(), target: self.target()? })
    }

    /// Says what is asked; in a pause it is said when the pause is over.
    fn asked(&self) -> Vec<Event> {
        match self.stage {
            Stage::Asked if !self.paused => self.asking().map(Event::Asked).into_iter().collect(),
            _ => Vec::new(),
        }
    }
}
