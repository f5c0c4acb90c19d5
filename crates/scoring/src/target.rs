//! What a try is measured against.

use layout::Way;

/// What is asked for in one try.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Target {
    /// The way to play.
    pub way: Way,
    /// Wanted offset from the pitch at which the way is in tune, cents.
    pub cents: f64,
    /// How long the note has to be held, seconds.
    pub hold_s: f64,
}

/// How near is near enough, cents either side of the target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// Within this the note counts as centred; 10 by default.
    pub centred_cents: f64,
    /// Within this it counts as in tune; 25 by default.
    pub in_tune_cents: f64,
}
