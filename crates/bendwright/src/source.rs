//! Opening what the player listens through: microphone, recording or built-in player.

use crate::coach::Coach;
use crate::failure::Failure;
use crate::pipeline::{KnownHarp, Pipeline};
use crate::setup::{HearFrom, Setup};
use crate::stderr;
use layout::{Breath, Harp, Technique, Way};
use sound::{Feed, FeedSpec, Pace, Recording};
use std::path::Path;

/// Samples read at a time where nothing else is asked: 10.7 ms at 48 kHz.
pub(crate) const BLOCK: usize = 512;

/// The built-in player's seed: the same take every day, so that a demonstration is the same for everybody.
const SEED: u64 = 7;

/// A source that is open: the pipeline, and the mind of the built-in player where that is what sounds.
pub(crate) struct Opened {
    /// The pipeline.
    pub(crate) pipeline: Pipeline,
    /// The mind of the built-in player, which is told what is asked.
    pub(crate) coach: Option<Coach>,
}

/// Opens `from` for the harp of `setup`. Recordings and the built-in player run at `pace`; a device always in its own
/// time.
///
/// # Errors
/// A sentence, if the device or file cannot be opened.
pub(crate) fn open(from: &HearFrom, setup: &Setup, pace: Pace, block: usize) -> Result<Opened, Failure> {
    // Sound libraries talk on standard error while they look for devices; what matters of it is in our own sentence.
    let _quiet = stderr::hush();
    let (opening, coach) = opening(from, (setup, &setup.harp), pace, block);
    Ok(Opened { pipeline: opening()?, coach })
}

/// What opens `from` for a harp, to be called on whichever thread may wait for it, and the mind of the built-in player.
pub(crate) fn opening(
    from: &HearFrom,
    (setup, harp): (&Setup, &Harp),
    pace: Pace,
    block: usize,
) -> (impl FnOnce() -> Result<Pipeline, Failure> + Send + use<>, Option<Coach>) {
    let is_device = matches!(from, HearFrom::Mic(_));
    let (spec, coach) = match from {
        HearFrom::Mic(name) => (FeedSpec::Device { name: name.clone(), channel: setup.channel }, None),
        HearFrom::File(path) => (FeedSpec::Recording { path: path.clone(), channel: setup.channel }, None),
        HearFrom::Player => {
            let (coach, generator) = Coach::new(harp, SEED);
            (FeedSpec::Generator { name: "the built-in player".into(), generator }, Some(coach))
        }
    };
    let harp = known(harp);
    let refused = match from {
        HearFrom::File(path) if pace == Pace::InTime && Recording::is_stream(path) => {
            Some(no_beginning(path))
        }
        _ => None,
    };
    let open = move || {
        refused.map_or(Ok(()), Err)?;
        let feed = Feed::open(spec, pace)
            .map_err(|error| if is_device { Failure::world(error) } else { Failure::user(error) })?;
        Pipeline::new(feed, harp, block)
    };
    (open, coach)
}

/// The full screen begins a recording anew with every drill, which a pipe cannot do, and would stand still while it
/// waits for somebody to write to the pipe.
fn no_beginning(path: &Path) -> Failure {
    Failure::user(format!(
        "{} is no file: it is read as it comes by track, and by drill and listen with --plain or --json; \
         for anything else save the recording as a file",
        path.display()
    ))
}

/// What the ear wants to know of a harp.
pub(crate) fn known(harp: &Harp) -> KnownHarp {
    let reed = |hole, breath| harp.hz(Way::new(hole, breath, Technique::Natural));
    let hole = |hole| Some([reed(hole, Breath::Blow)?, reed(hole, Breath::Draw)?]);
    KnownHarp { holes: (1..=harp.holes()).map_while(hole).collect() }
}
