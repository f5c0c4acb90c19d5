//! `track FILE`: the pitch of a recording as CSV, or which reeds sound together in it.

use crate::args::{Common, TrackArgs};
use crate::failure::Failure;
use crate::pipeline::{Heard, KnownHarp, Pipeline};
use crate::setup::Setup;
use crate::source::known;
use crate::stderr;
use layout::{Harp, TabStyle};
use pitch::Reading;
use pitch::reeds::{MAX_VOICES, Sounding};
use practice::way_of;
use sound::{Feed, FeedEvent, FeedSpec, Pace, Recording};
use std::io::{self, BufWriter, Write};

/// What is printed of a reading.
const COLUMNS: &str = "known_s,time_s,hz,clarity,level_dbfs,onset,sigma_cents";

/// Prints the [`COLUMNS`] of the pitch, or with `--reeds` what [`head`] says.
///
/// A harp that is named on the command line helps to choose the octave; it never pulls the pitch. The harp of the
/// settings says nothing about a recording.
///
/// # Errors
/// If the recording cannot be read, reeds cannot be told apart at its sample rate, or the output cannot be written.
pub(crate) fn run(args: &TrackArgs, common: &Common, setup: &Setup) -> Result<(), Failure> {
    let as_it_comes = Recording::is_stream(&args.file);
    let spec = FeedSpec::Recording { path: args.file.clone(), channel: setup.channel };
    let feed = Feed::open(spec, Pace::AsFastAsPossible).map_err(Failure::user)?;
    let harp = (common.harp.is_some() || common.tuning.is_some()).then_some(&setup.harp);
    let mut pipeline = Pipeline::new(feed, harp.map_or_else(KnownHarp::default, known), args.block)?;
    pipeline.tell_reeds(args.reeds)?;
    let rate = pipeline.sample_rate();
    let mut out = BufWriter::new(io::stdout().lock());
    writeln!(out, "{}", if args.reeds { head() } else { COLUMNS.into() })?;
    let mut rows = Ok(());
    while pipeline.step(&mut |heard| match heard {
        Heard::Readings(readings) if !args.reeds && rows.is_ok() => {
            rows = readings.iter().try_for_each(|reading| row(&mut out, reading, rate));
        }
        Heard::Reeds(now) if rows.is_ok() => rows = reeds_row(&mut out, &now, rate, (harp, &setup.tab)),
        Heard::Feed(FeedEvent::Warning(text)) => stderr::say(&format!("bendwright: {text}")),
        _ => {}
    })? {
        std::mem::replace(&mut rows, Ok(()))?;
        if as_it_comes {
            out.flush()?;
        }
    }
    rows?;
    Ok(out.flush()?)
}

fn row(out: &mut impl Write, reading: &Reading, rate: f64) -> io::Result<()> {
    let hz = reading.hz.map(|hz| format!("{hz:.6}")).unwrap_or_default();
    let sigma = reading.hz.map(|_| format!("{:.5}", reading.sigma_cents)).unwrap_or_default();
    writeln!(
        out,
        "{:.6},{:.6},{hz},{:.4},{:.2},{},{sigma}",
        reading.known as f64 / rate,
        reading.time as f64 / rate,
        reading.clarity,
        reading.level_dbfs,
        u8::from(reading.onset)
    )
}

/// `known_s,time_s,voices` and three columns for each of the voices that there can be.
fn head() -> String {
    let voices = (1..=MAX_VOICES).map(|n| format!(",tab_{n},hz_{n},level_dbfs_{n}"));
    format!("known_s,time_s,voices{}", voices.collect::<String>())
}

fn reeds_row(
    out: &mut impl Write,
    now: &Sounding,
    rate: f64,
    (harp, style): (Option<&Harp>, &TabStyle),
) -> io::Result<()> {
    let count = now.voices().count();
    write!(out, "{:.6},{:.6},{count}", now.known as f64 / rate, now.time as f64 / rate)?;
    for voice in now.voices() {
        let way = harp.and_then(|harp| way_of(harp, voice));
        let tab = way.map(|way| cell(&style.print(way))).unwrap_or_default();
        write!(out, ",{tab},{:.3},{:.2}", voice.hz, voice.level_dbfs)?;
    }
    writeln!(out, "{}", ",,,".repeat(MAX_VOICES - count))
}

/// A text as a cell: in quotes where the player's own tab marks would break the row (RFC 4180).
fn cell(text: &str) -> String {
    if text.contains([',', '"']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
}
