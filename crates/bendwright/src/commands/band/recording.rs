//! A recording of the player's own as the band.

use super::asked::{Grid, Piece, Shown, chords, symbols};
use crate::args::BandArgs;
use crate::commands::in_time::mistake;
use crate::failure::Failure;
use crate::files::shown;
use crate::own_recording::{NO_BEAT, OwnRecording};
use crate::scale_choice::changes;
use crate::setup::Setup;
use practice::run::{Metre, Tempo};
use std::path::Path;
use theory::NoteName;

/// A recording with its bars.
///
/// # Errors
/// If it cannot be read, is silent, or it is not said where its beats are.
pub(super) fn piece(file: &Path, tonic: NoteName, args: &BandArgs, setup: &Setup) -> Result<Piece, Failure> {
    let (Some(first_s), Some(tempo)) = (args.first_beat, &args.tempo) else {
        return Err(Failure::user(NO_BEAT));
    };
    let tempo: Tempo = tempo.parse().map_err(mistake("tempo"))?;
    let metre = args.metre.as_deref().map_or(Ok(Metre::COMMON), str::parse).map_err(mistake("metre"))?;
    let recording = OwnRecording::new(file, args.level)?;
    let (first_s, seconds) = (recording.first_beat(first_s)?, recording.seconds);
    let form = match &args.form {
        Some(form) => {
            let (bars, key) = chords(&changes(form, "form", setup)?, tonic, setup)?;
            symbols(&bars, &key)
        }
        None => Vec::new(),
    };
    let bar_s = tempo.beat_s() * f64::from(metre.beats());
    let grid = Grid {
        beats: metre.beats(),
        beat_s: tempo.beat_s(),
        first_s,
        bars: Some(((seconds - first_s) / bar_s).ceil() as u64),
        form,
        last: None,
    };
    Ok(Piece {
        title: format!("{}, {metre} at {}, {seconds:.0} seconds", shown(file), Shown(tempo.bpm())),
        grid: Some(grid),
        counts_in: false,
        seconds: Some(seconds),
        make: Box::new(move |rate| recording.sound_from(0.0, rate)),
    })
}
