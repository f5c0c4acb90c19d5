//! `peers mcleod|yin|pyin FILE.wav`: what a general-purpose pitch tracker of crates.io hears, as the CSV of `track`.
//!
//! `known_s` is the last sample in a row's window. `pyin` decides over the whole file; its rows are dated as if the
//! window alone counted, and the bench marks it offline.

use std::error::Error;
use std::io::{BufWriter, Write, stdout};

use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::mcleod::McLeodDetector;
use pitch_detection::detector::yin::YINDetector;
use pyin::{Framing, PYINExecutor, PadMode};

/// Window of every peer, samples.
const WINDOW: usize = 2048;
/// Distance between rows, samples.
const HOP: usize = 256;
/// The same for `pyin`: a quarter of the window, its default.
const PYIN_HOP: usize = WINDOW / 4;
/// The range that is asked for, hertz.
const RANGE: std::ops::RangeInclusive<f64> = 80.0..=3800.0;
/// Energy of a window at -60 dB of full scale: below it, `pitch-detection` is told to say nothing.
const POWER: f64 = WINDOW as f64 * 1e-6;

/// A row: sample at which it is known, sample that it describes, fundamental.
type Row = (f64, f64, Option<f64>);

fn main() -> Result<(), Box<dyn Error>> {
    let usage = "usage: peers mcleod|yin|pyin FILE.wav";
    let mut args = std::env::args().skip(1);
    let mode = args.next().ok_or(usage)?;
    let (samples, rate) = read(&args.next().ok_or(usage)?)?;
    let rows = match mode.as_str() {
        // The clarity thresholds are those of the crate's own examples.
        "mcleod" => frames(&samples, rate, McLeodDetector::new(WINDOW, WINDOW / 2), 0.7),
        "yin" => frames(&samples, rate, YINDetector::new(WINDOW, WINDOW / 2), 0.85),
        "pyin" => pyin(&samples, rate),
        _ => return Err(usage.into()),
    };
    let mut out = BufWriter::new(stdout().lock());
    writeln!(out, "known_s,time_s,hz")?;
    for (known, time, hz) in rows {
        let hz = hz.filter(|hz| RANGE.contains(hz)).map_or(String::new(), |hz| format!("{hz:.5}"));
        writeln!(out, "{:.6},{:.6},{hz}", known / f64::from(rate), time / f64::from(rate))?;
    }
    Ok(out.flush()?)
}

/// A mono 16-bit WAV file, full scale 1, and its sample rate.
fn read(path: &str) -> Result<(Vec<f64>, u32), hound::Error> {
    let mut wav = hound::WavReader::open(path)?;
    let rate = wav.spec().sample_rate;
    let samples: Result<_, _> = wav.samples::<i16>().map(|s| s.map(|s| f64::from(s) / 32768.0)).collect();
    Ok((samples?, rate))
}

/// A detector of `pitch-detection`, window by window.
fn frames(samples: &[f64], rate: u32, mut detector: impl PitchDetector<f64>, clarity: f64) -> Vec<Row> {
    let windows = samples.windows(WINDOW).step_by(HOP).enumerate();
    windows
        .map(|(i, window)| {
            let found = detector.get_pitch(window, rate as usize, POWER, clarity);
            let known = (i * HOP + WINDOW) as f64;
            (known, known - WINDOW as f64 / 2.0, found.map(|p| p.frequency))
        })
        .collect()
}

/// Probabilistic YIN over the whole file, windows centred on their rows.
fn pyin(samples: &[f64], rate: u32) -> Vec<Row> {
    let mut executor =
        PYINExecutor::new(*RANGE.start(), *RANGE.end(), rate, WINDOW, None, Some(PYIN_HOP), None);
    let (at, hz, voiced, _) = executor.pyin(samples, f64::NAN, Framing::Center(PadMode::Constant(0.0)));
    let rows = at.into_iter().zip(hz).zip(voiced);
    rows.map(|((at, hz), voiced)| {
        let time = at * f64::from(rate);
        (time + WINDOW as f64 / 2.0, time, voiced.then_some(hz))
    })
    .collect()
}
