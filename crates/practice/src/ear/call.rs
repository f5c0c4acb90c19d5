//! Hears the answer to a call: notes, until they are over.

use super::compare::{compare, mistakes};
use super::making::wanted;
use super::{Answer, Cause, EarPlan, NoteAnswer, NoteIs, Result, Wanted};
use crate::Timebase;
use layout::{Harp, Note};
use pitch::Reading;
use scoring::Voice;
use scoring::timed::{Divided, Notes, PlayedAt};

/// A note counts when it has sounded this long, seconds; shorter ones are slides and slips of the pitch line.
const COUNTS_S: f64 = 0.08;
/// With as many notes as are wanted, an answer is over after so much silence, seconds; with fewer the player may be searching for
/// the next one.
const OVER_S: f64 = 0.7;
const SEARCHES_S: f64 = 2.5;
/// So many notes beyond twice as many as are wanted are no answer any more.
const BEYOND: usize = 3;
/// A note that sounds so soon after hearing begins may have begun before, seconds.
const SOON_S: f64 = 0.08;
/// What is left of the question in the room is over by then, seconds.
const RING_S: f64 = 0.4;

/// Hears one answer.
#[derive(Clone, Debug)]
pub(super) struct CallEar {
    base: Timebase,
    wanted: Vec<Wanted>,
    /// The note that was sounded last, which the room may still sound.
    last_sounded: Option<Note>,
    /// The sample from which it hears.
    from: u64,
    /// For how long before that nothing could be heard after the call was over, seconds.
    deaf_s: f64,
    notes: Notes,
    voice: Voice,
    /// What was played, and among it first what was sounding when hearing began.
    played: Vec<PlayedAt>,
    overhang: Option<PlayedAt>,
}

impl CallEar {
    /// Hears from a sample on, after nothing could be heard for so many seconds.
    pub(super) fn new(
        base: Timebase,
        (wanted, last_sounded): (Vec<Wanted>, Option<Note>),
        (from, deaf_s): (u64, f64),
    ) -> Self {
        let notes = Notes::new(base.rate, COUNTS_S);
        let (voice, played, overhang) = (Voice::default(), Vec::new(), None);
        Self { base, wanted, last_sounded, from, deaf_s, notes, voice, played, overhang }
    }

    /// Notes that were heard, with the one that sounds.
    pub(super) fn count(&self) -> usize {
        self.played.len() + usize::from(self.notes.sounding().is_some())
    }

    /// Takes a reading; true if the answer is over.
    pub(super) fn hear(&mut self, plan: &EarPlan, harp: &Harp, reading: &Reading) -> bool {
        let now = self.base.moment(reading.known).seconds();
        self.voice.hear(now, reading.hz.is_some());
        if let Some(note) = self.notes.hear(harp.concert(), reading) {
            self.take(harp, &note);
        }
        if self.played.is_empty() || self.notes.sounding().is_some() {
            return false;
        }
        let silent_s = self.voice.silent_s(now);
        silent_s >= SEARCHES_S
            || silent_s >= OVER_S && self.is_complete(plan, harp)
            || self.played.len() > 2 * self.wanted.len() + BEYOND
    }

    /// Nothing more is heard: true if no note is missing.
    pub(super) fn end(&mut self, plan: &EarPlan, harp: &Harp) -> bool {
        if let Some(note) = self.notes.end() {
            self.take(harp, &note);
        }
        !self.played.is_empty() && self.is_complete(plan, harp)
    }

    fn is_complete(&self, plan: &EarPlan, harp: &Harp) -> bool {
        self.best(plan, harp, &self.played).iter().all(|note| note.is != NoteIs::Missing)
    }

    fn take(&mut self, harp: &Harp, note: &Divided) {
        let played = PlayedAt::new(note, self.from as f64, self.base.rate);
        // A slow slide may have named it by where it came from: what was held is the note.
        let held = played.held.and_then(|(hz, _)| harp.concert().nearest(hz));
        let played = PlayedAt { note: held.map_or(played.note, |(note, _)| note), ..played };
        // What this harp cannot sound was not played on it.
        if harp.ways_to(played.note).is_empty() {
            return;
        }
        if self.played.is_empty() && self.overhang.is_none() && played.onset_s < SOON_S {
            let rings = Some(played.note) == self.last_sounded && played.ended_s < RING_S;
            self.overhang = (!rings).then_some(played);
        } else {
            self.played.push(played);
        }
    }

    /// What came of it.
    pub(super) fn judge(&self, plan: &EarPlan, harp: &Harp) -> (Result, Answer) {
        let notes = self.best(plan, harp, &self.played);
        let (result, notes) = match self.overhang {
            _ if mistakes(&notes) == 0 => (Result::Right, notes),
            None if self.missed_the_beginning(&notes) => (Result::CannotTell(Cause::BeganEarly), notes),
            None => (Result::Wrong, notes),
            Some(first) => {
                let all: Vec<PlayedAt> = [first].into_iter().chain(self.played.iter().copied()).collect();
                let notes = self.best(plan, harp, &all);
                let right = mistakes(&notes) == 0;
                (if right { Result::Right } else { Result::CannotTell(Cause::BeganEarly) }, notes)
            }
        };
        (result, Answer::Notes(notes))
    }

    /// Whether only the first notes are missing, and they may have been played while nothing could be heard.
    fn missed_the_beginning(&self, notes: &[NoteAnswer]) -> bool {
        let missing = notes.iter().take_while(|note| note.is == NoteIs::Missing).count();
        let rest = notes.get(missing..).unwrap_or_default();
        self.deaf_s > SOON_S && missing > 0 && !rest.is_empty() && mistakes(rest) == 0
    }

    /// Against what is wanted; where the same degrees are wanted elsewhere, in the octave in which it was answered.
    fn best(&self, plan: &EarPlan, harp: &Harp, played: &[PlayedAt]) -> Vec<NoteAnswer> {
        let as_asked = compare(harp, &self.wanted, played);
        let Some(key) = &plan.elsewhere else { return as_asked };
        let in_octave = |octave: i32| {
            let moved = |note: &Wanted| {
                let higher = note.note.up(12 * octave)?;
                let reached = wanted(plan, harp, (higher, key)).map(|reached| reached.way);
                let way = reached.or_else(|| harp.ways_to(higher).into_iter().next())?;
                Some(Wanted { note: higher, way, ..*note })
            };
            let moved: Option<Vec<Wanted>> = self.wanted.iter().map(moved).collect();
            moved.map(|moved| compare(harp, &moved, played))
        };
        let others = [-1, 1, -2, 2].into_iter().filter_map(in_octave);
        [as_asked].into_iter().chain(others).min_by_key(|notes| mistakes(notes)).unwrap_or_default()
    }
}
