//! The standard deviation that is told of a reading. The judge says *cannot tell* where it exceeds the tolerance; the window
//! selection goes by the `sigma` of [`Estimate`] instead.
//!
//! The harmonics are independent measurements of one pitch, so their residuals tell how exact their mean is, whatever
//! disturbs them: noise, a room, arithmetic. The variance of the mean is the sum of the weighted squared residuals, not of
//! the variances that were assumed (the sandwich estimator: White, Econometrica 48 (1980); freed of the leverage of each
//! harmonic: `MacKinnon` & White, J. Econometrics 29 (1985)). A frame has few harmonics, so the squared residuals of each
//! harmonic are averaged over time, in units of the assumed variance.
//!
//! What all harmonics do together is a movement of the note. A long window gives it late and smoothed. By how much is
//! learnt later, from a window of the same kind that is centred on the moment that was read.

use crate::consensus::{Estimate, LEVERAGE_CEILING, PerHarmonic};
use crate::refine::HARMONICS;

/// Share of a new frame in the running averages of squared residuals: a time constant of 31 ms.
const NEWS: f64 = 0.08;
/// The same for the movement of the note, 83 ms: a wavering breath takes longer than 31 ms to turn round.
const SLOW_NEWS: f64 = 0.03;
/// Frames overlap; so many in a row (20 ms, the usual window) carry the information of one independent frame.
const TOGETHER: f64 = 8.0;
/// Estimates that are kept, 0.32 s: the longest window, and the usual window about its end.
const PAST: usize = 128;
/// Prior weight of the assumed variance, as a share of one harmonic's degree of freedom.
const BELIEF: f64 = 1.0e-3;
/// Prior weight of the mean over all harmonics in each harmonic's own variance.
const ALIKE: f64 = 0.1;
/// Square of the bias of the mean under a Hann window when the pitch follows a parabola, (1/12 - 1/2π²)/2, over the
/// parabola's height at the middle between two windows that touch, 1/8.
const BENT: f64 = 0.017_2;

/// Learns how far off the readings of one note are.
#[derive(Clone, Debug)]
pub(crate) struct Uncertainty {
    /// Running average of the squared residual of each harmonic in units of its assumed variance, and of its degree of
    /// freedom (1 less its leverage).
    residuals: [f64; HARMONICS],
    free: [f64; HARMONICS],
    frames: f64,
    /// What was read, by frames.
    read: Vec<(PerHarmonic, f64)>,
    newest: usize,
    count: usize,
    /// Mean squares by which the note moves from frame to frame, and by which its pitch bends there.
    speed: Running,
    bend: Running,
    hop: f64,
}

/// A mean that forgets, each value weighed by how exact it is.
#[derive(Clone, Copy, Debug, Default)]
struct Running {
    sum: f64,
    weight: f64,
}

impl Running {
    /// Takes a square into account that comes out of measurements of this variance: its own is twice the square of that.
    fn take(&mut self, square: f64, variance: f64) {
        let weight = variance.powi(2).max(f64::MIN_POSITIVE).recip();
        self.sum += weight * square - SLOW_NEWS * self.sum;
        self.weight += weight - SLOW_NEWS * self.weight;
    }

    /// The mean square beyond what measurements alone would often seem to: those of a window's length are one.
    fn mean(&self) -> f64 {
        if self.weight > 0.0 {
            (self.sum / self.weight - (2.0 * TOGETHER / self.weight).sqrt()).max(0.0)
        } else {
            0.0
        }
    }
}

impl Uncertainty {
    /// For windows that come every `hop` samples.
    pub(crate) fn new(hop: f64) -> Self {
        Self {
            residuals: [0.0; HARMONICS],
            free: [0.0; HARMONICS],
            frames: 0.0,
            read: vec![(PerHarmonic::default(), 0.0); PAST],
            newest: 0,
            count: 0,
            speed: Running::default(),
            bend: Running::default(),
            hop,
        }
    }

    /// Forgets the note.
    pub(crate) fn clear(&mut self) {
        (self.residuals, self.free, self.frames) = ([0.0; HARMONICS], [0.0; HARMONICS], 0.0);
        (self.count, self.speed, self.bend) = (0, Running::default(), Running::default());
    }

    /// Takes one more reading into account; tells how far off it may be, one standard deviation, cycles per sample.
    pub(crate) fn tell(&mut self, read: &Estimate) -> f64 {
        let said = &read.said;
        let weights = said.weights();
        self.learn_strays(read, &weights);
        self.newest = (self.newest + 1) % PAST;
        self.count = (self.count + 1).min(PAST);
        let variance = self.variance(said, &weights);
        self.read[self.newest] = (*said, variance);
        let (late, half) = (read.late / self.hop, (read.lag + read.late) / self.hop);
        self.learn_speed(late, &weights);
        self.learn_bend(half, &weights);
        let moved = self.speed.mean() * late.powi(2) + BENT * self.bend.mean() * half.powi(4);
        (variance + moved).sqrt()
    }

    fn learn_strays(&mut self, read: &Estimate, weights: &[f64; HARMONICS]) {
        let said = &read.said;
        self.frames += 1.0;
        let news = NEWS.max(self.frames.recip());
        for (h, weight) in weights.iter().enumerate().take(said.harmonics) {
            let residual = (said.fundamentals[h] - read.frequency).powi(2) / said.variances[h];
            self.residuals[h] += (residual - self.residuals[h]) * news;
            self.free[h] += (1.0 - weight - self.free[h]) * news;
        }
    }

    /// The variance of the mean by how the harmonics have strayed.
    fn variance(&self, said: &PerHarmonic, weights: &[f64; HARMONICS]) -> f64 {
        let harmonics = 0..said.harmonics;
        let residuals: f64 = self.residuals[harmonics.clone()].iter().sum();
        let free: f64 = self.free[harmonics.clone()].iter().sum();
        let all = (BELIEF + residuals) / (BELIEF + free);
        harmonics
            .map(|h| {
                let own = (ALIKE * all + self.residuals[h]) / (ALIKE + self.free[h]);
                weights[h] * weights[h] * said.variances[h] * own
            })
            .sum()
    }

    /// Compares what was read when the centre of the present window was the newest moment with what it says now.
    fn learn_speed(&mut self, late: f64, weights: &[f64; HARMONICS]) {
        let back = late.round();
        if let (true, Some((then, before))) = (back >= 1.0, self.back(back)) {
            let (now, newest) = &self.read[self.newest];
            let steps = std::array::from_fn(|h| now.fundamentals[h] - then.fundamentals[h]);
            let square = common(&steps, weights, now.harmonics);
            self.speed.take(square / back.powi(2), (newest + before) / back.powi(2));
        }
    }

    /// Compares what was read half a window ago with the mean of what was before and after that.
    fn learn_bend(&mut self, half: f64, weights: &[f64; HARMONICS]) {
        let half = half.round().max(1.0);
        if let (Some((middle, between)), Some((first, before))) = (self.back(half), self.back(2.0 * half)) {
            let (now, newest) = &self.read[self.newest];
            let bends = std::array::from_fn(|h| {
                middle.fundamentals[h] - 0.5 * (now.fundamentals[h] + first.fundamentals[h])
            });
            let square = common(&bends, weights, now.harmonics);
            self.bend.take(square / half.powi(4), (between + 0.25 * (newest + before)) / half.powi(4));
        }
    }

    /// What was read so many frames ago, if the same harmonics were.
    fn back(&self, frames: f64) -> Option<&(PerHarmonic, f64)> {
        let then = &self.read[(self.newest + PAST - (frames as usize).min(PAST)) % PAST];
        let same = then.0.harmonics >= self.read[self.newest].0.harmonics;
        (same && frames < self.count as f64).then_some(then)
    }
}

/// The square of what all harmonics do together: that of their mean, less what it has of each one's own residuals.
fn common(steps: &[f64; HARMONICS], weights: &[f64; HARMONICS], harmonics: usize) -> f64 {
    let each = || steps[..harmonics].iter().zip(weights);
    let mean: f64 = each().map(|(step, weight)| step * weight).sum();
    let own = each().map(|(step, weight)| (weight * (step - mean)).powi(2) / (LEVERAGE_CEILING - weight));
    mean * mean - own.sum::<f64>()
}
