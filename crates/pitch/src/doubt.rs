//! How far off a reading may be: the deviation that is told, as against the one that steers the windows.
//!
//! What each harmonic says of the pitch is a measurement of its own, so how they disagree tells how exact their mean is,
//! whatever disturbs them: noise, a room, arithmetic. The variance of the mean is made of the squares by which each one
//! strays, not of what it was believed to stray (White, Econometrica 48 (1980); freed of the share by which a harmonic
//! draws the mean towards itself: MacKinnon & White, J. Econometrics 29 (1985)). Few harmonics say little in one look,
//! so each is judged by what it has lately strayed by, against what was believed.
//!
//! What all harmonics do together is the note itself: it moves. A long window sees it later and smoother than it is.
//! How much is learnt afterwards, when a window of the same kind lies evenly about the moment that was read.

use crate::refine::HARMONICS;

/// Share of a new look in what is usual.
const NEWS: f64 = 0.08;
/// Looks that are remembered: the centre of the longest window lies that far back.
const PAST: usize = 64;
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
    /// The mean that was made of them.
    pub(crate) frequency: f64,
    pub(crate) fundamentals: [f64; HARMONICS],
    /// What was believed of each: the inverse of its weight.
    pub(crate) variances: [f64; HARMONICS],
    pub(crate) harmonics: usize,
    /// How much later than it is the pitch is told: the centre of the window lies that far before the time, samples.
    pub(crate) late: f64,
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
    read: Vec<Said>,
    newest: usize,
    count: usize,
    /// Mean square by which the note moves from look to look.
    speed: Running,
    hop: f64,
}

/// A mean that forgets.
#[derive(Clone, Copy, Debug, Default)]
struct Running {
    mean: f64,
    looks: f64,
}

impl Running {
    fn take(&mut self, value: f64) {
        self.looks += 1.0;
        self.mean += (value - self.mean) * NEWS.max(self.looks.recip());
    }
}

impl Doubt {
    /// For windows that come every `hop` samples.
    pub(crate) fn new(hop: f64) -> Self {
        Self {
            strays: [0.0; HARMONICS],
            free: [0.0; HARMONICS],
            looks: 0.0,
            read: vec![Said::default(); PAST],
            newest: 0,
            count: 0,
            speed: Running::default(),
            hop,
        }
    }

    /// Forgets the note.
    pub(crate) fn clear(&mut self) {
        (self.strays, self.free, self.looks) = ([0.0; HARMONICS], [0.0; HARMONICS], 0.0);
        (self.count, self.speed) = (0, Running::default());
    }

    /// Takes one more reading into account; tells how far off it may be, one standard deviation, cycles per sample.
    pub(crate) fn tell(&mut self, said: &Said) -> f64 {
        let weights = said.weights();
        self.learn_strays(said, &weights);
        self.learn_speed(said, &weights);
        self.newest = (self.newest + 1) % PAST;
        self.count = (self.count + 1).min(PAST);
        self.read[self.newest] = *said;
        let moved = self.speed.mean.max(0.0) * (said.late / self.hop).powi(2);
        (self.variance(said, &weights) + moved).sqrt()
    }

    fn learn_strays(&mut self, said: &Said, weights: &[f64; HARMONICS]) {
        self.looks += 1.0;
        let news = NEWS.max(self.looks.recip());
        for h in 0..said.harmonics {
            let stray = (said.fundamentals[h] - said.frequency).powi(2) / said.variances[h];
            self.strays[h] += (stray - self.strays[h]) * news;
            self.free[h] += (1.0 - weights[h] - self.free[h]) * news;
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
    fn learn_speed(&mut self, said: &Said, weights: &[f64; HARMONICS]) {
        let back = (said.late / self.hop).round();
        if back < 1.0 || back > self.count as f64 {
            return;
        }
        let then = &self.read[(self.newest + PAST + 1 - back as usize) % PAST];
        if then.harmonics < said.harmonics {
            return;
        }
        let steps = std::array::from_fn(|h| then.fundamentals[h] - said.fundamentals[h]);
        self.speed.take(common(&steps, weights, said.harmonics) / (back * back));
    }
}

/// The square of what all harmonics do together: that of their mean, less what it has of each one's own strays.
fn common(steps: &[f64; HARMONICS], weights: &[f64; HARMONICS], harmonics: usize) -> f64 {
    let each = || steps[..harmonics].iter().zip(weights);
    let mean: f64 = each().map(|(step, weight)| step * weight).sum();
    let own = each().map(|(step, weight)| (weight * (step - mean)).powi(2) / (1.02 - weight));
    mean * mean - own.sum::<f64>()
}
