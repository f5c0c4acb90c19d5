//! How loud it is, in decibels and in words.

use std::fmt;

/// Pieces that the last tenth of a second is kept in.
const PIECES: usize = 10;
/// A sample this near to full scale has been cut off.
const FULL: f32 = 0.999;
/// Quieter peaks than this are no sound at all.
const SILENT_DBFS: f32 = -66.0;
/// Below this a note drowns in the noise of a usual room and microphone.
const QUIET_RMS_DBFS: f32 = -44.0;
/// Above this there is little left for a harder breath.
const LOUD_PEAK_DBFS: f32 = -3.0;
/// What stands for the level of nothing at all.
const FLOOR_DBFS: f32 = -120.0;

/// A level in words. The limits are common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Loudness {
    /// Nothing is heard.
    Silent,
    /// Too little to tell a note from the room.
    TooQuiet,
    /// Good for listening.
    Good,
    /// Near the limit.
    Loud,
    /// Beyond the limit: samples are cut off.
    Clipping,
}

impl fmt::Display for Loudness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Silent => "silent",
            Self::TooQuiet => "too quiet",
            Self::Good => "good",
            Self::Loud => "loud",
            Self::Clipping => "clipping",
        })
    }
}

/// The level of the last tenth of a second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelReading {
    /// The largest sample, dB below full scale, −120 at the least.
    pub peak_dbfs: f32,
    /// Root mean square, dB relative to that of a full-scale sine, −120 at the least.
    pub rms_dbfs: f32,
    /// The same in words.
    pub loudness: Loudness,
}

#[derive(Clone, Copy, Default)]
struct Piece {
    peak: f32,
    squares: f64,
    samples: u32,
}

/// Measures the level of a stream over its last 100 ms.
#[derive(Clone)]
pub struct Level {
    pieces: [Piece; PIECES],
    at: usize,
    piece_len: u32,
}

impl Level {
    /// A meter for a stream of `sample_rate` samples per second.
    pub fn new(sample_rate: f64) -> Self {
        let piece_len = (sample_rate * 0.1 / PIECES as f64).ceil().max(1.0) as u32;
        Self { pieces: [Piece::default(); PIECES], at: 0, piece_len }
    }

    /// Takes the next samples.
    pub fn push(&mut self, samples: &[f32]) {
        for &x in samples {
            if self.pieces[self.at].samples == self.piece_len {
                self.at = (self.at + 1) % PIECES;
                self.pieces[self.at] = Piece::default();
            }
            let piece = &mut self.pieces[self.at];
            piece.peak = piece.peak.max(x.abs());
            piece.squares += f64::from(x * x);
            piece.samples += 1;
        }
    }

    /// The level now.
    pub fn reading(&self) -> LevelReading {
        let peak = self.pieces.iter().map(|piece| piece.peak).fold(0.0, f32::max);
        let samples: u32 = self.pieces.iter().map(|piece| piece.samples).sum();
        let squares: f64 = self.pieces.iter().map(|piece| piece.squares).sum();
        // A full-scale sine has a mean square of one half and shall read 0 dB.
        let mean = 2.0 * squares / f64::from(samples.max(1));
        let peak_dbfs = decibels(peak * peak);
        let rms_dbfs = decibels(mean as f32);
        LevelReading { peak_dbfs, rms_dbfs, loudness: in_words(peak, peak_dbfs, rms_dbfs) }
    }
}

fn in_words(peak: f32, peak_dbfs: f32, rms_dbfs: f32) -> Loudness {
    if peak >= FULL {
        Loudness::Clipping
    } else if peak_dbfs > LOUD_PEAK_DBFS {
        Loudness::Loud
    } else if rms_dbfs >= QUIET_RMS_DBFS {
        Loudness::Good
    } else if peak_dbfs >= SILENT_DBFS {
        Loudness::TooQuiet
    } else {
        Loudness::Silent
    }
}

fn decibels(power: f32) -> f32 {
    (10.0 * power.log10()).max(FLOOR_DBFS)
}
