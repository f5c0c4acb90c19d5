//! Free playing: what sounds now, and the notes of the last while.

use crate::free_play::FreePlay;
use crate::{Event, Played, PlayedNote, ReedSet, ReedSets, Timebase};
use layout::{Harp, Note, Way, cents_between};
use pitch::{Reading, reeds};
use std::collections::VecDeque;

/// Notes kept for the running line.
const KEPT: usize = 120;

/// The note that is heard now.
#[derive(Clone, Debug, PartialEq)]
pub struct HeardNote {
    /// The frequency, hertz.
    pub hz: f64,
    /// The nearest note.
    pub note: Note,
    /// All ways to play it, the simplest first; none if the harp does not have it.
    pub ways: Vec<Way>,
    /// Cents from where the simplest way is in tune (from equal temperament if there is none).
    pub cents: f64,
}

/// A note of the running line.
#[derive(Clone, Debug, PartialEq)]
pub struct LineNote {
    /// The note.
    pub note: Note,
    /// The simplest way to play it, if the harp has it.
    pub way: Option<Way>,
    /// The reeds that sounded together meanwhile, the strongest first; none if it sounded alone.
    pub together: Vec<Way>,
}

/// The state of free playing.
#[derive(Clone, Debug)]
pub struct Free {
    now: Option<HeardNote>,
    /// Divides the readings into notes.
    notes: FreePlay,
    /// Follows which reeds sound together.
    reeds: ReedSets,
    /// The notes that are over, the oldest first.
    over: VecDeque<LineNote>,
    /// The note that sounds, once it counts.
    open: Option<LineNote>,
    /// The note that was over last.
    last: Option<PlayedNote>,
}

impl Free {
    pub(crate) fn new(base: Timebase) -> Self {
        let (notes, reeds) = (FreePlay::new(base), ReedSets::new(base));
        Self { now: None, notes, reeds, over: VecDeque::new(), open: None, last: None }
    }

    /// Takes a reading.
    pub(crate) fn hear(&mut self, harp: &Harp, reading: &Reading) -> Vec<Event> {
        let ended = self.notes.hear(harp, reading);
        let open = self.open.take_if(|_| ended.is_none());
        let events = self.finish(ended, false);
        self.open = self.notes.sounding().map(|note| match open {
            Some(open) if open.note == note => open,
            _ => LineNote { note, way: harp.ways_to(note).first().copied(), together: Vec::new() },
        });
        let before = self.now.take();
        self.now = reading.hz.and_then(|hz| heard(harp, hz, before));
        events
    }

    /// Takes a reading of the reeds that sound together.
    pub(crate) fn hear_reeds(&mut self, harp: &Harp, sounding: &reeds::Sounding) -> Vec<Event> {
        self.reeds.hear(harp, sounding).map(|set| Event::Sounded(Box::new(set))).into_iter().collect()
    }

    /// Ends what sounds: samples were lost, or nobody listens any more.
    pub(crate) fn end(&mut self, harp: &Harp) -> Vec<Event> {
        let set = self.reeds.end().map(|set| Event::Sounded(Box::new(set)));
        let note = self.notes.end(harp);
        let sounds = self.now.take().is_some();
        set.into_iter().chain(self.finish(note, sounds)).collect()
    }

    /// Goes on in a new stream; the running line stays.
    pub(crate) fn restart(&mut self, base: Timebase) {
        (self.notes, self.reeds) = (FreePlay::new(base), ReedSets::new(base));
    }

    /// What sounds now.
    pub fn now(&self) -> Option<&HeardNote> {
        self.now.as_ref()
    }

    /// The note that was over last, with what was measured of it.
    pub fn last(&self) -> Option<&PlayedNote> {
        self.last.as_ref()
    }

    /// The reeds that sound together, once they do so steadily.
    pub fn together(&self) -> Option<&ReedSet> {
        self.reeds.now()
    }

    /// The notes of the last while, the newest first, the one that sounds included.
    pub fn line(&self) -> impl Iterator<Item = &LineNote> {
        self.open.iter().chain(self.over.iter().rev())
    }

    /// Files the note that sounded when it is over.
    fn finish(&mut self, ended: Option<PlayedNote>, unfinished: bool) -> Vec<Event> {
        let Some(note) = ended else { return Vec::new() };
        self.open = None;
        self.last = Some(note.clone());
        let during = || self.reeds.during(note.began, note.ended);
        let together = during().find(|set| set.voices.len() > 1).map(ReedSet::ways).unwrap_or_default();
        let alone = if together.is_empty() {
            (during().count() > 0 && during().all(|set| set.agrees(note.hz))).then_some(true)
        } else {
            Some(false)
        };
        if self.over.len() == KEPT {
            self.over.pop_front();
        }
        let way = note.ways.first().copied();
        self.over.push_back(LineNote { note: note.note, way, together: together.clone() });
        vec![Event::Played(Box::new(Played { note, together, alone, unfinished }))]
    }
}

/// What a frequency is on this harp; the ways of the note heard before are not looked up again.
fn heard(harp: &Harp, hz: f64, before: Option<HeardNote>) -> Option<HeardNote> {
    let (note, _) = harp.concert().nearest(hz)?;
    let ways = match before {
        Some(before) if before.note == note => before.ways,
        _ => harp.ways_to(note),
    };
    let in_tune = ways.first().and_then(|way| harp.hz(*way));
    let cents = cents_between(in_tune.unwrap_or_else(|| harp.concert().hz(note, 0.0)), hz);
    Some(HeardNote { hz, note, ways, cents })
}
