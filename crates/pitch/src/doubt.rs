//! How far off a reading may be: the deviation that is told, as against the one that steers the windows.
//!
//! What each harmonic says of the pitch is a measurement of its own, so how they disagree tells how exact their mean is,
//! whatever disturbs them: noise, a room, arithmetic. The variance of the mean is made of the squares by which each one
//! strays, not of what it was believed to stray (White, Econometrica 48 (1980); freed of the share by which a harmonic
//! draws the mean towards itself: `MacKinnon` & White, J. Econometrics 29 (1985)). Few harmonics say little in one look,
//! so each is judged by what it has lately strayed by, against what was believed.
//!
//! What all harmonics do together is the note itself: it moves. A long window sees it later and smoother than it is.
//! How much is learnt afterwards, when a window of the same kind lies evenly about the moment that was read.

use crate::consensus::{Estimate, LEVER};
use crate::refine::HARMONICS;

/// Share of a new look in what is usual.
const NEWS: f64 = 0.08;
/// The same in how the note moves: a wavering breath takes longer to turn round than that.
const SLOW_NEWS: f64 = 0.03;
/// Looks that overlap so far that they count as one.
const TOGETHER: f64 = 8.0;
/// Looks that are remembered: the longest window, and the usual one about its end.
const PAST: usize = 128;
/// What is believed at first counts as much as this share of a harmonic that is free to stray.
const BELIEF: f64 = 1.0e-3;
/// The same of all harmonics for each of them.
const ALIKE: f64 = 0.1;
/// What a bend of the pitch does to the mean of a Hann window, against what is seen of it at the middle between two
/// windows that touch it: (1/12 - 1/2π²)/2 against 1/8, squared.
const BENT: f64 = 0.017_2;

/// What the harmonics of one estimate say, each about the fundamental (cycles per sample).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Said {
    pub(crate) fundamentals: [f64; HARMONICS],
    /// What was believed of each: the inverse of its weight.
    pub(crate) variances: [f64; HARMONICS],
    pub(crate) harmonics: usize,
}

impl Said {
    /// The weight of each harmonic, 1 in all.
    fn weights(&self) -> [f64; HARMONICS] {
        let mut weights = [0.0; HARMONICS];
        for (weight, variance) in weights.iter_mut().zip(&self.variances[..self.harmonics]) {
            *weight = variance.recip();
        }
        let sum: f64 = weights.iter().sum();
        weights.map(|weight| weight / sum)
    }
}

/// Learns how far off the readings of one note are.
#[derive(Clone, Debug)]
pub(crate) struct Doubt {
    /// Mean square by which each harmonic strays against what was believed, and the share it is free to stray by.
    strays: [f64; HARMONICS],
    free: [f64; HARMONICS],
    looks: f64,
    /// What was read, by looks.
    read: Vec<(Said, f64)>,
    newest: usize,
    count: usize,
    /// Mean squares by which the note moves from look to look, and by which its pitch bends there.
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

impl Doubt {
    /// For windows that come every `hop` samples.
    pub(crate) fn new(hop: f64) -> Self {
        Self {
            strays: [0.0; HARMONICS],
            free: [0.0; HARMONICS],
            looks: 0.0,
            read: vec![(Said::default(), 0.0); PAST],
            newest: 0,
            count: 0,
            speed: Running::default(),
            bend: Running::default(),
            hop,
        }
    }

    /// Forgets the note.
    pub(crate) fn clear(&mut self) {
        (self.strays, self.free, self.looks) = ([0.0; HARMONICS], [0.0; HARMONICS], 0.0);
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
        self.looks += 1.0;
        let news = NEWS.max(self.looks.recip());
        for (h, weight) in weights.iter().enumerate().take(said.harmonics) {
            let stray = (said.fundamentals[h] - read.frequency).powi(2) / said.variances[h];
            self.strays[h] += (stray - self.strays[h]) * news;
            self.free[h] += (1.0 - weight - self.free[h]) * news;
        }
    }

    /// The variance of the mean by how the harmonics have strayed.
    fn variance(&self, said: &Said, weights: &[f64; HARMONICS]) -> f64 {
        let harmonics = 0..said.harmonics;
        let strays: f64 = self.strays[harmonics.clone()].iter().sum();
        let free: f64 = self.free[harmonics.clone()].iter().sum();
        let all = (BELIEF + strays) / (BELIEF + free);
        harmonics
            .map(|h| {
                let own = (ALIKE * all + self.strays[h]) / (ALIKE + self.free[h]);
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

    /// What was read so many looks ago, if the same harmonics were.
    fn back(&self, looks: f64) -> Option<&(Said, f64)> {
        let then = &self.read[(self.newest + PAST - (looks as usize).min(PAST)) % PAST];
        let same = then.0.harmonics >= self.read[self.newest].0.harmonics;
        (same && looks < self.count as f64).then_some(then)
    }
}

/// The square of what all harmonics do together: that of their mean, less what it has of each one's own strays.
fn common(steps: &[f64; HARMONICS], weights: &[f64; HARMONICS], harmonics: usize) -> f64 {
    let each = || steps[..harmonics].iter().zip(weights);
    let mean: f64 = each().map(|(step, weight)| step * weight).sum();
    let own = each().map(|(step, weight)| (weight * (step - mean)).powi(2) / (LEVER - weight));
    mean * mean - own.sum::<f64>()
}
