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
    /// No note within the time allowed; the level of the loudest sound meanwhile, dB relative to a full-scale sine.
    NotHeard(f64),
    /// What was heard does not allow a judgement; it counts neither way.
    CannotTell(Why),
}

/// Why nothing can be told of a try.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Why {
    /// Samples were lost meanwhile: a device went away, or the computer was too busy.
    SamplesLost,
    /// The sound was over before its pitch could be called held.
    TooShort,
    /// The ear is less sure of the pitch than the tolerance is wide: noise, or another sound beside the note.
    Unsure,
    /// What the program itself sounds, a band for instance, may have hidden it.
    Masked,
}

/// What was measured over the held part of the try.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// Distance of the held pitch from the target, cents; negative is flat. Of a steady note it is the median, of one
    /// with vibrato the middle of the vibrato.
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
    /// One standard deviation of the error to expect of a reading while held, as the ear tells it, cents.
    pub sigma_cents: f64,
    /// How steady the loudness was while held: half the distance between the 16th and the 84th percentile of the level,
    /// dB.
    pub level_spread_db: f64,
    /// Harmonics-to-noise ratio of the held part, dB: how much tone there is for the breath that is heard beside it.
    pub hnr_db: f64,
    /// The vibrato of the held part, if there was one.
    pub vibrato: Option<Vibrato>,
}

/// A regular swing of the pitch about its centre.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Vibrato {
    /// Swings a second.
    pub rate_hz: f64,
    /// How far it goes either side of the centre, cents.
    pub depth_cents: f64,
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

impl Verdict {
    /// Whether it uses up no try: nothing was heard, or nothing can be told.
    pub fn asks_again(&self) -> bool {
        matches!(self.outcome, Outcome::NotHeard(_) | Outcome::CannotTell(_))
    }

    /// The verdict on a try during which the player may have been hidden by what the program itself sounds: what landed
    /// has landed, and of everything else nothing can be told.
    #[must_use]
    pub fn hidden(self) -> Self {
        match self.outcome {
            Outcome::Landed => self,
            _ => Self { outcome: Outcome::CannotTell(Why::Masked), figures: None, between: None },
        }
    }

    /// Whether the note itself was played, in tune or not, and held.
    pub fn is_near(&self) -> bool {
        matches!(
            self.outcome,
            Outcome::Landed | Outcome::Flat(_) | Outcome::Sharp(_) | Outcome::Short(_) | Outcome::Past(_)
        )
    }
}
