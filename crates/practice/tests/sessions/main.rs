//! A drill on its way: what is asked when, and what is judged for what.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used, clippy::panic)]

mod feedback;
mod items;
mod made;
mod masked;
mod player;
mod properties;
mod summaries;
mod tries;
