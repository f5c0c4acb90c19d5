//! A jam on its way: the count-in, the form that goes round, what was played over it.

use super::note::Ground;
use super::{ChorusOver, JamNote, JamOver, JamPlan, Tally};
use crate::beat::{BeatClock, LEAD_S, count_in_beats};
use crate::run::{Click, StartAt};
use crate::{Ending, Event, RunBegan, Timebase};
use layout::{Harp, Note, Way};
use pitch::Reading;
use scoring::timed::{Divided, Masked, Notes, PlayedAt};
use theory::{ScaleMap, for_player};

/// A note counts when it has sounded this long, seconds; shorter ones are slides and slips of the pitch line.
const COUNTS_S: f64 = 0.07;
/// A chorus is told a beat after its end, but not sooner than this long after it, seconds: a note on its last beat may
/// still sound.
const TAIL_S: f64 = 0.35;

/// Where a jam stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JamPhase {
    /// It waits for the first note.
    Waiting,
    /// It counts in.
    CountIn,
    /// It goes.
    Playing,
    /// Paused by the player.
    Paused,
    /// All choruses are over.
    Done,
    /// The player left before that.
    Left,
}

/// A jam on its way.
#[derive(Clone, Debug)]
pub struct Jam {
    plan: JamPlan,
    /// Has no beat while the jam waits for the first note or the first reading. Its bars are counted from the
    /// beginning: the form goes round.
    beat: BeatClock,
    phase: JamPhase,
    /// Divides the readings into notes.
    divider: Notes,
    /// What was played, in order.
    notes: Vec<JamNote>,
    /// Where the player may not have been heard, and something else may have been.
    masked: Masked,
    /// Choruses that were told.
    told: Vec<ChorusOver>,
    whole: Option<Box<JamOver>>,
}

impl Jam {
    pub(crate) fn new(plan: JamPlan, base: Timebase) -> Self {
        let mut jam = Self {
            beat: BeatClock::new(base, plan.delay_s),
            plan,
            phase: JamPhase::Waiting,
            divider: Notes::new(base.rate, COUNTS_S),
            notes: Vec::new(),
            masked: Masked::default(),
            told: Vec::new(),
            whole: None,
        };
        jam.wait_for(0);
        jam
    }

    /// Waits for the first beat of a bar, counted from 0.
    fn wait_for(&mut self, bar: usize) {
        self.beat.stop_at(bar);
        self.phase = if self.counts_in() { JamPhase::CountIn } else { JamPhase::Waiting };
    }

    fn counts_in(&self) -> bool {
        matches!(self.plan.start, StartAt::CountIn | StartAt::At(_))
    }

    /// Takes one reading.
    pub(crate) fn hear(&mut self, harp: &Harp, reading: &Reading) -> Vec<Event> {
        self.beat.hear(reading.known);
        if !self.goes_on() {
            return Vec::new();
        }
        let mut events = Vec::new();
        if self.beat.zero().is_none() && self.phase == JamPhase::CountIn {
            self.beat.count_in(self.plan.start, LEAD_S + self.count_in_s(), self.rhythm_bar_s());
            events.push(self.began());
        }
        let ended = self.divider.hear(harp.concert(), reading);
        if self.phase == JamPhase::Waiting
            && let Some(first) = ended.as_ref().or(self.divider.sounding()).map(|note| note.began)
        {
            self.beat.begin_with(first, 0.0);
            self.phase = JamPhase::Playing;
            events.push(self.began());
        }
        if let Some(note) = ended {
            events.extend(self.take(harp, &note));
        }
        if self.phase == JamPhase::CountIn && self.beat.is_counted_in(self.rhythm_bar_s()) {
            self.phase = JamPhase::Playing;
        }
        if self.phase == JamPhase::Playing {
            events.extend(self.tell_choruses(harp));
        }
        events
    }

    fn goes_on(&self) -> bool {
        matches!(self.phase, JamPhase::Waiting | JamPhase::CountIn | JamPhase::Playing)
    }

    /// Samples were lost: the note that sounded is over.
    pub(crate) fn gap(&mut self, harp: &Harp) -> Vec<Event> {
        let note = self.divider.end();
        note.and_then(|note| self.take(harp, &note)).into_iter().collect()
    }

    /// Between these samples the player could not be told from what the program sounds: a note that was heard there
    /// becomes one of which nothing can be told, even if it was told when it ended.
    pub(crate) fn mask(&mut self, from: u64, until: u64) {
        self.masked.add(from, until, self.beat.base().rate);
        let masked = self.beat.masked(&self.masked);
        let from_s = self.beat.seconds_of(from);
        let notes = self.notes.iter_mut().rev().take_while(|note| note.played.ended_s > from_s);
        notes.for_each(|note| note.unless(&masked));
    }

    /// Goes on in a new stream, after a [`gap`](Jam::gap): it counts in again, for the bar that was broken off.
    pub(crate) fn restart(&mut self, base: Timebase) {
        let broken_off = self.bar().unwrap_or(0);
        self.beat.restart(base);
        self.divider = Notes::new(base.rate, COUNTS_S);
        self.masked.clear();
        if self.goes_on() {
            self.take_up(broken_off);
            self.wait_for(broken_off);
        }
    }

    /// Pauses, or counts in again for the bar in which it was paused.
    pub(crate) fn toggle_pause(&mut self, harp: &Harp) -> Vec<Event> {
        if self.phase == JamPhase::Paused {
            self.wait_for(self.from_bar());
            return Vec::new();
        }
        if !self.goes_on() {
            return Vec::new();
        }
        let mut events = self.gap(harp);
        self.take_up(self.bar().unwrap_or(0));
        self.phase = JamPhase::Paused;
        events.push(Event::Paused);
        events
    }

    /// The next beat will be the first one of this bar. What was played in it is dropped, because it is played anew.
    fn take_up(&mut self, bar: usize) {
        self.beat.pause_at(bar);
        self.notes.retain(|note| note.bar < bar);
    }

    /// Begins the jam anew.
    pub(crate) fn again(&mut self) {
        let known = self.beat.known();
        *self = Self::new(self.plan.clone(), self.beat.base());
        self.beat.hear(known);
    }

    /// Leaves: what was played until now is told.
    pub(crate) fn leave(&mut self, harp: &Harp) -> Vec<Event> {
        if matches!(self.phase, JamPhase::Done | JamPhase::Left) {
            return Vec::new();
        }
        let mut events = self.gap(harp);
        let until =
            self.now().filter(|_| self.phase == JamPhase::Playing).map(|now_s| now_s / self.rhythm_bar_s());
        let until = until.unwrap_or(self.from_bar() as f64).max(0.0);
        self.phase = JamPhase::Left;
        events.push(self.sum_up(harp, until));
        events.push(Event::Ended(Ending::Left));
        events
    }

    /// Takes another delay: the beats sound as before, and are heard later by the difference.
    pub(crate) fn take_delay(&mut self, delay_s: Option<f64>) {
        self.plan.delay_s = delay_s;
        self.beat.take_delay(delay_s);
    }

    /// Takes a note that is over.
    fn take(&mut self, harp: &Harp, note: &Divided) -> Option<Event> {
        let played = self.placed(note)?;
        let earliest_s = self.beat.earliest_s(self.rhythm_bar_s(), self.plan.rhythm.beat_s());
        let end_s = self.plan.form.last_bar().map_or(f64::INFINITY, |bar| self.bar_s(bar + 1));
        // What this harp cannot sound was not played on it: a bass from the loudspeaker, a voice.
        if !(earliest_s..end_s).contains(&played.onset_s) || harp.ways_to(played.note).is_empty() {
            return None;
        }
        let mut note = Ground::new(&self.plan, harp).tell(played);
        note.unless(&self.beat.masked(&self.masked));
        self.notes.push(note.clone());
        Some(Event::JamNote(Box::new(note)))
    }

    /// Tells the choruses that are over, and at the end all of them together.
    fn tell_choruses(&mut self, harp: &Harp) -> Vec<Event> {
        let mut events = Vec::new();
        loop {
            let bar = (self.told.len() + 1) * self.plan.form.bars();
            let is_last = self.plan.form.last_bar() == Some(bar);
            // The last chorus has a bar more, with the chord on which it ends.
            let bar = if is_last { bar + 1 } else { bar };
            let end_s = self.bar_s(bar);
            if self.now_s() < end_s + self.plan.rhythm.beat_s().max(TAIL_S) {
                return events;
            }
            let sounding = self.divider.sounding().and_then(|note| self.placed(note));
            let sounds = sounding.is_some_and(|note| note.onset_s < end_s);
            // The last chorus ends what sounds; every other one waits for it.
            if sounds && !is_last {
                return events;
            }
            if is_last {
                events.extend(self.gap(harp));
            }
            let ground = Ground::new(&self.plan, harp);
            let from = self.told.len() * self.plan.form.bars();
            let over = ChorusOver {
                number: self.told.len() as u32 + 1,
                tally: Tally::of(&ground, (&self.notes, &self.beat.masked(&self.masked)), (from, bar as f64)),
            };
            self.told.push(over.clone());
            events.push(Event::ChorusOver(Box::new(over)));
            if is_last {
                self.phase = JamPhase::Done;
                events.push(self.sum_up(harp, bar as f64));
                events.push(Event::Ended(Ending::Done));
                return events;
            }
        }
    }

    /// Sums up all that was played in the bars until this one, which may be broken off.
    fn sum_up(&mut self, harp: &Harp, until: f64) -> Event {
        let ground = Ground::new(&self.plan, harp);
        let over = JamOver {
            harp: harp.clone(),
            ended: self.beat.moment(),
            choruses: self.told.len() as u32,
            tally: Tally::of(&ground, (&self.notes, &self.beat.masked(&self.masked)), (0, until)),
            unused: self.unused(harp, &ground),
            plan: self.plan.clone(),
        };
        self.whole = Some(Box::new(over.clone()));
        Event::JamOver(Box::new(over))
    }

    /// The notes of the scale within the player's ability that were not played.
    fn unused(&self, harp: &Harp, ground: &Ground<'_>) -> Vec<Way> {
        let map = ScaleMap::new(harp, &self.plan.scale);
        let played = |note: Note| {
            self.notes.iter().any(|it| it.played.note == note && ground.named(&it.played).is_some())
        };
        let notes = for_player(harp, map.notes_either_way(), &self.plan.ability).into_iter();
        notes.filter(|note| !played(note.note.note)).filter_map(|note| note.way).collect()
    }

    /// What is played over.
    pub fn plan(&self) -> &JamPlan {
        &self.plan
    }

    /// Where it stands.
    pub fn phase(&self) -> JamPhase {
        self.phase
    }

    /// What was played, in order.
    pub fn notes(&self) -> &[JamNote] {
        &self.notes
    }

    /// The choruses that are over.
    pub fn choruses(&self) -> &[ChorusOver] {
        &self.told
    }

    /// What it came to, once it is over.
    pub fn whole(&self) -> Option<&JamOver> {
        self.whole.as_deref()
    }

    /// The note that sounds now as far as it is known, once a pitch has been held.
    pub fn sounding(&self, harp: &Harp) -> Option<JamNote> {
        let played = self.placed(self.divider.sounding()?)?;
        let note = played.held.map(|_| Ground::new(&self.plan, harp).tell(played));
        note.filter(|note| !note.ways.is_empty())
    }

    /// Seconds from the first beat; negative before it. `None` while there is no beat yet.
    pub fn now(&self) -> Option<f64> {
        self.beat.now_s()
    }

    /// Bars from the first beat, with their fraction: where it stands, or was paused or left.
    pub fn bars(&self) -> f64 {
        let from_bar = self.from_bar() as f64;
        match (self.phase, self.now()) {
            (JamPhase::CountIn | JamPhase::Playing, Some(now_s)) => {
                (now_s / self.rhythm_bar_s()).max(from_bar)
            }
            _ => from_bar,
        }
    }

    /// The bar for which it counts in, or at which it was paused.
    pub fn from_bar(&self) -> usize {
        self.beat.first_bar()
    }

    /// Seconds until the count-in is over; `None` where there is no count-in, or no beat yet.
    pub fn to_go_s(&self) -> Option<f64> {
        self.beat.to_go_s(self.rhythm_bar_s()).filter(|_| self.phase == JamPhase::CountIn)
    }

    /// Beats of the count-in: whole bars, three beats at least.
    pub fn count_in_beats(&self) -> u32 {
        count_in_beats(self.plan.rhythm.metre)
    }

    /// Seconds of the count-in.
    pub fn count_in_s(&self) -> f64 {
        f64::from(self.count_in_beats()) * self.plan.rhythm.beat_s()
    }

    /// The clicks of some bars, counted from 0 at the first beat, as far as the jam goes, after a count-in if one is
    /// wanted.
    pub fn clicks(&self, bars: std::ops::Range<usize>, counted_in: bool) -> Vec<Click> {
        if self.plan.start != StartAt::CountIn {
            return Vec::new();
        }
        let count_in = if counted_in { self.count_in_beats() } else { 0 };
        let end = self.plan.form.last_bar().map_or(bars.end, |last| bars.end.min(last));
        self.plan.clicking.clicks(&self.plan.rhythm, count_in, bars.start.min(end)..end)
    }

    /// A note, in seconds from the first beat; `None` while there is no beat.
    fn placed(&self, note: &Divided) -> Option<PlayedAt> {
        Some(PlayedAt::new(note, self.beat.zero()?, self.beat.base().rate))
    }

    fn began(&self) -> Event {
        Event::RunBegan(RunBegan {
            number: 1,
            tempo: self.plan.rhythm.tempo,
            from_bar: self.from_bar(),
            first_beat_samples: self.beat.sounds_at(),
            at: self.beat.moment(),
        })
    }

    fn now_s(&self) -> f64 {
        self.now().unwrap_or_default()
    }

    fn rhythm_bar_s(&self) -> f64 {
        self.plan.rhythm.bar_s()
    }

    fn bar_s(&self, bar: usize) -> f64 {
        bar as f64 * self.rhythm_bar_s()
    }

    /// The bar that is played now.
    fn bar(&self) -> Option<usize> {
        self.now().map(|_| self.bars() as usize)
    }
}
