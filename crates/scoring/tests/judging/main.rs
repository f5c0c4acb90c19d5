//! The judge, tried from outside.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod ends;
mod measured;
mod properties;
mod reeds;
mod takes;
mod tone;
mod tries;
mod windows;
