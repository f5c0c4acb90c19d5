//! A reading against a target: cents off, depth reached, held how long; the verdict and why.
//!
//! A [`Judge`] listens to one try at one [`Target`] and ends with a [`Verdict`].

mod judge;
mod target;
mod verdict;

pub use judge::{Judge, Live};
pub use target::{Target, Tolerance};
pub use verdict::{Between, Figures, Outcome, Verdict};
