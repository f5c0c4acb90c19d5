//! The screen as a whole: keys and readings in, pictures out.

// The lint's own exception covers functions marked as tests only, not the helpers beside them.
#![allow(clippy::unwrap_used, clippy::panic)]

mod behaviour;
mod by_ear;
mod chart;
mod chord_runs;
mod chords;
mod feedback;
mod jams;
mod lists;
mod phrases;
mod picture;
mod practise;
mod runs;
mod stage;
mod today;
mod told;
mod truthful;
mod views;
