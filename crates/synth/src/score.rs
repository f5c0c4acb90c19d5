//! The exact truth of what was played.

use layout::Way;

/// When one gesture happens and what it aims at. Times are sample counts since the player began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Played {
    /// Which gesture, counted from 0 in the order they were queued.
    pub index: usize,
    /// The way played (the leading one of a chord).
    pub way: Way,
    /// The pitch aimed at, hertz: that of the way, off by `cents_off`.
    pub hz: f64,
    /// Cents of that pitch from where the way is in tune.
    pub cents_off: f64,
    /// First sample of the sound.
    pub began: u64,
    /// Sample at which the pitch has arrived where it is held.
    pub settled: u64,
    /// Sample at which the release begins.
    pub released: u64,
    /// First sample of silence.
    pub ended: u64,
}
