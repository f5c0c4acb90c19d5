//! `choose`: the harp, position and tuning on which a song costs this player least.

mod beside;
mod data;
mod song;
mod text;

use crate::args::ChooseArgs;
use crate::failure::Failure;
use crate::setup::Setup;
use beside::Beside;
use data::ChooseData;
use layout::{Harp, HarpKey, Tuning};
use song::Asked;
use std::io::{self, Write};
use theory::{Ability, Choice, Song, TIE, choose};

/// Prints the choices as text or as JSON.
///
/// # Errors
/// If an argument is wrong or the output cannot be written.
pub(crate) fn run(args: &ChooseArgs, setup: &Setup) -> Result<(), Failure> {
    let asked = Asked::new(args, setup)?;
    let declared = setup.ability(args.able.as_deref())?;
    let ranked = Ranked::new(&asked.song, args, setup, declared.clone().unwrap_or_default())?;
    let beside = Beside::new(&asked, &ranked);
    let data = ChooseData::new(&asked, &ranked, &beside, (declared.is_some(), usize::from(args.most)));
    let out = if args.json {
        serde_json::to_string_pretty(&data).map_err(io::Error::from)? + "\n"
    } else {
        text::write(&data, setup.letters())
    };
    Ok(io::stdout().write_all(out.as_bytes())?)
}

/// The harps to choose from and the others, each in their order.
struct Ranked<'a> {
    setup: &'a Setup,
    ability: Ability,
    harps: Vec<Harp>,
    /// Every choice among the harps asked for, the cheapest first.
    choices: Vec<Choice>,
    /// The best choice of each tuning that is cheaper than the best one among the harps asked for, the cheapest first.
    elsewhere: Vec<Choice>,
}

impl<'a> Ranked<'a> {
    fn new(song: &Song, args: &ChooseArgs, setup: &'a Setup, ability: Ability) -> Result<Self, Failure> {
        let harps = harps(args, setup)?;
        let choices = choose(song, &harps, &ability);
        let elsewhere = if args.tunings.is_none() {
            let tunings = setup.library.tunings.iter().map(|known| known.tuning.clone());
            cheaper(&choices, choose(song, &in_every_key(tunings, args, setup), &ability))
        } else {
            Vec::new()
        };
        Ok(Self { setup, ability, harps, choices, elsewhere })
    }
}

/// The harps to choose from: those owned, or every key in the tunings named.
fn harps(args: &ChooseArgs, setup: &Setup) -> Result<Vec<Harp>, Failure> {
    let concert = setup.harp.concert();
    let tunings = &setup.library.tunings;
    if let Some(owned) = &args.owned {
        let harp =
            |text| tunings.harp(text, concert).map_err(|error| Failure::user(format!("--owned: {error}")));
        return listed(owned, "owned")?.into_iter().map(harp).collect();
    }
    let named = match args.tunings.as_deref() {
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
    Ok(in_every_key(named.into_iter(), args, setup))
}

/// The twelve usual keys of each tuning; where the song's pitch is fixed, the low and the high keys too.
fn in_every_key(tunings: impl Iterator<Item = Tuning>, args: &ChooseArgs, setup: &Setup) -> Vec<Harp> {
    let keys: Vec<HarpKey> =
        if args.range.is_some() { HarpKey::all().collect() } else { HarpKey::usual_keys().collect() };
    let concert = setup.harp.concert();
    tunings.flat_map(|tuning| keys.iter().map(move |key| Harp::new(*key, tuning.clone(), concert))).collect()
}

/// The parts of a list set apart by commas.
fn listed<'a>(list: &'a str, option: &str) -> Result<Vec<&'a str>, Failure> {
    let parts: Vec<&str> = list.split(',').map(str::trim).filter(|part| !part.is_empty()).collect();
    if parts.is_empty() {
        return Err(Failure::user(format!("--{option} is empty; write names set apart by commas")));
    }
    Ok(parts)
}

/// The best choice of each tuning that is cheaper than the best one among the harps asked for, the cheapest first. A
/// difference within a tie ([`TIE`]) is no reason for another harp.
fn cheaper(choices: &[Choice], all: Vec<Choice>) -> Vec<Choice> {
    let Some(best) = choices.first() else { return Vec::new() };
    let mut cheaper: Vec<Choice> = Vec::new();
    for choice in all {
        let is_new = cheaper.iter().all(|known| known.harp.tuning() != choice.harp.tuning());
        if choice.cost + TIE < best.cost && is_new {
            cheaper.push(choice);
        }
    }
    cheaper
}
