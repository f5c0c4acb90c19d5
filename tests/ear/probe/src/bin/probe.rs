//! `probe FILE.wav`: the readings of the ear as CSV, with their uncertainty, one row a hop.

use std::error::Error;
use std::io::{BufWriter, Write, stdout};

use pitch::{Ear, Reading, Settings};

/// Samples handed over at a time; the readings do not depend on it.
const BLOCK: usize = 512;

fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args().nth(1).ok_or("usage: probe FILE.wav")?;
    let (samples, rate) = probe::read(&path)?;
    let mut ear = Ear::new(Settings::new(rate)).map_err(|e| format!("{e:?}"))?;
    let mut out = BufWriter::new(stdout().lock());
    writeln!(out, "known_s,time_s,hz,clarity,level_dbfs,onset,sigma_cents")?;
    let mut failed = None;
    for block in samples.chunks(BLOCK) {
        ear.push(block, |reading| {
            if let Err(e) = write_row(&mut out, &reading, rate) {
                failed = Some(e);
            }
        });
    }
    failed.map_or_else(|| Ok(out.flush()?), |e| Err(e.into()))
}

/// One reading; the pitch and its uncertainty stay empty where nothing sounds.
fn write_row(out: &mut impl Write, reading: &Reading, rate: f64) -> std::io::Result<()> {
    let (known, time) = (reading.known as f64 / rate, reading.time as f64 / rate);
    write!(out, "{known:.6},{time:.6},")?;
    if let Some(hz) = reading.hz {
        write!(out, "{hz:.5}")?;
    }
    write!(out, ",{:.3},{:.2},{},", reading.clarity, reading.level_dbfs, u8::from(reading.onset))?;
    if reading.hz.is_some() {
        write!(out, "{:.5}", reading.sigma_cents)?;
    }
    writeln!(out)
}
