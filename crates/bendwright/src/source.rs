//! Opening what the player listens through: microphone, recording or built-in player.

use crate::coach::Coach;
use crate::failure::Failure;
use crate::pipeline::Pipeline;
use crate::setup::{From, Setup};
use layout::Harp;
use sound::{Feed, FeedSpec, Pace};

/// Samples read at a time where nothing else is asked: 10.7 ms at 48 kHz.
pub(crate) const BLOCK: usize = 512;

/// The built-in player's seed: the same take every day, so that a demonstration is the same for everybody.
const SEED: u64 = 7;

/// A source that is open: the pipeline, and the mind of the built-in player where that is what sounds.
pub(crate) struct Source {
    /// The pipeline.
    pub(crate) pipeline: Pipeline,
    /// Whom to tell what is asked.
    pub(crate) coach: Option<Coach>,
}

/// Opens `from` for `harp`. Recordings and the built-in player run at `pace`; a device always in its own time.
///
/// # Errors
/// A sentence, if the device or file cannot be opened.
pub(crate) fn open(from: &From, setup: &Setup, pace: Pace, block: usize) -> Result<Source, Failure> {
    let (spec, coach) = match from {
        From::Mic(name) => (FeedSpec::Device { name: name.clone(), channel: setup.channel }, None),
        From::File(path) => (FeedSpec::Recording { path: path.clone(), channel: setup.channel }, None),
        From::Player => {
            let (coach, generator) = Coach::new(&setup.harp, SEED);
            (FeedSpec::Generator { name: "the built-in player".into(), generator }, Some(coach))
        }
    };
    let feed = Feed::open(spec, pace).map_err(|error| match from {
        From::Mic(_) => Failure::world(error),
        _ => Failure::user(error),
    })?;
    let pipeline = Pipeline::new(feed, fundamentals(&setup.harp), block)?;
    Ok(Source { pipeline, coach })
}

/// Every fundamental the harp can sound when played in tune, hertz.
pub(crate) fn fundamentals(harp: &Harp) -> Vec<f64> {
    harp.ways().filter_map(|way| harp.hz(way)).collect()
}
