//! `reeds KEY|none FILE.wav`: which reeds of a Richter harp sound together (or, with `none`, which two pitches), as CSV:
//! when it was known, and the MIDI notes from the lowest up. A reed counts as itself also where it is bent or scoops.

use std::error::Error;
use std::io::{BufWriter, Write, stdout};

use layout::{Breath, Harp, HarpKey, Note};
use pitch::reeds::{ReedSettings, Reeds, Sounding, Voice};

fn main() -> Result<(), Box<dyn Error>> {
    let usage = "usage: reeds KEY|none FILE.wav";
    let mut args = std::env::args().skip(1);
    let key = args.next().ok_or(usage)?;
    let (samples, sample_rate) = probe::read(&args.next().ok_or(usage)?)?;
    let harp = if key == "none" { None } else { Some(richter(&key)?) };
    let holes = harp.as_ref().map(fundamentals).unwrap_or_default();
    let mut reeds = Reeds::new(ReedSettings { sample_rate, holes }).map_err(|e| e.to_string())?;
    let mut said = Vec::new();
    reeds.push(&samples, |now| said.push((now.known as f64 / sample_rate, notes(harp.as_ref(), &now))));
    let mut out = BufWriter::new(stdout().lock());
    writeln!(out, "known_s,reeds")?;
    for (known, notes) in said {
        writeln!(out, "{known:.6},{notes}")?;
    }
    Ok(out.flush()?)
}

fn richter(key: &str) -> Result<Harp, String> {
    Ok(Harp::richter(key.parse::<HarpKey>().map_err(|e| format!("{e:?}"))?))
}

/// The fundamentals of the blow and of the draw reed of each hole, hertz.
fn fundamentals(harp: &Harp) -> Vec<[f64; 2]> {
    let hz = |hole, breath| harp.reed(hole, breath).map_or(0.0, hz);
    (1..=harp.holes()).map(|hole| [hz(hole, Breath::Blow), hz(hole, Breath::Draw)]).collect()
}

/// Frequency of a note by the MIDI tuning formula, A4 = 440 Hz.
fn hz(note: Note) -> f64 {
    440.0 * ((f64::from(note.midi()) - 69.0) / 12.0).exp2()
}

/// The MIDI notes of what sounds, from the lowest up.
fn notes(harp: Option<&Harp>, now: &Sounding) -> String {
    let mut notes: Vec<i32> = now.voices().map(|voice| note(harp, voice)).collect();
    notes.sort_unstable();
    notes.iter().map(i32::to_string).collect::<Vec<_>>().join(" ")
}

/// The note of the voice's reed, or the nearest to its pitch where no harp is known.
fn note(harp: Option<&Harp>, voice: &Voice) -> i32 {
    let of_reed = harp
        .zip(voice.reed)
        .and_then(|(harp, reed)| harp.reed(reed.hole, if reed.draw { Breath::Draw } else { Breath::Blow }));
    of_reed.map_or_else(
        || (69.0 + 12.0 * (voice.hz / 440.0).log2()).round() as i32,
        |note| i32::from(note.midi()),
    )
}
