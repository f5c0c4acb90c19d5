//! Note or no note: a decision of its own, apart from which note.
//!
//! A sound that repeats almost exactly is believed at once, one that repeats less exactly must keep on doing so. A
//! click from a metronome repeats too, but dies away within milliseconds; a reed is fed with breath and does not.

use crate::candidates::{Candidate, Candidates};

/// Mean square below which nothing is listened to (-78 dB of a full-scale sine).
pub(crate) const SILENCE: f64 = 0.8e-8;
/// How many looks must agree before a sound with this strength of correlation is called a note.
const PATIENCE: [(f32, u32); 5] = [(0.93, 1), (0.88, 2), (0.80, 3), (0.70, 5), (0.55, 8)];
/// A sound that falls faster than this is a click, decibels per second (60 dB in a quarter of a second).
const FASTEST_DECAY: f64 = 250.0;

/// Noise that is always reckoned with, share of the power (arithmetic, filters, converters, interpolation).
const LEAST_NOISE: f64 = 1.0e-6;

/// How many looks in a row must agree on a pitch of this strength; `None` if no number would do.
pub(crate) fn looks_needed(strength: f32) -> Option<u32> {
    PATIENCE.iter().find(|(least, _)| strength >= *least).map(|(_, looks)| *looks)
}

/// The strength of a repetition over at least `span` samples: for a short period the weakest of its multiples up to
/// there, since narrow noise also repeats over a period or two.
pub(crate) fn lasting_strength(candidates: &[Candidate], period: f64, span: f64) -> f32 {
    let multiples = (span / period).ceil().max(1.0);
    let near_multiple = |c: &&Candidate| {
        let times = c.period / period;
        times < multiples + 0.5 && (times - times.round()).abs() < 0.1 && times.round() >= 1.0
    };
    let mut count = 0.0;
    let mut weakest: f32 = 1.0;
    for candidate in candidates.iter().filter(near_multiple) {
        count += 1.0;
        weakest = weakest.min(candidate.strength);
    }
    if count >= multiples { weakest } else { 0.0 }
}

/// Whether a sound dies away like a click: its newest energy against that of the stretch before, and the time
/// between the two in seconds.
pub(crate) fn dies_away(newest: f64, before: f64, apart_s: f64) -> bool {
    10.0 * (newest / before.max(1.0e-30)).log10() < -FASTEST_DECAY * apart_s
}

/// Share of the sound that does not repeat: what the correlation at the longest multiple of the period lacks of 1.
pub(crate) fn noise_share(candidates: &Candidates, period: f64) -> f64 {
    let multiple = (candidates.longest() / period).floor().max(1.0) * period;
    (1.0 - f64::from(candidates.at(multiple))).clamp(LEAST_NOISE, 1.0)
}
