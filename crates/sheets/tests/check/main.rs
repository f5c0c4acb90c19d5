//! The sheets in each of their forms, read back by readers that are not ours where there are any.

// The lint's own exception covers functions marked as tests only, not the helpers beside them.
#![allow(clippy::unwrap_used, clippy::panic)]

mod content;
mod html;
mod pdf;
mod properties;
mod svg;
mod text;

use layout::{Harp, TabStyle};
use sheets::{Request, Sheet};
use theory::{Ability, Level, Position, Scales};

/// A sheet for a Richter harp: key, position, scale, and the level of a player if it is somebody's own.
fn sheet(key: &str, position: u8, scale: &str, level: Option<Level>) -> Sheet {
    let harp = Harp::richter(key.parse().unwrap());
    let ability = level.map(Ability::new);
    Sheet::new(&Request {
        harp: &harp,
        position: Position::new(position).unwrap(),
        scale: Scales::ours().find(scale).unwrap(),
        ability: ability.as_ref(),
        tab: &TabStyle::default(),
    })
}

/// Every tab that a sheet shows: over three octaves there are a dozen at the least.
fn tabs(sheet: &Sheet) -> Vec<&str> {
    let notes = sheet.octaves.iter().flat_map(|octave| &octave.notes);
    let tabs: Vec<&str> = notes.map(|note| note.tab.as_str()).collect();
    assert!(tabs.len() >= 12, "{tabs:?}");
    tabs
}
