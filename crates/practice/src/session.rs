//! A drill on its way: a state machine fed with readings.

use crate::{Asked, Drill, Ending, Event, Phase, Summary, Timebase, Tried};
use layout::Harp;
use pitch::Reading;
use scoring::{Judge, Live, Outcome, Tolerance, Verdict, Voice};

/// A verdict is shown for this long at least, seconds.
const SHOWN_S: f64 = 1.2;
/// The next item follows a verdict after this much silence, seconds.
const PAUSE_S: f64 = 0.5;
/// A try that was asked for while the player was sounding waits for this much silence, seconds.
const ARM_S: f64 = 0.25;

/// A drill on its way: what is asked, and what has been played so far.
///
/// * A verdict is shown for 1.2 s at least, and until there have been 0.5 s of silence; then the next try is asked for.
///   What the player goes on sounding after a verdict, or is sounding when a try is asked for by a key, is judged for
///   nothing: the session waits until they stop. Blips shorter than 0.1 s do not break a silence.
/// * A try that was not heard uses nothing up: it is asked for again, and then waits for as long as it takes.
/// * Where samples were lost during a try it is not scored, and asked for again.
/// * Items that the harp cannot play (a drill read for another harp) are passed over.
#[derive(Clone, Debug)]
pub struct Session {
    drill: Drill,
    tolerance: Tolerance,
    base: Timebase,
    stage: Stage,
    paused: bool,
    item: usize,
    attempt: u32,
    /// The number of the last try at this item: what the drill says, and more by [`Order::Again`](crate::Order::Again).
    last_attempt: u32,
    /// The judge of this try; `None` once there is nothing left to ask.
    judge: Option<Judge>,
    /// The player has been silent since the try was asked for.
    armed: bool,
    voice: Voice,
    /// Seconds of the newest reading, on the stream's clock.
    now: f64,
    /// Sample time up to which something is known.
    known: u64,
    live: Live,
    results: Vec<Tried>,
}

/// Where the session stands, apart from pauses and from what is sounding.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Stage {
    Asked,
    /// The verdict is shown since this sample time; `None` until the next reading tells the time.
    Judged(Option<u64>),
    Over(Ending),
}

impl Session {
    /// Starts a drill; says what is asked first. Where there is nothing to ask (no items, a sample rate outside
    /// [`Judge::SAMPLE_RATES`]) it is done from the start.
    pub(crate) fn new(drill: Drill, harp: &Harp, tolerance: Tolerance, base: Timebase) -> (Self, Vec<Event>) {
        let mut session = Self {
            drill,
            tolerance,
            base,
            stage: Stage::Over(Ending::Done),
            paused: false,
            item: 0,
            attempt: 1,
            last_attempt: 1,
            judge: None,
            armed: true,
            voice: Voice::default(),
            now: 0.0,
            known: 0,
            live: Live::default(),
            results: Vec::new(),
        };
        let events = if session.go_to(harp, 0) { session.asked() } else { session.over(Ending::Done) };
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
            Stage::Judged(since) => self.show(harp, since),
            Stage::Over(_) => Vec::new(),
        }
    }

    /// Samples were lost: a try that was sounding is not scored and is asked again.
    pub(crate) fn gap(&mut self, harp: &Harp) -> Vec<Event> {
        (self.voice, self.now) = (Voice::default(), 0.0);
        let began = self.judge.as_ref().and_then(Judge::began);
        let Some(verdict) = self.judge.as_mut().and_then(Judge::gap) else { return Vec::new() };
        if self.stage != Stage::Asked || self.paused {
            return Vec::new();
        }
        self.judged(harp, verdict, began.unwrap_or(self.known))
    }

    /// Goes on in a new stream, after a [`gap`](Session::gap).
    pub(crate) fn restart(&mut self, harp: &Harp, base: Timebase) {
        self.base = base;
        self.known = 0;
        match self.stage {
            Stage::Asked => self.ask(harp, self.armed),
            Stage::Judged(_) => self.stage = Stage::Judged(None),
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
            self.ask(harp, !self.sounding());
        }
        if self.paused { vec![Event::Paused] } else { self.asked() }
    }

    /// Leaves the current item for the next one.
    pub(crate) fn skip(&mut self, harp: &Harp) -> Vec<Event> {
        match self.stage {
            Stage::Over(_) => Vec::new(),
            Stage::Asked | Stage::Judged(_) => self.next_item(harp),
        }
    }

    /// The player leaves. Says so unless the drill is over already.
    pub(crate) fn leave(&mut self) -> Vec<Event> {
        match self.stage {
            Stage::Over(_) => Vec::new(),
            Stage::Asked | Stage::Judged(_) => self.over(Ending::Left),
        }
    }

    /// Takes the current (or just judged) item once more; earlier results stay.
    ///
    /// A try that is going on begins afresh. After a verdict, and at the end of the drill, it is one more try than the
    /// drill has.
    pub(crate) fn again(&mut self, harp: &Harp) -> Vec<Event> {
        match self.stage {
            Stage::Asked => {}
            Stage::Judged(_) => {
                self.attempt = self.attempt.saturating_add(1);
                self.last_attempt = self.last_attempt.saturating_add(1);
            }
            Stage::Over(_) => {
                self.attempt = self.attempt.saturating_add(1);
                self.last_attempt = self.attempt;
            }
        }
        self.ask(harp, !self.sounding());
        self.asked()
    }

    /// The drill.
    pub fn drill(&self) -> &Drill {
        &self.drill
    }

    /// Index of the current item; at the end of the drill, of the last one.
    pub fn item(&self) -> usize {
        self.item
    }

    /// Which try at the current item, counted from 1.
    pub fn attempt(&self) -> u32 {
        self.attempt
    }

    /// Where the session stands.
    pub fn phase(&self) -> Phase {
        match self.stage {
            Stage::Over(Ending::Done) => Phase::Done,
            Stage::Over(Ending::Left) => Phase::Left,
            _ if self.paused => Phase::Paused,
            Stage::Judged(_) => Phase::Judged,
            Stage::Asked if self.judge.as_ref().is_some_and(|judge| judge.began().is_some()) => {
                Phase::Playing
            }
            Stage::Asked => Phase::Waiting,
        }
    }

    /// How the current try stands. While a verdict is shown, what is held and reached stays as it was at its end.
    pub fn live(&self) -> Live {
        self.live
    }

    /// Every finished try, oldest first.
    pub fn results(&self) -> &[Tried] {
        &self.results
    }

    /// What the session comes to so far.
    pub fn summary(&self) -> Summary {
        Summary::of(&self.drill, &self.results)
    }

    /// How near is near enough in this drill.
    pub fn tolerance(&self) -> Tolerance {
        self.tolerance
    }

    fn sounding(&self) -> bool {
        self.voice.since().is_some()
    }

    /// Hands a reading to the judge.
    fn listen(&mut self, harp: &Harp, reading: &Reading) -> Vec<Event> {
        if !self.armed {
            self.armed = self.voice.silent_s(self.now) >= ARM_S;
            return Vec::new();
        }
        let Some(judge) = &mut self.judge else { return Vec::new() };
        let began_before = judge.began();
        let verdict = judge.hear(reading);
        let began = judge.began().or(began_before);
        self.live = judge.live();
        let mut events = Vec::new();
        if let (None, Some(began)) = (began_before, began) {
            events.push(Event::Began(self.base.moment(began)));
        }
        if let Some(verdict) = verdict {
            events.extend(self.judged(harp, verdict, began.unwrap_or(reading.time)));
        }
        events
    }

    /// Keeps a verdict; a try that was not scored is asked for again at once.
    fn judged(&mut self, harp: &Harp, verdict: Verdict, began: u64) -> Vec<Event> {
        let Some(asked) = self.asking() else { return Vec::new() };
        let tried = Tried {
            drill: self.drill.id(),
            harp: harp.clone(),
            asked,
            tolerance: self.tolerance,
            began: self.base.moment(began),
            ended: self.base.moment(self.known),
            verdict,
        };
        self.results.push(tried.clone());
        let mut events = vec![Event::Judged(Box::new(tried))];
        if verdict.outcome == Outcome::NotScored {
            self.ask(harp, false);
            events.extend(self.asked());
        } else {
            self.stage = Stage::Judged(Some(self.known));
        }
        events
    }

    /// Moves on from a verdict when it has been shown for long enough and the player is silent.
    fn show(&mut self, harp: &Harp, since: Option<u64>) -> Vec<Event> {
        let since = since.unwrap_or(self.known);
        self.stage = Stage::Judged(Some(since));
        let shown_s = self.base.seconds(since, self.known);
        if shown_s < SHOWN_S || self.voice.silent_s(self.now) < PAUSE_S {
            return Vec::new();
        }
        if self.unheard() {
            self.ask(harp, true);
            return self.asked();
        }
        if self.attempt >= self.last_attempt {
            return self.next_item(harp);
        }
        self.attempt += 1;
        self.ask(harp, true);
        self.asked()
    }

    fn next_item(&mut self, harp: &Harp) -> Vec<Event> {
        if self.go_to(harp, self.item + 1) { self.asked() } else { self.over(Ending::Done) }
    }

    fn over(&mut self, ending: Ending) -> Vec<Event> {
        self.stage = Stage::Over(ending);
        vec![Event::Ended(ending)]
    }

    /// Asks for the first item from `item` on that the harp can play; `false` if there is none.
    fn go_to(&mut self, harp: &Harp, item: usize) -> bool {
        let playable = |item: &usize| {
            self.drill.items.get(*item).is_some_and(|item| harp.note(item.target.way).is_some())
        };
        let Some(item) = (item..self.drill.items.len()).find(playable) else { return false };
        (self.item, self.attempt, self.last_attempt) = (item, 1, self.drill.items[item].tries);
        self.ask(harp, !self.sounding());
        true
    }

    /// This very try was asked for before and not heard.
    fn unheard(&self) -> bool {
        self.results.last().is_some_and(|tried| {
            (tried.asked.item, tried.asked.attempt) == (self.item, self.attempt)
                && tried.verdict.outcome == Outcome::NotHeard
        })
    }

    /// Begins a try at the current item; unless `armed`, after a silence.
    fn ask(&mut self, harp: &Harp, armed: bool) {
        let item = self.drill.items.get(self.item);
        let judge = item.and_then(|item| Judge::new(harp, item.target, self.tolerance, self.base.rate));
        self.judge = if self.unheard() { judge.map(Judge::patient) } else { judge };
        self.armed = armed;
        self.live = Live::default();
        if self.judge.is_some() {
            self.stage = Stage::Asked;
        }
    }

    /// What is asked now.
    fn asking(&self) -> Option<Asked> {
        let target = self.drill.items.get(self.item)?.target;
        Some(Asked { item: self.item, attempt: self.attempt, target })
    }

    /// Says what is asked; in a pause it is said when the pause is over.
    fn asked(&self) -> Vec<Event> {
        match self.stage {
            Stage::Asked if !self.paused => self.asking().map(Event::Asked).into_iter().collect(),
            _ => Vec::new(),
        }
    }
}
