//! The band as a WAV file.

use super::asked::Piece;
use super::told::Told;
use crate::failure::Failure;
use crate::files::shown;
use crate::outfile;
use hound::{SampleFormat, WavSpec, WavWriter};
use std::fs::File;
use std::io::{self, BufWriter};
use std::path::Path;

/// Samples per second: what loudspeakers take most.
const RATE: u32 = 48_000;
/// The longest file, seconds.
const LONGEST_S: f64 = 7_200.0;
/// Samples that are made at once.
const BLOCK: usize = 4_096;

/// Writes the piece whole or not at all, as one channel of 16 bits.
///
/// # Errors
/// If it would be longer than two hours, or cannot be written.
pub(super) fn write(file: &Path, piece: Piece, told: &Told) -> Result<(), Failure> {
    if let Some(seconds) = piece.seconds.filter(|seconds| *seconds > LONGEST_S) {
        return Err(Failure::user(format!(
            "--choruses: that would be {:.0} minutes; a file has {:.0} at most, so take fewer",
            seconds / 60.0,
            LONGEST_S / 60.0
        )));
    }
    told.piece(&piece, "")?;
    let Piece { grid, make, .. } = piece;
    let mut sound = make(f64::from(RATE)).map_err(Failure::user)?;
    let (mut samples, mut peak) = (0_u64, 0.0_f32);
    outfile::write_by(file, |out| {
        let mut wav = writer(out).map_err(as_io)?;
        let mut block = [0.0; BLOCK];
        loop {
            let made = sound.fill(&mut block);
            if made == 0 {
                break;
            }
            for sample in &block[..made] {
                peak = peak.max(sample.abs());
                wav.write_sample((sample * f32::from(i16::MAX)).round() as i16).map_err(as_io)?;
            }
            samples += made as u64;
        }
        wav.finalize().map_err(as_io)
    })?;
    if let Some(grid) = &grid {
        (0..grid.bars.unwrap_or(0)).try_for_each(|bar| told.bar(grid, bar))?;
    }
    let peak_dbfs = 20.0 * f64::from(peak).max(1e-9).log10();
    told.written(shown(file), samples as f64 / f64::from(RATE), peak_dbfs)
}

fn writer(out: &mut File) -> hound::Result<WavWriter<BufWriter<&mut File>>> {
    let spec =
        WavSpec { channels: 1, sample_rate: RATE, bits_per_sample: 16, sample_format: SampleFormat::Int };
    WavWriter::new(BufWriter::new(out), spec)
}

fn as_io(error: hound::Error) -> io::Error {
    match error {
        hound::Error::IoError(error) => error,
        other => io::Error::other(other),
    }
}
