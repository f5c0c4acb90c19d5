//! Reeds that sound together against those that are asked for: chords, splits, and single notes that are to stay
//! single.
//!
//! A [`ReedsJudge`] is fed with what [`pitch::reeds::Reeds`] tells, one [`Sounding`](pitch::reeds::Sounding) after the
//! other, and counts time in samples only. A set of reeds is judged over the middle of the sound: what leaks in during
//! the first 0.1 s, while the breath begins, and the release are no mistakes. A reed sounds if three quarters of the
//! readings show it, and is silent if at most a quarter do. A reed between the two is neither blamed nor praised: then
//! nothing can be told, unless another reed was surely wrong. A reed that was asked for is not missing where more than
//! a quarter of the readings cannot tell whether it sounds: it may hide among the harmonics of a reed an octave below.

mod company;
mod holes;
mod judge;
mod shares;
mod verdict;

pub use company::{Clean, Company};
pub use holes::Holes;
pub use judge::{ReedsJudge, ReedsTarget};
pub use shares::LEAK_DB;
pub(crate) use shares::Shares;
pub use verdict::{HeardReed, ReedsOutcome, ReedsVerdict, ReedsWhy};
