//! Sets of voices: where each may lie, and which may sound together.

use super::told::{MAX_VOICES, Reed};
use crate::note::near;
use rustfft::num_complex::Complex;

/// The most harmonics of a voice that are fitted.
pub(super) const HARMONICS: usize = 24;
/// Holes between the outermost of a set, at most.
const SPAN: usize = 4;

/// Where a voice may lie, hertz, and what a fit made of it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Spot {
    pub(super) at: f64,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) reed: Option<Reed>,
    pub(super) bent: bool,
    /// Its number among all places.
    pub(super) place: usize,
    /// Its harmonics at the middle of the window.
    pub(super) amplitudes: [Complex<f64>; HARMONICS],
}

impl Spot {
    /// The hole of its reed, counted from 1; 0 where no harp is known.
    pub(super) fn hole(&self) -> usize {
        self.reed.map_or(0, |reed| usize::from(reed.hole))
    }

    /// Power of the voice: that of a full-scale sine is 1.
    pub(super) fn power(&self) -> f64 {
        self.amplitudes.iter().map(Complex::norm_sqr).sum()
    }

    /// The middle of where it may lie: the pitch that the reed is meant to have.
    fn nominal(&self) -> f64 {
        (self.low * self.high).sqrt()
    }

    /// Whether this is a natural reed that is meant to have so many times the pitch of another.
    pub(super) fn is_times(&self, times: f64, other: &Self) -> bool {
        !self.bent && near(self.nominal(), times * other.nominal())
    }
}

/// A set of voices with what the fit made of them.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Set {
    pub(super) count: usize,
    pub(super) voices: [Spot; MAX_VOICES],
    /// What is unexplained plus what the set costs, nats; lower is better.
    pub(super) cost: f64,
}

impl Set {
    pub(super) fn voices(&self) -> &[Spot] {
        &self.voices[..self.count]
    }

    /// The same set and one voice more, of at most [`MAX_VOICES`].
    pub(super) fn with(&self, voice: &Spot) -> Self {
        let mut more = *self;
        more.voices[more.count] = *voice;
        more.count += 1;
        more
    }

    /// Whether another set holds all these places.
    pub(super) fn is_within(&self, other: &Self) -> bool {
        self.voices().iter().all(|one| other.voices().iter().any(|two| one.place == two.place))
    }

    /// All voices but this one.
    pub(super) fn others(&self, voice: usize) -> impl Iterator<Item = &Spot> {
        self.voices().iter().enumerate().filter(move |(other, _)| *other != voice).map(|(_, other)| other)
    }
}

/// Whether these are two natural reeds an octave apart.
pub(super) fn are_octave(a: &Spot, b: &Spot) -> bool {
    let ratio = (a.at / b.at).max(b.at / a.at);
    !a.bent && !b.bent && ratio < 2.5 && hidden(a.at, b.at)
}

/// Whether one breath through neighbouring holes can sound both voices; where no harp is known, whether they are two.
pub(super) fn reaches(place: &Spot, other: &Spot) -> bool {
    match (place.reed, other.reed) {
        (Some(a), Some(b)) => a.draw == b.draw && (1..=SPAN).contains(&place.hole().abs_diff(other.hole())),
        _ => !near(place.at, other.at),
    }
}

/// Whether one voice lies at a harmonic of the other, so that all its lines fall onto lines of the other and a fit
/// cannot tell them apart.
pub(super) fn hidden(a: f64, b: f64) -> bool {
    let ratio = (a / b).max(b / a);
    ratio > 1.9 && (ratio / ratio.round() - 1.0).abs() < 0.04
}
