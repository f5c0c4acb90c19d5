//! Playing in time, tried from outside: from levels and pitches to notes and chords, from those to answers, and what a
//! run comes to.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used)]

mod advice;
mod attacks;
mod chugs;
mod divided;
mod following;
mod notes;
mod runs;
