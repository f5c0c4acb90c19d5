//! `map`: where a scale and its chords lie on the harp, and what each note asks of this player.

mod chords;
mod data;
mod text;

use crate::args::MapArgs;
use crate::failure::Failure;
use crate::scale_choice::{self, ScaleChoice};
use crate::setup::Setup;
use data::MapData;
use std::io::{self, Write};
use theory::{Ability, Progression, ScaleInKey};

/// Prints the map as text or as JSON.
///
/// # Errors
/// If an argument is wrong or the output cannot be written.
pub(crate) fn run(args: &MapArgs, setup: &Setup) -> Result<(), Failure> {
    let choice = ScaleChoice::new(&args.scale, setup)?;
    let filling = match &args.fill {
        Some(name) => Some(ScaleInKey::new(scale_choice::scale(setup, name, "fill")?, choice.key.tonic())),
        None => None,
    };
    let progression = progression(args, &choice, setup)?;
    let ability = choice.ability.clone().unwrap_or_default();
    let asked = Asked { setup, choice: &choice, ability, filling, progression };
    let data = MapData::new(&asked);
    let out = if args.json {
        serde_json::to_string_pretty(&data).map_err(io::Error::from)? + "\n"
    } else {
        text::write(&data, &asked)
    };
    Ok(io::stdout().write_all(out.as_bytes())?)
}

/// What the map is made from.
struct Asked<'a> {
    setup: &'a Setup,
    choice: &'a ScaleChoice,
    /// What the player commands; a usual level if nothing is said.
    ability: Ability,
    /// The scale that fills what is out of reach.
    filling: Option<ScaleInKey>,
    progression: &'a Progression,
}

/// The progression asked for, or one that goes with the scale.
fn progression<'a>(
    args: &MapArgs,
    choice: &ScaleChoice,
    setup: &'a Setup,
) -> Result<&'a Progression, Failure> {
    let name = args.progression.as_deref().unwrap_or_else(|| usual_progression(choice));
    let known = &setup.library.progressions;
    known.find(name).map_err(|error| Failure::user(format!("--progression: {error}")))
}

/// The twelve-bar for blues scales and for scales with a minor seventh. For minor scales the minor twelve-bar, or, if
/// they have the major sixth and the minor seventh of the Dorian, the two-chord vamp, whose notes are all in the scale.
/// Three chords for the rest.
fn usual_progression(choice: &ScaleChoice) -> &'static str {
    let has = |semitones| choice.scale.degrees().iter().any(|step| step.semitones() == semitones);
    let is_blues = choice.scale.name().contains("blues");
    let is_minor = has(3) && !has(4) && !is_blues;
    match () {
        () if is_minor && has(9) && has(10) => "two-chord minor vamp",
        () if is_minor => "minor twelve-bar",
        () if has(10) || is_blues => "twelve-bar",
        () => "I-IV-V",
    }
}
