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
mod set;
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
pub use told::{MAX_VOICES, Reed, Sounding, Voice};
