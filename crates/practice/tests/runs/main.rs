//! Runs in time: material, following, judging, and the whole with the simulated player, who knows what it played.

// Helpers of tests may panic like the tests themselves; figures are for whoever runs them with --nocapture.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod blame;
mod chords;
mod clicks;
mod deeds;
mod figures;
mod following;
mod masked;
mod material;
mod model;
mod phrases;
mod player;
mod playing;
mod rhythms;
#[path = "../../../../tests/time/speaks.rs"]
mod speaks;
mod steering;

use layout::{Harp, HarpKey, TabStyle, Way};
use practice::run::{Material, Metre, Rhythm, Swing, Tempo, Value};

fn harp(key: &str) -> Harp {
    Harp::richter(key.parse::<HarpKey>().unwrap())
}

fn ways(harp: &Harp, tab: &str) -> Vec<Way> {
    tab.split(' ').map(|one| TabStyle::default().read_for(harp, one).unwrap()).collect()
}

fn eighths(bpm: f64) -> Rhythm {
    Rhythm::new(Tempo::new(bpm).unwrap(), Metre::COMMON, Value::EIGHTHS, Swing::STRAIGHT).unwrap()
}

/// The blues scale of the second position, up and down.
const BLUES: &str = "-2 -3' 4 -4' -4 -5 6 -5 -4 -4' 4 -3' -2";

fn blues(harp: &Harp, bpm: f64) -> Material {
    Material::of_ways("blues".to_owned(), &ways(harp, BLUES), eighths(bpm)).unwrap()
}

/// A number from the environment, for whoever opens more of a test than `cargo test` does.
fn number(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}
