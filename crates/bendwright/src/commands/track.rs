//! `track FILE`: the pitch of a recording as CSV, one row a hop.

use crate::args::{Common, TrackArgs};
use crate::failure::Failure;
use crate::pipeline::{Heard, Pipeline};
use crate::setup::Setup;
use crate::source::{BLOCK, fundamentals};
use crate::stderr;
use pitch::Reading;
use sound::{Feed, FeedEvent, FeedSpec, Pace};
use std::io::{self, BufWriter, Write};

/// Prints `known_s,time_s,hz,clarity,level_dbfs,onset`.
///
/// A harp that is named on the command line helps to choose the octave; it never pulls the pitch.
///
/// # Errors
/// If the recording cannot be read or the output cannot be written.
pub(crate) fn run(args: &TrackArgs, common: &Common, setup: &Setup) -> Result<(), Failure> {
    let spec = FeedSpec::Recording { path: args.file.clone(), channel: setup.channel };
    let feed = Feed::open(spec, Pace::AsFastAsPossible).map_err(Failure::user)?;
    let hint = if common.harp.is_some() { fundamentals(&setup.harp) } else { Vec::new() };
    let mut pipeline = Pipeline::new(feed, hint, BLOCK)?;
    let rate = pipeline.sample_rate();
    let mut out = BufWriter::new(io::stdout().lock());
    writeln!(out, "known_s,time_s,hz,clarity,level_dbfs,onset")?;
    let mut rows = Ok(());
    while pipeline.step(&mut |heard| match heard {
        Heard::Readings(readings) if rows.is_ok() => {
            rows = readings.iter().try_for_each(|reading| row(&mut out, reading, rate));
        }
        Heard::Feed(FeedEvent::Warning(text)) => stderr::say(&format!("bendwright: {text}")),
        _ => {}
    })? {
        std::mem::replace(&mut rows, Ok(()))?;
    }
    rows?;
    Ok(out.flush()?)
}

fn row(out: &mut impl Write, reading: &Reading, rate: f64) -> io::Result<()> {
    let hz = reading.hz.map(|hz| format!("{hz:.6}")).unwrap_or_default();
    writeln!(
        out,
        "{:.6},{:.6},{hz},{:.4},{:.2},{}",
        reading.known as f64 / rate,
        reading.time as f64 / rate,
        reading.clarity,
        reading.level_dbfs,
        u8::from(reading.onset)
    )
}
