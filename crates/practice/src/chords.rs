//! A drill of chords on its way: a state machine fed with the reeds that sound together.

use crate::agenda::{Agenda, Stage};
use crate::gate::RELEASED_S;
use crate::hidden::Hidden;
use crate::{Drill, DrillId, Ending, Event, Item, Moment, Phase, ReedSet, ReedSets, Timebase};
use layout::{Breath, Harp};
use pitch::reeds::Sounding;
use scoring::reeds::{ReedsJudge, ReedsOutcome, ReedsTarget, ReedsVerdict};
use serde::Serialize;

mod steer;
mod summary;

pub use summary::ChordSummary;

/// After a verdict the player counts as having let go once there is silence, or once the breath has turned for this
/// long, seconds: whoever goes on from draw to blow without a pause has begun something new.
const TURNED_S: f64 = 0.15;

/// A chord that is asked for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChordAsked {
    /// Index of the item in the drill.
    pub item: usize,
    /// Which try at that item, counted from 1.
    pub attempt: u32,
    /// What to play.
    pub target: ReedsTarget,
}

/// One finished try at a chord, complete in itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChordTried {
    /// The drill.
    pub drill: DrillId,
    /// The harp that was asked to play it.
    pub harp: Harp,
    /// What was asked.
    pub asked: ChordAsked,
    /// When the try began to sound (or was given up as not heard).
    pub began: Moment,
    /// When the verdict was known.
    pub ended: Moment,
    /// The verdict.
    pub verdict: ReedsVerdict,
}

/// A drill of chords on its way.
///
/// * A try ends when it is judged. The next one is asked for at once, and begins when the player has let go, or has
///   turned the breath.
/// * A try that was not heard uses nothing up: it is asked for again, and then waits for as long as it takes.
/// * A try of which nothing can be told is asked for again, and so is one that went wrong while the player may have
///   been hidden by what the program itself sounds.
/// * Items that the harp cannot play are passed over.
#[derive(Clone, Debug)]
pub struct Chords {
    agenda: Agenda,
    base: Timebase,
    stage: Stage,
    paused: bool,
    judge: Option<ReedsJudge>,
    gate: Gate,
    sets: ReedSets,
    /// Sample time up to which something is known, and when something sounded last.
    known: u64,
    last_sound: Option<u64>,
    /// Whether the beginning of this try has been told.
    told_began: bool,
    results: Vec<ChordTried>,
    hidden: Hidden,
}

/// What sounds when a try is asked for belongs to the try before, until the sound ends.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Gate {
    /// The breath of what was sounding; `None` where the gate is open, or nobody knows it.
    breath: Option<Breath>,
    shut: bool,
    /// Since when the other breath sounds.
    turned: Option<u64>,
}

/// The breath of what sounds; `None` in silence.
fn breath_of(sounding: &Sounding) -> Option<Breath> {
    let reed = sounding.voices().next()?.reed?;
    Some(if reed.draw { Breath::Draw } else { Breath::Blow })
}

impl Chords {
    /// Starts a drill; says what is asked first. Where there is nothing to ask it is done from the start.
    pub(crate) fn new(drill: (Drill, Vec<usize>), harp: &Harp, base: Timebase) -> (Self, Vec<Event>) {
        let mut chords = Self {
            agenda: Agenda::new(drill),
            base,
            stage: Stage::Over(Ending::Done),
            paused: false,
            judge: None,
            gate: Gate::default(),
            sets: ReedSets::new(base),
            known: 0,
            last_sound: None,
            told_began: false,
            results: Vec::new(),
            hidden: Hidden::default(),
        };
        let begins = chords.agenda.begin(harp);
        let events = chords.asks_item(begins);
        (chords, events)
    }

    /// Takes a reading of the reeds that sound together; says what it brought about, in order.
    pub(crate) fn hear_reeds(&mut self, harp: &Harp, sounding: &Sounding) -> Vec<Event> {
        self.known = sounding.known;
        self.sets.hear(harp, sounding);
        if sounding.voices().next().is_some() {
            self.last_sound = Some(sounding.time);
        }
        match self.stage {
            _ if self.paused => Vec::new(),
            Stage::Asked => self.listen(harp, sounding),
            Stage::Closing(_) => self.close(sounding.time),
            Stage::Over(_) => Vec::new(),
        }
    }

    fn listen(&mut self, harp: &Harp, sounding: &Sounding) -> Vec<Event> {
        if self.gate.shut && !self.opens(sounding) {
            return Vec::new();
        }
        let Some(judge) = &mut self.judge else { return Vec::new() };
        let verdict = judge.hear(sounding);
        let began = judge.began();
        let mut events = Vec::new();
        if let Some(began) = began
            && !std::mem::replace(&mut self.told_began, true)
        {
            events.push(Event::Began(self.base.moment(began)));
        }
        if let Some(verdict) = verdict {
            events.extend(self.judged(harp, verdict, began.unwrap_or(sounding.time)));
        }
        events
    }

    /// Whether a try may begin with this reading.
    fn opens(&mut self, sounding: &Sounding) -> bool {
        let silent = self.last_sound.is_none_or(|last| self.base.seconds(last, sounding.time) >= RELEASED_S);
        let other = breath_of(sounding).filter(|now| self.gate.breath.is_some_and(|before| before != *now));
        let turned = if other.is_some() {
            let since = *self.gate.turned.get_or_insert(sounding.time);
            self.base.seconds(since, sounding.time) >= TURNED_S
        } else {
            self.gate.turned = None;
            false
        };
        if silent || turned {
            self.gate = Gate::default();
        }
        silent || turned
    }

    /// Keeps a verdict, and asks for what comes next.
    fn judged(&mut self, harp: &Harp, verdict: ReedsVerdict, began: u64) -> Vec<Event> {
        let Some(asked) = self.asking() else { return Vec::new() };
        let breath = match (verdict.outcome, asked.target.breath) {
            (ReedsOutcome::WrongBreath, Breath::Blow) => Breath::Draw,
            (ReedsOutcome::WrongBreath, Breath::Draw) => Breath::Blow,
            (_, breath) => breath,
        };
        let verdict = if self.hidden.excuses_try(began, self.base) { verdict.hidden() } else { verdict };
        let (is_right, again) = (verdict.is_right(), verdict.asks_again());
        let tried = ChordTried {
            drill: self.drill().id(),
            harp: harp.clone(),
            asked,
            began: self.base.moment(began),
            ended: self.base.moment(self.known),
            verdict,
        };
        self.results.push(tried.clone());
        let mut events = vec![Event::ChordJudged(Box::new(tried))];
        events.extend(self.go_on(harp, is_right, again));
        self.gate = Gate { breath: Some(breath), ..self.shut_gate() };
        events
    }

    /// Asks for the same chord again, for the next try or for the next item.
    fn go_on(&mut self, harp: &Harp, is_right: bool, again: bool) -> Vec<Event> {
        if again {
            self.ask();
            return self.asked();
        }
        self.agenda.note(is_right);
        if self.agenda.tries_again() || self.agenda.next(harp) {
            return self.asks_item(true);
        }
        self.stage = Stage::Closing(Some(self.known));
        Vec::new()
    }

    /// Ends the drill when its last verdict has been shown for long enough and the player is silent.
    fn close(&mut self, now: u64) -> Vec<Event> {
        let silent_s = self.last_sound.map_or(f64::INFINITY, |last| self.base.seconds(last, now));
        let is_shown = self.stage.is_shown(self.base, now, silent_s);
        if is_shown { self.over(Ending::Done) } else { Vec::new() }
    }

    /// Asks for the chord that is the current one now; without one the drill is over.
    fn asks_item(&mut self, is_there: bool) -> Vec<Event> {
        if !is_there {
            return self.over(Ending::Done);
        }
        self.ask();
        self.asked()
    }

    /// Begins a try at the current chord.
    fn ask(&mut self) {
        let Some(target) = self.target() else { return };
        let judge = ReedsJudge::new(target, self.base.rate);
        let unheard = self.results.last().is_some_and(|tried| {
            tried.verdict.outcome == ReedsOutcome::NotHeard && Some(&tried.asked) == self.asking().as_ref()
        });
        self.judge = Some(if unheard { judge.patient() } else { judge });
        (self.gate, self.told_began, self.stage) = (self.shut_gate(), false, Stage::Asked);
    }

    /// The gate for a try that is asked for now: what sounds began before it.
    fn shut_gate(&self) -> Gate {
        let sounds =
            self.last_sound.is_some_and(|last| self.base.seconds(last, self.known) < 2.0 * RELEASED_S);
        Gate { shut: sounds, breath: None, turned: None }
    }

    fn over(&mut self, ending: Ending) -> Vec<Event> {
        self.stage = Stage::Over(ending);
        self.paused = false;
        vec![Event::Ended(ending)]
    }

    fn asking(&self) -> Option<ChordAsked> {
        Some(ChordAsked { item: self.item(), attempt: self.attempt(), target: self.target()? })
    }

    /// Says what is asked; in a pause it is said when the pause is over.
    fn asked(&self) -> Vec<Event> {
        match self.stage {
            Stage::Asked if !self.paused => self.asking().map(Event::ChordAsked).into_iter().collect(),
            _ => Vec::new(),
        }
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

    /// What is asked for now; `None` only for a drill without items.
    pub fn target(&self) -> Option<ReedsTarget> {
        self.agenda.current()?.chord()
    }

    /// Which try at the current item, counted from 1.
    pub fn attempt(&self) -> u32 {
        self.agenda.attempt()
    }

    /// How many tries at this item were right one after the other, and how many are wanted, where the drill asks for
    /// that.
    pub fn in_a_row(&self) -> Option<(u32, u32)> {
        self.agenda.in_a_row()
    }

    /// Where it stands.
    pub fn phase(&self) -> Phase {
        match self.stage {
            Stage::Over(Ending::Done) => Phase::Done,
            Stage::Over(Ending::Left) => Phase::Left,
            _ if self.paused => Phase::Paused,
            Stage::Closing(_) => Phase::Judged,
            Stage::Asked if self.gate.shut => Phase::Released,
            Stage::Asked if self.judge.as_ref().is_some_and(|judge| judge.began().is_some()) => {
                Phase::Playing
            }
            Stage::Asked => Phase::Waiting,
        }
    }

    /// How long the current try has sounded, seconds.
    pub fn held_s(&self) -> f64 {
        self.judge.as_ref().map_or(0.0, ReedsJudge::held_s)
    }

    /// The reeds that sound together now, once they do so steadily.
    pub fn together(&self) -> Option<&ReedSet> {
        self.sets.now()
    }

    /// Every finished try, oldest first.
    pub fn results(&self) -> &[ChordTried] {
        &self.results
    }

    /// What it comes to so far.
    pub fn summary(&self) -> ChordSummary {
        ChordSummary::of(self.drill(), &self.results)
    }
}
