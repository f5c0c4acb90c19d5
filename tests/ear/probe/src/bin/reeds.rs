//! `reeds KEY|none FILE.wav`: which reeds of a Richter harp sound together (or, with `none`, which two pitches), as
//! CSV: when it was known, the MIDI notes from the lowest up, and in the same order where each lies (as a MIDI note
//! with its fraction) and how loud it is; then the reeds of which it cannot be told whether they sound. A reed counts
//! as itself also where it is bent or scoops.

use std::error::Error;
use std::io::{BufWriter, Write, stdout};

use layout::{Breath, Harp, HarpKey, Note};
use pitch::reeds::{Reed, ReedSettings, Reeds, Sounding, Voice};

fn main() -> Result<(), Box<dyn Error>> {
    let usage = "usage: reeds KEY|none FILE.wav";
    let mut args = std::env::args().skip(1);
    let key = args.next().ok_or(usage)?;
    let (samples, sample_rate) = probe::read(&args.next().ok_or(usage)?)?;
    let harp = if key == "none" { None } else { Some(richter(&key)?) };
    let holes = harp.as_ref().map(fundamentals).unwrap_or_default();
    let mut reeds = Reeds::new(ReedSettings { sample_rate, holes }).map_err(|e| e.to_string())?;
    let mut said = Vec::new();
    reeds.push(&samples, |now| said.push((now.known as f64 / sample_rate, columns(harp.as_ref(), &now))));
    let mut out = BufWriter::new(stdout().lock());
    writeln!(out, "known_s,reeds,pitches,levels_dbfs,unsure")?;
    for (known, columns) in said {
        writeln!(out, "{known:.6},{columns}")?;
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

/// The reeds that sound, their pitches and levels, from the lowest reed up.
fn columns(harp: Option<&Harp>, now: &Sounding) -> String {
    let mut voices: Vec<_> = now.voices().map(|voice| (note(harp, voice), voice)).collect();
    voices.sort_unstable_by_key(|(note, _)| *note);
    let column = |tell: fn(&(i32, &Voice)) -> String| voices.iter().map(tell).collect::<Vec<_>>().join(" ");
    let notes = column(|(note, _)| note.to_string());
    let pitches = column(|(_, voice)| format!("{:.2}", midi(voice.hz)));
    let levels = column(|(_, voice)| format!("{:.1}", voice.level_dbfs));
    let unsure: Vec<_> = now.unsure().filter_map(|reed| of_reed(harp?, reed)).map(|n| n.to_string()).collect();
    format!("{notes},{pitches},{levels},{}", unsure.join(" "))
}

/// A frequency on the scale of MIDI notes.
fn midi(hz: f64) -> f64 {
    69.0 + 12.0 * (hz / 440.0).log2()
}

/// The note of the voice's reed, or the nearest to its pitch where no harp is known.
fn note(harp: Option<&Harp>, voice: &Voice) -> i32 {
    let of_harp = harp.zip(voice.reed).and_then(|(harp, reed)| of_reed(harp, reed));
    of_harp.unwrap_or_else(|| midi(voice.hz).round() as i32)
}

/// The note of a reed.
fn of_reed(harp: &Harp, reed: Reed) -> Option<i32> {
    let breath = if reed.draw { Breath::Draw } else { Breath::Blow };
    harp.reed(reed.hole, breath).map(|note| i32::from(note.midi()))
}
