//! Note or no note: a decision of its own, apart from which note.
//!
//! A sound that repeats almost exactly is believed in its first frame, and one that repeats less exactly only after several
//! frames. The click of a metronome repeats too, but dies away within milliseconds; a reed is fed with breath and does not.

use crate::candidates::{Candidate, Candidates};

/// Mean square below which nothing is listened to (-78 dB of a full-scale sine).
pub(crate) const SILENCE: f64 = 0.8e-8;
/// How many frames must agree before a correlation that lies so many standard deviations above chance is called a note.
const PATIENCE: [(f64, u32); 5] = [(10.0, 1), (8.25, 2), (6.6, 3), (5.2, 5), (4.6, 8)];
/// The most samples that count as independent: breath and rooms are loudest at low frequencies, where neighbouring samples
/// are much alike.
const ALONE: f64 = 64.0;
/// A sound that falls faster than this is a click, decibels per second (60 dB in 0.24 s).
const FASTEST_DECAY: f64 = 250.0;
/// Noise that is always reckoned with, share of the power (arithmetic, filters, converters, interpolation).
pub(crate) const LEAST_NOISE: f64 = 1.0e-6;
/// A multiple of the period lies no further than this share of it from its place.
const WITHIN: f64 = 0.1;

/// How many frames in a row must agree on a pitch of this strength over so many samples; `None` if no number would do.
///
/// The strength is a correlation, 1 at most, and its inverse hyperbolic tangent has a deviation of nearly one over the
/// square root of the number of samples (Fisher, Metron 1 (1921)).
pub(crate) fn frames_needed(strength: f32, samples: f64) -> Option<u32> {
    let deviations = f64::from(strength).atanh() * samples.min(ALONE).sqrt();
    PATIENCE.iter().find(|(least, _)| deviations >= *least).map(|(_, frames)| *frames)
}

/// The strength of a repetition over at least `span` samples: for a short period the weakest of its multiples up to
/// there, since narrow noise also repeats over a period or two. Of those that lie beyond the `longest` lag nothing is
/// known: where only high notes are looked for, a shorter stretch must do.
pub(crate) fn lasting_strength(candidates: &[Candidate], period: f64, span: f64, longest: f64) -> f32 {
    let known = (longest / period - WITHIN).floor();
    let multiples = (span / period).ceil().min(known).max(1.0) as u32;
    let strength_at = |times: u32| {
        let near = |c: &&Candidate| (c.period / period - f64::from(times)).abs() < WITHIN;
        candidates.iter().filter(near).map(|c| c.strength).fold(0.0, f32::max)
    };
    (1..=multiples).map(strength_at).fold(1.0, f32::min)
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
