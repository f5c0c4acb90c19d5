//! The partitioned filter: from a block of what was sounded and what was left to better taps, and to a better curve
//! before them.
//!
//! Bin by bin, for partition p with the reference's spectrum X(p), weights W(p) and doubt P(p), the variance of the
//! error of W(p):
//!
//! * what is expected to be left: S = ½ R Σ |X(p)|² P(p), where ½ is the share of the block in the frame, and R the
//!   power that is heard over the power that is sounded: so doubt does not depend on how a volume knob stands;
//! * what the player is heard to add: Ψ ← max(N, λ Ψ + (1 − λ) N) with N = max(|E|² − S, 0);
//! * gain: K(p) = R P(p) X*(p) / (2 S + 2 Ψ), weights: W(p) ← A (W(p) + K(p) E), cut to the partition's taps;
//! * doubt: P(p) ← A² (1 − ½ K(p) X(p)) P(p) + (1 − A²) |W(p)|² / R.

use crate::clip::{Clip, Error, Filter};
use crate::level::Level;
use crate::transform::Transform;
use rustfft::num_complex::Complex;

/// How much of the weights stays from block to block, A: a room changes by so little in 64 ms that doubt settles 32 dB
/// below them.
const STAYS: f32 = 0.9997;
/// Variance of the weights of the first partition before anything is known, as a multiple of R; over all partitions it
/// adds up to four times R. With half of it one more note is heard in the rests of the bench, with twice of it a player
/// in exact unison with a drone loses 2 dB. Where R was not measured, a loudspeaker ten times louder than assumed left
/// 10 dB more for as long as a minute.
const UNKNOWN: f32 = 2.0;
/// How much later partitions are known to be weaker, from the first to the last, nepers of power: a room of 0.6 s.
const FADES: f32 = 3.0;
/// How much of what the player added before is still expected, per block, λ.
const LINGERS: f32 = 0.6;
/// More than so many times what is expected to be left is the player's: what is left varies as noise does, which is
/// that much in one bin of ten million, but the filter is surer of itself than it should be. At 8, bins that were
/// learnt wrong stay so for long; at 30, a player in unison is half learnt before he is noticed.
const PLAYER: f32 = 16.0;

/// A bin teaches only if so much of its power is its own, and not that of louder bins beside it: what leaks went
/// through the room at their frequencies, and the bin would be taken for known before it was ever heard. Of three tuned
/// seeds of the bench 97.5 to 99.5 % of the notes were judged the same without this rule, and 98.9 to 100 % with it; at
/// 0.03 nothing is won, and at 0.3 a drone stays at -11 dB where a player is in exact unison with it.
const OWN: f32 = 0.2;

/// The filter and how far it can be trusted.
#[derive(Clone, Debug)]
pub(crate) struct Kalman {
    block: usize,
    bins: usize,
    parts: usize,
    transform: Transform,
    /// Spectra of the reference, one for each partition; that of the newest frame stands at `newest`.
    spectra: Vec<Complex<f32>>,
    newest: usize,
    weights: Vec<Complex<f32>>,
    doubt: Vec<f32>,
    near: Vec<f32>,
    error: Vec<Complex<f32>>,
    expected: Vec<f32>,
    /// The variance of what is left: of what is expected and of the player.
    variance: Vec<f32>,
    level: Level,
    clip: Clip,
    taps: Vec<f32>,
    /// Whether the filter may tell the player by how much is left.
    is_settled: bool,
}

impl Kalman {
    /// A filter of `parts` partitions of `block` taps.
    pub(crate) fn new(block: usize, parts: usize) -> Self {
        let bins = block + 1;
        let mut new = Self {
            block,
            bins,
            parts,
            transform: Transform::new(2 * block),
            spectra: vec![Complex::default(); parts * bins],
            newest: 0,
            weights: vec![Complex::default(); parts * bins],
            doubt: vec![0.0; parts * bins],
            near: vec![0.0; bins],
            error: vec![Complex::default(); bins],
            expected: vec![0.0; bins],
            variance: vec![0.0; bins],
            level: Level::default(),
            clip: Clip::new(block, parts),
            taps: vec![0.0; block],
            is_settled: false,
        };
        new.forget();
        new
    }

    /// Forgets what was sounded before.
    pub(crate) fn pause(&mut self) {
        self.spectra.fill(Complex::default());
        self.clip.pause();
    }

    /// What the loudspeaker is known to make of a sample that is sounded.
    pub(crate) fn curved(&self, sounded: f32) -> f32 {
        self.clip.curved(sounded)
    }

    /// Forgets the way from the loudspeaker to the microphone, which is another one now. The loudspeaker's curve stays.
    pub(crate) fn forget(&mut self) {
        self.weights.fill(Complex::default());
        self.near.fill(0.0);
        self.level = Level::default();
        for (p, part) in self.doubt.chunks_mut(self.bins).enumerate() {
            part.fill(UNKNOWN * (-FADES * p as f32 / self.parts as f32).exp());
        }
    }

    /// Whether the filter is so good that what it does not expect is the player's. Before that, what it does not expect
    /// may be its own fault: a filter that is surer of itself than it should be would never learn.
    pub(crate) fn settle(&mut self, is_settled: bool) {
        self.is_settled = is_settled;
    }

    /// Learns from `reference`, the newest two blocks that were sounded, as [`Self::curved`] made them, and from the
    /// newest block that was heard: `heard` is its power, `left` what is left once `echo` was taken out. Hands the taps
    /// of each partition to `tell`.
    pub(crate) fn learn(
        &mut self,
        reference: &[f32],
        (left, echo, heard): (&[f32], &[f32], f32),
        mut tell: impl FnMut(usize, &[f32]),
    ) {
        self.newest = (self.newest + self.parts - 1) % self.parts;
        let place = self.newest * self.bins;
        self.transform.spectrum(0, reference, &mut self.spectra[place..place + self.bins]);
        self.transform.spectrum(self.block, left, &mut self.error);
        self.level.take(reference[self.block..].iter().map(|x| x * x).sum(), heard);
        if self.level.ratio() <= 0.0 {
            // A microphone that is silent to the last bit tells nothing.
            return;
        }
        self.expect();
        self.curve(reference, echo);
        for p in 0..self.parts {
            self.correct(p);
            let weights = &mut self.weights[p * self.bins..][..self.bins];
            self.transform.samples(weights, &mut self.taps);
            self.transform.spectrum(0, &self.taps, weights);
            tell(p, &self.taps);
        }
    }

    /// What is expected to be left, and what the player adds.
    fn expect(&mut self) {
        let loud = 0.5 * self.level.ratio();
        self.expected.fill(0.0);
        for p in 0..self.parts {
            let x = &self.spectra[(self.newest + p) % self.parts * self.bins..][..self.bins];
            for ((sum, x), doubt) in self.expected.iter_mut().zip(x).zip(&self.doubt[p * self.bins..]) {
                *sum += loud * x.norm_sqr() * doubt;
            }
        }
        let known = self.error.iter().zip(&self.expected);
        for ((near, variance), (error, expected)) in self.near.iter_mut().zip(&mut self.variance).zip(known) {
            let now = (error.norm_sqr() - expected).max(0.0);
            *near = now.max(LINGERS * *near + (1.0 - LINGERS) * now);
            *variance = 2.0 * (expected + *near);
        }
    }

    /// Learns the curve of the loudspeaker.
    fn curve(&mut self, reference: &[f32], echo: &[f32]) {
        let scale = self.clip.learn(
            &mut self.transform,
            Filter { weights: &self.weights, newest: self.newest },
            (reference, echo, self.level.sounded()),
            Error { spectrum: &self.error, variance: &self.variance },
        );
        for weight in &mut self.weights {
            *weight *= scale;
        }
    }

    /// Corrects one partition.
    fn correct(&mut self, p: usize) {
        let loud = self.level.ratio();
        let x = &self.spectra[(self.newest + p) % self.parts * self.bins..][..self.bins];
        let weights = &mut self.weights[p * self.bins..][..self.bins];
        let doubt = &mut self.doubt[p * self.bins..][..self.bins];
        for k in 0..self.bins {
            let (error, expected) = (self.error[k], self.expected[k]);
            if self.is_settled && error.norm_sqr() > PLAYER * expected {
                continue;
            }
            if own_power(x, k) < OWN * x[k].norm_sqr() {
                continue;
            }
            let gain = loud * doubt[k] / self.variance[k].max(f32::MIN_POSITIVE);
            weights[k] = (weights[k] + x[k].conj() * error * gain) * STAYS;
            doubt[k] = STAYS * STAYS * (1.0 - 0.5 * gain * x[k].norm_sqr()).max(0.0) * doubt[k]
                + (1.0 - STAYS * STAYS) * weights[k].norm_sqr() / loud;
        }
    }
}

/// The power of a bin by a Hann window, of which little leaks: in the spectrum, that window is a sum of three bins
/// (Harris, "On the use of windows for harmonic analysis with the discrete Fourier transform", Proceedings of the IEEE
/// 66, 1978, from memory). A tone in the middle of a bin has as much power as without the window.
fn own_power(x: &[Complex<f32>], k: usize) -> f32 {
    let (below, above) = (x[k.saturating_sub(1)], x[(k + 1).min(x.len() - 1)]);
    0.25 * (2.0 * x[k] - below - above).norm_sqr()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f32::consts::TAU;

    #[test]
    fn a_bin_beside_a_tone_has_little_of_its_own() {
        const SIZE: usize = 2048;
        for place in [100.0_f32, 100.25, 100.5] {
            let tone: Vec<f32> = (0..SIZE).map(|n| (TAU * place * n as f32 / SIZE as f32).sin()).collect();
            let mut bins = vec![Complex::default(); SIZE / 2 + 1];
            Transform::new(SIZE).spectrum(0, &tone, &mut bins);
            assert!(own_power(&bins, 100) >= 0.9 * bins[100].norm_sqr(), "{place}");
            for k in [95, 106, 130] {
                assert!(own_power(&bins, k) <= OWN * bins[k].norm_sqr() + 1e-3, "bin {k} beside {place}");
            }
        }
    }
}
