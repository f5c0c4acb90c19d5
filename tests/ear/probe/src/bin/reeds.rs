//! `reeds KEY|none FILE.wav`: which reeds of a Richter harp sound together (or, with `none`, which two pitches), as CSV:
//! when it was known, and the MIDI notes from the lowest up.

use std::error::Error;
use std::io::{BufWriter, Write, stdout};

use layout::{Breath, Harp, HarpKey};
use pitch::sounding::{Sounding, Together};

fn main() -> Result<(), Box<dyn Error>> {
    let usage = "usage: reeds KEY|none FILE.wav";
    let mut args = std::env::args().skip(1);
    let key = args.next().ok_or(usage)?;
    let (samples, rate) = probe::read(&args.next().ok_or(usage)?)?;
    let breaths = if key == "none" { [Vec::new(), Vec::new()] } else { harp(&key)? };
    let mut sounding = Sounding::new(rate, breaths).map_err(|e| e.to_string())?;
    let mut said = Vec::new();
    sounding.push(&samples, |together| said.push((together.known as f64 / rate, notes(&together))));
    let mut out = BufWriter::new(stdout().lock());
    writeln!(out, "known_s,reeds")?;
    for (known, reeds) in said {
        writeln!(out, "{known:.6},{reeds}")?;
    }
    Ok(out.flush()?)
}

/// The fundamentals of the blow and of the draw reeds, hertz.
fn harp(key: &str) -> Result<[Vec<f64>; 2], String> {
    let harp = Harp::richter(key.parse::<HarpKey>().map_err(|e| format!("{e:?}"))?);
    let reeds = |breath| (1..=harp.holes()).filter_map(|hole| harp.reed(hole, breath)).map(hz).collect();
    Ok([reeds(Breath::Blow), reeds(Breath::Draw)])
}

/// Frequency of a note by the MIDI tuning formula, A4 = 440 Hz.
fn hz(note: layout::Note) -> f64 {
    440.0 * ((f64::from(note.midi()) - 69.0) / 12.0).exp2()
}

/// The nearest MIDI notes of what sounds, from the lowest up.
fn notes(together: &Together) -> String {
    let midi = |hz: f64| (69.0 + 12.0 * (hz / 440.0).log2()).round() as i32;
    let mut notes: Vec<i32> = together.parts().iter().map(|part| midi(part.hz)).collect();
    notes.sort_unstable();
    notes.iter().map(i32::to_string).collect::<Vec<_>>().join(" ")
}
