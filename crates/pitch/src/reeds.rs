//! Which reeds sound together, and how loudly.
//!
//! A window of the newest sound, the longest that holds no attack (`attack`), is read as a sum of harmonic series. The
//! harp says which series there can be: reeds within half a semitone of their pitch or bent below it, of one breath, in
//! holes under one mouth; without a harp each note of the equal scale is a place of its own (`places`). A search adds
//! reed after reed as long as each explains more than it costs (`choose`); what a set explains is found by least
//! squares (`fit`), and the set told last stays unless another is better by more than chance. Two reeds an octave apart
//! may stand in one set, so that no third is told for the lines of one of them. The upper one is then set aside:
//! whether it sounds is told from all frames of the sound, by how harmonics turn against each other within the window
//! and by how far the even ones stand out, and sooner where the holes beside it sound (`octave`); where nothing tells,
//! it is handed out as unsure ([`Sounding::unsure`]).

mod attack;
mod choose;
mod ears;
mod fit;
mod octave;
mod places;
mod points;
mod set;
mod settings;
mod shape;
#[cfg(test)]
mod tests;
mod told;

pub use ears::Reeds;
pub use settings::{MAX_HOLES, ReedSettings};
pub use told::{MAX_VOICES, Reed, Sounding, Voice};
