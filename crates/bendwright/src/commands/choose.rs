//! `choose`: the harp, position and tuning on which a song costs this player least.

mod data;
mod text;

use crate::args::ChooseArgs;
use crate::failure::Failure;
use crate::scale_choice::{note_name, scale};
use crate::setup::Setup;
use data::ChooseData;
use layout::{Harp, HarpKey, Tuning};
use std::io::{self, Write};
use theory::{Choice, ScaleInKey, Song, choose, usual_harps};

/// The scale of a song of which nothing is said.
const USUAL_SCALE: &str = "blues";

/// Prints the choices as text or as JSON.
///
/// # Errors
/// If an argument is wrong or the output cannot be written.
pub(crate) fn run(args: &ChooseArgs, setup: &Setup) -> Result<(), Failure> {
    let song = song(args, setup)?;
    let declared = setup.ability(args.able.as_deref())?;
    let ability = declared.clone().unwrap_or_default();
    let harps = harps(args, setup)?;
    let mut choices = choose(&song, &harps, &ability);
    let others = if args.tunings.is_none() {
        cheaper(&choices, choose(&song, &usual_harps(&setup.library.tunings, setup.harp.concert()), &ability))
    } else {
        Vec::new()
    };
    choices.truncate(usize::from(args.most));
    let data = ChooseData::new(&song, (&ability, declared.is_some()), (&choices, &others), &setup.tab);
    let out = if args.json {
        serde_json::to_string_pretty(&data).map_err(io::Error::from)? + "\n"
    } else {
        text::write(&data, setup.letters())
    };
    Ok(io::stdout().write_all(out.as_bytes())?)
}

fn song(args: &ChooseArgs, setup: &Setup) -> Result<Song, Failure> {
    let tonic = note_name(&args.song_key, "song-key")?;
    let scale = match (&args.scale, &args.mode) {
        (Some(name), _) => scale(setup, name, "scale")?,
        (None, Some(name)) => scale(setup, name, "mode")?,
        (None, None) => scale(setup, USUAL_SCALE, "scale")?,
    };
    Ok(Song { span: args.span, ..Song::new(ScaleInKey::new(scale, tonic)) })
}

/// The harps to choose from: those owned, or the twelve usual keys in the tunings named.
fn harps(args: &ChooseArgs, setup: &Setup) -> Result<Vec<Harp>, Failure> {
    let concert = setup.harp.concert();
    let tunings = &setup.library.tunings;
    if let Some(owned) = &args.owned {
        let harp =
            |text| tunings.harp(text, concert).map_err(|error| Failure::user(format!("--owned: {error}")));
        return listed(owned, "owned")?.into_iter().map(harp).collect();
    }
    let names = match args.tunings.as_deref() {
        None => vec![setup.harp.tuning().clone()],
        Some(all) if all.trim().eq_ignore_ascii_case("all") => {
            tunings.iter().map(|known| known.tuning.clone()).collect()
        }
        Some(names) => listed(names, "tunings")?
            .into_iter()
            .map(|name| tunings.find(name).map(|known| known.tuning))
            .collect::<Result<Vec<Tuning>, _>>()
            .map_err(|error| Failure::user(format!("--tunings: {error}")))?,
    };
    let in_every_key =
        |tuning: Tuning| HarpKey::usual_keys().map(move |key| Harp::new(key, tuning.clone(), concert));
    Ok(names.into_iter().flat_map(in_every_key).collect())
}

/// The parts of a list set apart by commas.
fn listed<'a>(list: &'a str, option: &str) -> Result<Vec<&'a str>, Failure> {
    let parts: Vec<&str> = list.split(',').map(str::trim).filter(|part| !part.is_empty()).collect();
    if parts.is_empty() {
        return Err(Failure::user(format!("--{option} is empty; write names set apart by commas")));
    }
    Ok(parts)
}

/// The best choice of each tuning that is cheaper than the best one among the harps asked for, the cheapest first.
fn cheaper(choices: &[Choice], all: Vec<Choice>) -> Vec<Choice> {
    let Some(best) = choices.first() else { return Vec::new() };
    let mut cheaper: Vec<Choice> = Vec::new();
    for choice in all {
        let is_new = cheaper.iter().all(|known| known.harp.tuning() != choice.harp.tuning());
        if choice.cost < best.cost && is_new {
            cheaper.push(choice);
        }
    }
    cheaper
}
