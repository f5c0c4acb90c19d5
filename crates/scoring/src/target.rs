//! What a try is measured against.

use layout::{Harp, Way};
use serde::{Deserialize, Serialize};
use std::fmt;

/// What is asked for in one try.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Target {
    /// The way to play.
    pub way: Way,
    /// Wanted offset from the pitch at which the way is in tune, cents.
    pub cents: f64,
    /// How long the note has to be held, seconds.
    pub hold_s: f64,
}

impl Target {
    /// The frequency that is asked for, hertz; `None` where the harp cannot play the way.
    pub fn hz(&self, harp: &Harp) -> Option<f64> {
        Some(harp.hz(self.way)? * (self.cents / 1200.0).exp2())
    }
}

/// How near is near enough, cents either side of the target.
///
/// Where the numbers come from:
/// * 10 cents: what musicians can just hear, 10.1 cents for 50 of them at 528 Hz (Arndt, Schlemmer & van der Meer,
///   Experimental Brain Research 238:247–258);
/// * 25 cents: where a tone of a melody stops being heard as in tune: 20–25 cents (Vurma & Ross, Music Perception
///   23:331–344, 2006), half a quarter tone (Larrouy-Maestri, Music & Science, 2018);
/// * 5 cents: the deviation of two professionals playing intervals, 4.9 cents on average (Kopiez, Music Perception
///   20:383–410, 2003), and the textbook figure for a just noticeable difference.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tolerance {
    /// Within this the note counts as centred; 10 by default.
    pub centred_cents: f64,
    /// Within this it counts as in tune; 25 by default.
    pub in_tune_cents: f64,
}

/// Slack for rounding in the way from hertz to cents, so that a note at the very edge counts as inside.
const ROUNDING_CENTS: f64 = 1e-6;

/// A pair of tolerances that makes no sense: centred, in tune.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ToleranceError(pub f64, pub f64);

impl Tolerance {
    /// Centred within 10 cents, in tune within 25.
    pub const USUAL: Self = Self { centred_cents: 10.0, in_tune_cents: 25.0 };

    /// For experts: centred within 5 cents, in tune within 10.
    pub const EXPERT: Self = Self { centred_cents: 5.0, in_tune_cents: 10.0 };

    /// A tolerance of the player's own.
    ///
    /// # Errors
    /// If a value is below 1 or above 50 cents (from there on the next semitone is nearer), or "centred" is wider than
    /// "in tune".
    pub fn new(centred_cents: f64, in_tune_cents: f64) -> Result<Self, ToleranceError> {
        let sensible = (1.0..=50.0).contains(&centred_cents)
            && (1.0..=50.0).contains(&in_tune_cents)
            && centred_cents <= in_tune_cents;
        if sensible {
            Ok(Self { centred_cents, in_tune_cents })
        } else {
            Err(ToleranceError(centred_cents, in_tune_cents))
        }
    }

    /// Whether a note this many cents off is in tune.
    pub fn in_tune(self, cents_off: f64) -> bool {
        cents_off.abs() <= self.in_tune_cents + ROUNDING_CENTS
    }

    /// Whether a note this many cents off is centred.
    pub fn centred(self, cents_off: f64) -> bool {
        cents_off.abs() <= self.centred_cents + ROUNDING_CENTS
    }
}

impl Default for Tolerance {
    fn default() -> Self {
        Self::USUAL
    }
}

impl fmt::Display for ToleranceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "centred within {} and in tune within {} cents cannot be used; give 1 to 50 cents each, and no more for \
             centred than for in tune",
            self.0, self.1
        )
    }
}

impl std::error::Error for ToleranceError {}
