//! `phrase [NAME]`: a phrase of ours or of the player's own, in time.

use super::in_time::{self, InKey, mistake};
use crate::args::PhraseArgs;
use crate::catalogue;
use crate::failure::Failure;
use crate::scale_choice::scale;
use crate::setup::Setup;
use practice::run::{Phrase, Swing};
use std::io::{self, Write};
use theory::ScaleInKey;

/// A complete phrase file, to begin one's own from.
const EXAMPLE: &str = include_str!("../../../../assets/examples/own-phrase.toml");

/// Runs the command. Without a name it is the first phrase of the list.
///
/// # Errors
/// If there is no such phrase, it or an argument has a mistake, or the sound or the output fails.
pub(crate) fn run(args: &PhraseArgs, setup: Setup) -> Result<(), Failure> {
    if args.example {
        return Ok(io::stdout().write_all(EXAMPLE.as_bytes())?);
    }
    if args.list {
        let named = |phrase: &Phrase| (phrase.name.clone(), described(phrase));
        return catalogue::list(&setup.library, &setup.harp, named);
    }
    let phrase: Phrase = match &args.name {
        Some(name) => catalogue::find(&setup.library, name, &setup.harp)?,
        None => catalogue::first(&setup.library, &setup.harp)?,
    };
    let mut material = phrase.material;
    if let Some(tempo) = args.time.tempo()? {
        material = material.at(tempo);
    }
    if let Some(swing) = args.time.swing()? {
        material = material.swung(swing).map_err(mistake("swing"))?;
    }
    // The chords under a phrase are written from the plain scale.
    let plain = scale(&setup, "major", "band")?;
    let key = phrase.position.map(|position| ScaleInKey::in_position(plain, &setup.harp, position));
    let key = key.as_ref().map(|key| InKey { key, changes: None });
    in_time::run((material, phrase.position.unwrap_or_default()), (&args.time, key), setup)
}

/// "A half step below home (4/4 at 76; 2nd position; needs half-steps)".
fn described(phrase: &Phrase) -> String {
    let rhythm = &phrase.material.rhythm;
    let swing = if rhythm.swing == Swing::STRAIGHT { "" } else { ", swung" };
    let position = phrase.position.map_or(String::new(), |position| format!("; {position}"));
    let needs = phrase.needs.map_or(String::new(), |needs| format!("; needs {}", needs.name()));
    let title = &phrase.material.name.title;
    format!("{title} ({} at {}{swing}{position}{needs})", rhythm.metre, rhythm.tempo.bpm())
}
