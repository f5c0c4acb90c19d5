//! A run on its way: count-in, playing, what came of it, and the next one.

mod ear;
mod model;
mod steer;

use super::plan::{Plan, RunPhase, StartAt};
use super::{Click, Ladder, Over, Rhythm, Tempi, Tempo};
use crate::beat::{BeatClock, LEAD_S, count_in_beats};
use crate::{Ending, Event, RunBegan, RunJudged, Timebase};
use ear::{RunEar, Sounded};
use layout::Harp;
use pitch::Reading;
use pitch::reeds::Sounding;
use scoring::Tolerance;
use scoring::timed::{AskedNote, Beat, Follower, Masked, NoteVerdict, PlayedAt, RunVerdict, Whole, so_far};

/// A note of a run counts when it has sounded this long, seconds: sixteenths at 240 beats a minute last 62 ms.
const COUNTS_S: f64 = 0.06;
/// Between two runs the verdict is shown for this long before the count-in of the next, seconds.
const SHOWN_S: f64 = 3.0;
/// After the last bar a run listens for late notes this long, in beats, and this long at least, seconds.
const TAIL_BEATS: f64 = 1.0;
const TAIL_S: f64 = 0.35;
/// A run in free time, or one that begins with its first note, is over after so much silence, seconds.
const SILENCE_S: f64 = 2.0;

/// Runs on their way.
#[derive(Clone, Debug)]
pub struct Running {
    plan: Plan,
    tolerance: Tolerance,
    /// Has no beat while the run waits for the first note or the first reading.
    beat: BeatClock,
    phase: RunPhase,
    /// Which run it is, counted from 1.
    number: u32,
    tempo: Tempo,
    /// The full tempo, from which the tempo of each run follows.
    full: Tempo,
    /// Runs with a beat that are over and of which something can be told.
    counted: u32,
    asked: Vec<AskedNote>,
    /// When the verdict that is shown came, samples.
    shown: u64,
    notes: RunEar,
    played: Vec<PlayedAt>,
    /// Where the player may not have been heard.
    masked: Masked,
    follower: Follower,
    ladder: Ladder,
    results: Vec<RunJudged>,
    /// The last sample at which a note sounded.
    last_sound: Option<u64>,
}

impl Running {
    pub(crate) fn new(plan: Plan, harp: &Harp, tolerance: Tolerance, base: Timebase) -> Self {
        let full = plan.material.rhythm.tempo;
        let tempo = if plan.own_tempo_first { full } else { plan.tempi.of_run(1, full) };
        let mut running = Self {
            tolerance,
            beat: BeatClock::new(base, plan.delay_s),
            phase: RunPhase::Waiting,
            number: 1,
            tempo,
            full,
            counted: 0,
            asked: Vec::new(),
            shown: 0,
            notes: RunEar::new(plan.material.is_of_chords(), base.rate, COUNTS_S),
            played: Vec::new(),
            masked: Masked::default(),
            follower: Follower::new(&[], harp, true),
            ladder: Ladder::default(),
            results: Vec::new(),
            last_sound: None,
            plan,
        };
        running.fresh(harp);
        running
    }

    /// Waits for the first beat of a bar, counted from 0.
    fn wait_for(&mut self, bar: usize) {
        self.beat.stop_at(bar);
        self.phase = match self.start() {
            StartAt::FirstNote | StartAt::FreeTime => RunPhase::Waiting,
            StartAt::CountIn | StartAt::At(_) => RunPhase::CountIn,
        };
    }

    /// Takes one reading.
    pub(crate) fn hear(&mut self, harp: &Harp, reading: &Reading) -> Vec<Event> {
        self.beat.hear(reading.known);
        match self.phase {
            RunPhase::Paused | RunPhase::Held | RunPhase::Done | RunPhase::Left => return Vec::new(),
            RunPhase::Model => return self.hear_model(reading),
            RunPhase::Shown => {
                if self.beat.base().seconds(self.shown, self.beat.known()) >= SHOWN_S {
                    self.begin_run(harp);
                }
                return Vec::new();
            }
            RunPhase::Waiting | RunPhase::CountIn | RunPhase::Playing => {}
        }
        let mut events = Vec::new();
        if self.beat.zero().is_none() && self.phase == RunPhase::CountIn {
            self.beat.count_in(self.start(), LEAD_S + self.count_in_s(), self.rhythm().bar_s());
            events.push(self.began());
        }
        if reading.hz.is_some() {
            self.last_sound = Some(reading.time);
        }
        let ended = self.notes.hear(harp.concert(), reading);
        events.extend(self.begin_with_first(&ended));
        self.take(&ended);
        if self.phase == RunPhase::CountIn && self.beat.is_counted_in(self.rhythm().bar_s()) {
            self.phase = RunPhase::Playing;
        }
        if self.phase == RunPhase::Playing && self.is_over() {
            events.extend(self.finish(harp));
        }
        events
    }

    /// Takes a reading of the reeds that sound together.
    pub(crate) fn hear_reeds(&mut self, sounding: &Sounding) -> Option<Event> {
        if !matches!(self.phase, RunPhase::Waiting | RunPhase::CountIn | RunPhase::Playing) {
            return None;
        }
        let ended = self.notes.hear_reeds(sounding);
        // A chord may be over before the level alone shows that it is one.
        let began = self.begin_with_first(&ended);
        self.take(&ended);
        began
    }

    /// Where the run waits for the first note, that note gives the first beat.
    fn begin_with_first(&mut self, ended: &[Sounded]) -> Option<Event> {
        let first = ended.first().map(Sounded::began).or(self.notes.sounding());
        let first = first.filter(|_| self.phase == RunPhase::Waiting)?;
        // A phrase may begin with a rest.
        let before_s = self.asked.first().map_or(0.0, |asked| asked.onset_s);
        self.beat.begin_with(first, before_s);
        self.phase = RunPhase::Playing;
        Some(self.began())
    }

    fn fresh_ear(&self) -> RunEar {
        RunEar::new(self.plan.material.is_of_chords(), self.beat.base().rate, COUNTS_S)
    }

    /// Samples were lost: the note that sounded is over.
    pub(crate) fn gap(&mut self) {
        let ended = self.notes.end();
        self.take(&ended);
    }

    /// Between these samples the player could not be told from what the program sounds.
    pub(crate) fn mask(&mut self, from: u64, until: u64) {
        self.masked.add(from, until, self.beat.base().rate);
    }

    /// Goes on in a new stream, after a [`gap`](Running::gap): it counts in again, for the bar that was broken off.
    pub(crate) fn restart(&mut self, base: Timebase) {
        // By the old stream; in the new one nothing has been heard yet.
        let broken_off = self.bar().unwrap_or(0);
        let had_beat = self.beat.zero().is_some();
        self.beat.restart(base);
        self.notes = self.fresh_ear();
        self.masked.clear();
        self.last_sound = None;
        match self.phase {
            RunPhase::Playing | RunPhase::CountIn => {
                self.wait_for(broken_off);
            }
            RunPhase::Shown => self.shown = 0,
            // A model that had begun to sound is not begun again.
            RunPhase::Model if had_beat => self.wait_for(0),
            _ => {}
        }
    }

    /// Takes another tolerance; the run that goes on is judged by it when it is over.
    pub(crate) fn take_tolerance(&mut self, tolerance: Tolerance) {
        self.tolerance = tolerance;
    }

    /// Takes another delay: the beats sound as before, and are heard later by the difference.
    pub(crate) fn take_delay(&mut self, delay_s: Option<f64>) {
        self.plan.delay_s = delay_s;
        self.beat.take_delay(delay_s);
    }

    /// What is practised.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Where it stands.
    pub fn phase(&self) -> RunPhase {
        self.phase
    }

    /// Which run it is, counted from 1.
    pub fn number(&self) -> u32 {
        self.number
    }

    /// The tempo of this run.
    pub fn tempo(&self) -> Tempo {
        self.tempo
    }

    /// The notes of this run, in seconds from its first beat.
    pub fn asked(&self) -> &[AskedNote] {
        &self.asked
    }

    /// The rhythm of this run.
    pub fn rhythm(&self) -> Rhythm {
        self.plan.material.rhythm.at(self.tempo)
    }

    /// What can be told by now of each note that is asked; `None` of one that is to come, or may still be sounding.
    /// Early and late count as in the verdict on the whole run.
    pub fn so_far(&self, harp: &Harp) -> Vec<Option<NoteVerdict>> {
        if self.phase == RunPhase::Model {
            return vec![None; self.asked.len()];
        }
        let now_s = if self.is_timed() { self.now() } else { None };
        // As long as something sounds, it may be the note that seems to be missing.
        let over_s = now_s.filter(|_| self.notes.sounding().is_none()).map(|now| now - self.tail_s());
        let over_s = over_s.unwrap_or(f64::NEG_INFINITY);
        let path = self.follower.path(now_s.unwrap_or(f64::NEG_INFINITY));
        let notes = (&self.asked[..], &self.played[..], &self.beat.masked(&self.masked));
        so_far(notes, (&path, over_s), (harp, self.tolerance), self.held_against())
    }

    /// The bar that it counts in for, or at which it was paused.
    pub fn from_bar(&self) -> usize {
        self.beat.first_bar()
    }

    /// Seconds until the count-in is over; `None` where there is no count-in, or no beat yet.
    pub fn to_go_s(&self) -> Option<f64> {
        self.beat.to_go_s(self.rhythm().bar_s()).filter(|_| self.phase == RunPhase::CountIn)
    }

    /// What decides where the first beat of this run is.
    pub fn start(&self) -> StartAt {
        let own = self.plan.own_tempo_first && self.number == 1;
        if own { StartAt::FreeTime } else { self.plan.start }
    }

    /// Whether this run has a beat: without one nothing is early or late.
    pub fn is_timed(&self) -> bool {
        self.start() != StartAt::FreeTime
    }

    fn held_against(&self) -> Beat {
        match () {
            () if !self.is_timed() => Beat::Free,
            () if self.delay_is_known() => Beat::Known,
            () => Beat::OwnMiddle,
        }
    }

    /// Whether early and late are known against the beat: where they are not, they count from the run's own middle.
    pub fn delay_is_known(&self) -> bool {
        self.plan.delay_s.is_some() && self.start() == StartAt::CountIn
    }

    /// Seconds from the first beat, of the model while that sounds; negative before it. `None` while there is no beat
    /// yet.
    pub fn now(&self) -> Option<f64> {
        self.beat.now_s()
    }

    /// Beats of the count-in: whole bars, three beats at least.
    pub fn count_in_beats(&self) -> u32 {
        count_in_beats(self.rhythm().metre)
    }

    /// The clicks of a run that counts in for a bar: those of the count-in, then those from there to the end.
    pub fn clicks(&self, from_bar: usize) -> Vec<Click> {
        if self.start() != StartAt::CountIn {
            return Vec::new();
        }
        let bars = from_bar..self.plan.material.bars();
        self.plan.clicking.clicks(&self.rhythm(), self.count_in_beats(), bars)
    }

    /// The band over which this run goes, if it sounds.
    pub fn band(&self) -> Option<&Over> {
        self.plan.band().filter(|_| self.start() == StartAt::CountIn)
    }

    /// Whether the bar that is played now goes without a click, so that the player's own time is tried.
    pub fn is_silent(&self) -> bool {
        let tried = self.plan.clicking.silent_bars > 0 && self.phase == RunPhase::Playing;
        tried && self.bar().is_some_and(|bar| self.plan.clicking.is_silent(bar))
    }

    /// How long the verdict on a run is shown before the next one, seconds.
    pub fn shown_s(&self) -> f64 {
        SHOWN_S
    }

    /// Seconds of the count-in.
    pub fn count_in_s(&self) -> f64 {
        f64::from(self.count_in_beats()) * self.tempo.beat_s()
    }

    /// The runs that are over.
    pub fn results(&self) -> &[RunJudged] {
        &self.results
    }

    /// How the tempo moved.
    pub fn ladder(&self) -> &Ladder {
        &self.ladder
    }

    fn began(&self) -> Event {
        Event::RunBegan(RunBegan {
            number: self.number,
            tempo: self.tempo,
            from_bar: self.from_bar(),
            first_beat_samples: self.beat.sounds_at(),
            at: self.beat.moment(),
        })
    }

    fn now_s(&self) -> f64 {
        self.beat.now_s().unwrap_or_default()
    }

    fn bar_s(&self, bar: usize) -> f64 {
        bar as f64 * self.rhythm().bar_s()
    }

    /// The bar that is played now.
    fn bar(&self) -> Option<usize> {
        let bar = self.beat.now_s()?.max(0.0) / self.rhythm().bar_s();
        Some((bar as usize).min(self.plan.material.bars().saturating_sub(1)))
    }

    fn take(&mut self, ended: &[Sounded]) {
        let Some(zero) = self.beat.zero() else { return };
        if !ended.is_empty() {
            self.follower.hide(&self.beat.masked(&self.masked));
        }
        let earliest = self.beat.earliest_s(self.rhythm().bar_s(), self.tempo.beat_s());
        for sounded in ended {
            let Some(played) = sounded.played(&self.asked, (zero, self.beat.base().rate)) else { continue };
            if played.onset_s >= earliest
                || self.plan.delay_s.is_none() && played.onset_s >= earliest - TAIL_S
            {
                self.follower.hear(played.note, played.onset_s);
                self.played.push(played);
            }
        }
    }

    /// How long a late note is waited for, seconds.
    fn tail_s(&self) -> f64 {
        (TAIL_BEATS * self.tempo.beat_s()).max(TAIL_S)
    }

    /// Seconds since the last sound.
    fn silent_s(&self, last: u64) -> f64 {
        self.beat.base().seconds(last, self.beat.known())
    }

    fn is_over(&self) -> bool {
        let end_s = self.bar_s(self.plan.material.bars());
        let tail_s = self.tail_s();
        let silent = self.last_sound.is_some_and(|last| self.silent_s(last) >= SILENCE_S);
        match self.start() {
            StartAt::FreeTime => silent,
            StartAt::FirstNote => silent && self.now_s() >= end_s || self.now_s() >= end_s + tail_s,
            StartAt::CountIn | StartAt::At(_) => self.now_s() >= end_s + tail_s,
        }
    }

    /// Judges the run, and goes on to the next.
    fn finish(&mut self, harp: &Harp) -> Vec<Event> {
        let ended = self.notes.end();
        self.take(&ended);
        let verdict = RunVerdict::new(
            (&self.asked, &self.played, &self.beat.masked(&self.masked)),
            &self.follower,
            (harp, self.tolerance),
            self.held_against(),
        );
        self.move_tempo(&verdict.whole);
        let judged = RunJudged {
            name: self.plan.material.name.clone(),
            harp: harp.clone(),
            rhythm: self.rhythm(),
            number: self.number,
            tolerance: self.tolerance,
            ended: self.beat.moment(),
            verdict,
        };
        self.results.push(judged.clone());
        let mut events = vec![Event::RunJudged(Box::new(judged))];
        let tired = self.plan.tempi != Tempi::Same && self.ladder.is_tired();
        if tired || self.number >= self.plan.runs {
            self.phase = RunPhase::Done;
            events.push(Event::Ended(Ending::Done));
        } else {
            (self.phase, self.shown) = (RunPhase::Shown, self.beat.known());
        }
        events
    }

    /// The tempo of the runs to come, after this one.
    fn move_tempo(&mut self, whole: &Whole) {
        if !whole.is_told() {
            return;
        }
        if self.is_timed() {
            self.counted += 1;
            self.ladder.note(self.tempo, whole.clean);
            if self.plan.tempi != Tempi::Same {
                self.full = self.ladder.next(self.full);
            }
        } else if let Some(faster) = whole.rushing {
            self.full = self.tempo.plus(faster * self.tempo.bpm()).whole();
        }
    }

    /// The tempo of the run after this one.
    pub fn next_tempo(&self) -> Tempo {
        self.plan.tempi.of_run(self.counted + 1, self.full)
    }

    /// Begins the next run.
    fn begin_run(&mut self, harp: &Harp) {
        self.number += 1;
        self.tempo = self.next_tempo();
        self.fresh(harp);
    }

    fn fresh(&mut self, harp: &Harp) {
        self.asked = self.plan.material.clone().at(self.tempo).asked(harp);
        self.follower = Follower::new(&self.asked, harp, self.is_timed());
        self.played.clear();
        self.notes = self.fresh_ear();
        self.last_sound = None;
        self.wait_for(0);
    }
}
