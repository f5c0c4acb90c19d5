//! Positions, what a player commands, and what follows for scales and the choice of a harp.

// The lint's own exception covers functions marked as tests only, not the helpers beside them.
#![allow(clippy::unwrap_used)]

mod ability;
mod choose;
mod positions;
mod reach;
mod teacher;

use layout::{ConcertPitch, Harp, TabStyle, Tunings, Way};
use std::sync::LazyLock;
use theory::{ScaleInKey, Scales};

static SCALES: LazyLock<Scales> = LazyLock::new(Scales::ours);
static TUNINGS: LazyLock<Tunings> = LazyLock::new(Tunings::ours);

fn harp(key: &str) -> Harp {
    Harp::richter(key.parse().unwrap())
}

fn tuned(key: &str, tuning: &str) -> Harp {
    Harp::new(key.parse().unwrap(), TUNINGS.find(tuning).unwrap().tuning, ConcertPitch::ISO)
}

fn way(tab: &str) -> Way {
    TabStyle::default().read(tab).unwrap()
}

/// A scale on its tonic: `in_key("blues", "G")`.
fn in_key(scale: &str, tonic: &str) -> ScaleInKey {
    ScaleInKey::new(SCALES.find(scale).unwrap().clone(), tonic.parse().unwrap())
}
