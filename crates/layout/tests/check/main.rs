//! The layout against published tables and against itself.

// The lint's own exception covers functions marked as tests only, not the helpers beside them.
#![allow(clippy::unwrap_used, clippy::panic)]

mod keys;
mod pitch;
mod properties;
mod richter;
mod tab;
mod temperaments;
mod tunings;

use layout::{Harp, TabStyle, Way};

/// A Richter harp in the named key.
fn harp(key: &str) -> Harp {
    Harp::richter(key.parse().unwrap())
}

/// A way from default tab.
fn way(tab: &str) -> Way {
    TabStyle::default().read(tab).unwrap()
}
