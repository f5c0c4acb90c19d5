//! One run through a drill: a state machine fed with readings.

use crate::Drill;
use layout::Harp;
use pitch::Reading;
use scoring::{Live, Tolerance, Verdict};

/// Where the session stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// The item is shown and its try has not begun.
    Waiting,
    /// The try is sounding.
    Playing,
    /// The verdict is shown; the next item follows by itself after a moment of silence.
    Judged,
    /// Paused by the player; readings are not judged.
    Paused,
    /// All items are done.
    Done,
}

/// One finished try.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tried {
    /// Index of the item in the drill.
    pub item: usize,
    /// Which try at that item, counted from 1.
    pub attempt: u32,
    /// Sample time at which the try began to sound (or was given up as not heard).
    pub began: u64,
    /// Sample time at which the verdict was known.
    pub ended: u64,
    /// The verdict.
    pub verdict: Verdict,
}

/// What happened in a session.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// An item is asked for: its index and the try, counted from 1.
    Asked(usize, u32),
    /// A try began to sound, at this sample time.
    Began(u64),
    /// A try is over.
    Judged(Tried),
    /// The drill is done.
    Done,
}

/// A session: a drill, a harp, and what has been played so far.
#[derive(Clone, Debug)]
pub struct Session {
    drill: Drill,
}

impl Session {
    /// Starts a drill. The first item is asked at once ([`Session::item`] is 0).
    pub fn new(drill: Drill, harp: Harp, tolerance: Tolerance, sample_rate: f64) -> Self {
        let _ = (harp, tolerance, sample_rate);
        Self { drill }
    }

    /// Takes one reading; says what it brought about, in order.
    pub fn hear(&mut self, reading: &Reading) -> Vec<Event> {
        let _ = reading;
        Vec::new()
    }

    /// Samples were lost: a try that was sounding is not scored and is asked again.
    pub fn gap(&mut self) -> Vec<Event> {
        Vec::new()
    }

    /// Pauses, or goes on.
    pub fn toggle_pause(&mut self) {}

    /// Leaves the current item for the next one.
    pub fn skip(&mut self) -> Vec<Event> {
        Vec::new()
    }

    /// Takes the current (or just judged) item once more; earlier results stay.
    pub fn again(&mut self) -> Vec<Event> {
        Vec::new()
    }

    /// The drill.
    pub fn drill(&self) -> &Drill {
        &self.drill
    }

    /// Index of the current item.
    pub fn item(&self) -> usize {
        0
    }

    /// Which try at the current item, counted from 1.
    pub fn attempt(&self) -> u32 {
        1
    }

    /// Where the session stands.
    pub fn phase(&self) -> Phase {
        Phase::Waiting
    }

    /// How the current try stands.
    pub fn live(&self) -> Live {
        Live::default()
    }

    /// Every finished try, oldest first.
    pub fn results(&self) -> &[Tried] {
        &[]
    }
}
