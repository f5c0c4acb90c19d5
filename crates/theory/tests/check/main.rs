//! Checks of scales, chords and their places against published tables and general-purpose libraries.

// The lint's own exception covers functions marked as tests only, not the helpers beside them.
#![allow(clippy::unwrap_used, clippy::panic)]

mod chords;
mod circle;
mod files;
mod harp_facts;
mod intervals;
mod positions;
mod properties;
mod references;
mod scales;
mod spelling;

use layout::{Harp, Note, PitchClass};
use std::sync::LazyLock;
use theory::{NoteName, Scale, ScaleInKey, Scales};

fn harp(key: &str) -> Harp {
    Harp::richter(key.parse().unwrap())
}

/// Read once: reading the file for every scale of every key would take most of the tests' time.
static SCALES: LazyLock<Scales> = LazyLock::new(Scales::ours);

fn scale(name: &str) -> Scale {
    SCALES.find(name).unwrap().clone()
}

fn name(text: &str) -> NoteName {
    text.parse().unwrap()
}

/// A scale on its tonic: `in_key("blues", "G")`.
fn in_key(scale_name: &str, tonic: &str) -> ScaleInKey {
    ScaleInKey::new(scale(scale_name), name(tonic))
}

fn note(midi: i32) -> Note {
    Note::new(midi).unwrap()
}

/// The tonic of a position on a harp: (key + 7·(p − 1)) mod 12, a circle of fifths from the harp's key.
fn position_tonic(harp: &Harp, position: i32) -> NoteName {
    NoteName::usual(PitchClass::new(i32::from(harp.key().pitch_class().semitones()) + 7 * (position - 1)))
}

fn joined<T: ToString>(items: impl IntoIterator<Item = T>) -> String {
    items.into_iter().map(|item| item.to_string()).collect::<Vec<_>>().join(" ")
}
