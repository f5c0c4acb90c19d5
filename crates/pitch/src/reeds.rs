//! Which reeds sound together, and how loudly.
//!
//! A window of the newest sound, the longest that holds no attack (`attack`), is read as a sum of harmonic series. The
//! harp says which series there can be: reeds within half a semitone of their pitch or bent below it, of one breath,
//! in holes under one mouth. A search adds reed after reed as long as each explains more than it costs (`choose`);
//! what a set explains is found by least squares (`fit`), and the set told last stays unless another is better by
//! more than chance. Two reeds of a harp an octave apart may stand in one set, so that no third is told for the lines of one
//! of them; the upper one is then set aside, and whether it sounds is told by how harmonics turn against each other within
//! the window (`octave`), and by how the even ones stand against those of the lower reed alone, once that was heard
//! (`timbre`); where neither tells, the upper reed is handed out as unsure ([`Sounding::unsure`]). Without a harp the
//! candidates are the peaks of the
//! spectrum and their whole parts (`places`).

mod attack;
mod banded;
mod choose;
mod ears;
mod fit;
mod octave;
mod places;
mod points;
mod settings;
mod shape;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_timbre;
mod timbre;
mod told;

pub use ears::Reeds;
pub use settings::{MAX_HOLES, ReedSettings, ReedSettingsError};
pub use told::{Reed, Sounding, Voice};

/// The most voices that are told.
pub const MAX_VOICES: usize = 5;

/// The reeds of a harp: blow and draw of each hole.
type Harp = [[f64; 2]];

/// Where a voice may lie, in points of the spectrum.
#[derive(Clone, Copy, Debug)]
struct Spot {
    at: f64,
    low: f64,
    high: f64,
    reed: Option<Reed>,
    bent: bool,
    /// Whether one breath may sound a reed an octave above it too.
    octave: bool,
    /// What it costs to believe in it, nats.
    cost: f64,
    /// How far it rises above the noise, nats.
    salience: f64,
}

impl Spot {
    const NONE: Self = Self {
        at: 0.0,
        low: 0.0,
        high: 0.0,
        reed: None,
        bent: false,
        octave: false,
        cost: 0.0,
        salience: 0.0,
    };

    /// The middle of where it may lie: the pitch that the reed is meant to have.
    fn nominal(&self) -> f64 {
        (self.low * self.high).sqrt()
    }
}
