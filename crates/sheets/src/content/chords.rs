//! The chords under the mouth and what they do in the key.

use super::Ground;
use theory::{Chord, ChordGroup, Degree, Function, Grip, HoleRun, Place};

/// A chord on one breath.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChordRow {
    /// Its symbol; two where two names fit.
    pub symbol: String,
    /// What it does in the key, as a roman numeral.
    pub function: String,
    /// Its notes from the root up.
    pub notes: String,
    /// Where it lies.
    pub holes: String,
}

/// Where a chord of the key lies, whole or in its best part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlaceRow {
    /// What it does in the key.
    pub function: String,
    /// Its symbol.
    pub symbol: String,
    /// The holes that sound it best.
    pub holes: String,
    /// Which of its notes are missing there, if any.
    pub missing: String,
}

/// The fewest different notes that make a chord rather than an interval.
const CHORD_NOTES: usize = 3;

pub(super) fn rows(ground: &Ground<'_>) -> Vec<ChordRow> {
    ChordGroup::all(ground.request.harp)
        .iter()
        .filter(|group| group.grips.iter().any(|grip| grip.pitch_classes().len() >= CHORD_NOTES))
        .map(|group| row(ground, group))
        .collect()
}

fn row(ground: &Ground<'_>, group: &ChordGroup) -> ChordRow {
    let key = &ground.key;
    let each =
        |said: &dyn Fn(&Chord) -> String| group.names.iter().map(said).collect::<Vec<_>>().join(" or ");
    let notes =
        group.names.first().map(|name| name.notes(key).map(|n| n.to_string()).collect::<Vec<_>>().join(" "));
    let runs: Vec<String> = group.runs().iter().map(run).collect();
    ChordRow {
        symbol: each(&|name| name.symbol(key)),
        function: each(&|name| name.function(key).to_string()),
        notes: notes.unwrap_or_default(),
        holes: format!("{} {}", group.breath.word(), runs.join(", ")),
    }
}

/// "2 to 5", "1 to 10 (any 3 or more)".
fn run(run: &HoleRun) -> String {
    let (low, high) = (run.holes.start(), run.holes.end());
    if high - low + 1 == run.at_least {
        format!("{low} to {high}")
    } else {
        format!("{low} to {high} (any {} or more)", run.at_least)
    }
}

/// The three main chords: minor where the scale has only the minor third, except in a blues, and with a minor seventh
/// where the scale has one.
pub(super) fn places(ground: &Ground<'_>) -> Vec<PlaceRow> {
    let scale = ground.key.scale();
    let has =
        |semitones| scale.degrees().iter().any(|step: &theory::ScaleDegree| step.semitones() == semitones);
    let is_blues = scale.name().contains("blues");
    let small = has(3) && !has(4) && !is_blues;
    let seventh = if has(10) { "7" } else { "" };
    let numerals = if small { ["i", "iv", "v"] } else { ["I", "IV", "V"] };
    numerals
        .iter()
        .filter_map(|numeral| format!("{numeral}{seventh}").parse::<Function>().ok())
        .filter_map(|function| place(ground, function))
        .collect()
}

fn place(ground: &Ground<'_>, function: Function) -> Option<PlaceRow> {
    let best = Place::all(ground.request.harp, &ground.key, function).into_iter().next()?;
    let missing: Vec<String> = best.missing.iter().map(Degree::to_string).collect();
    let holes = &best.holes;
    let joint = if holes.grip == Grip::Outer || holes.high - holes.low == 1 { "+" } else { " to " };
    Some(PlaceRow {
        function: function.to_string(),
        symbol: function.chord(&ground.key).symbol(&ground.key),
        holes: format!("{} {}{joint}{}", holes.breath.word(), holes.low, holes.high),
        missing: if missing.is_empty() {
            "whole".to_owned()
        } else {
            format!("without its {}", missing.join(", "))
        },
    })
}
