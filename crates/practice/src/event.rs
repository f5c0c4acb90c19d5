//! What a session tells: where it stands, what happened, what came of a try.

use scoring::Verdict;

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
