//! What is said about a try, and why.

use layout::{Note, Way};
use serde::{Deserialize, Serialize};

/// The judgement itself. Distances are in cents and positive.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Outcome {
    /// In tune at the asked depth, and held.
    Landed,
    /// A bend (or overbend) that stopped this far before its depth.
    Short(f64),
    /// A bend (or overbend) that went this far beyond its depth.
    Past(f64),
    /// A natural note this far below its pitch.
    Flat(f64),
    /// A natural note this far above its pitch.
    Sharp(f64),
    /// Something else was played: the nearest note, and the simplest way this harp makes it, if it has one.
    AnotherNote(Note, Option<Way>),
    /// The right pitch, let go before the hold was reached; how long it was held, seconds.
    TooBrief(f64),
    /// Around the right pitch but never still enough to say; the spread in cents.
    Unsteady(f64),
    /// No note within the time allowed.
    NotHeard,
    /// Samples were lost during the try (a device went away), so it counts neither way.
    NotScored,
}

/// What was measured over the held part of the try.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// Distance of the held pitch from the target, cents; negative is flat. Of a steady note it is the median, of one with
    /// vibrato the middle of the vibrato.
    pub cents_off: f64,
    /// Distance from the natural reed, semitones: below it for bends, above the higher reed for overbends.
    pub depth_semitones: f64,
    /// From the first sound of the try until the pitch stayed near its held value, seconds.
    pub reach_s: f64,
    /// How long the note was held there, seconds.
    pub held_s: f64,
    /// Spread while held: half the distance between the 16th and the 84th percentile, cents.
    pub spread_cents: f64,
    /// Slope of the pitch while held, cents per second; negative sags.
    pub drift_cents_per_s: f64,
    /// How far the pitch went beyond its held value before settling, cents: below it for bends, above it for the rest.
    pub overshoot_cents: f64,
}

/// A bend lying between two depths: how far it is from each.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Between {
    /// The shallower neighbour (it may be the natural note).
    pub shallow: Way,
    /// Cents below the shallower one.
    pub from_shallow_cents: f64,
    /// The deeper neighbour.
    pub deep: Way,
    /// Cents above the deeper one.
    pub from_deep_cents: f64,
}

/// The end of a try.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// The judgement.
    pub outcome: Outcome,
    /// What was measured, if anything was held long enough to measure.
    pub figures: Option<Figures>,
    /// Both distances, if the pitch lay between two depths and in tune with neither.
    pub between: Option<Between>,
}
