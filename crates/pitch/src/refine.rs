//! From a rough pitch to an exact one, over all harmonics at once.
//!
//! The window is a Hann window exactly P periods long. Its transform is zero at every whole multiple of 1/P of the
//! fundamental from the second on, so with P >= 2 no harmonic leaks into another, nor do negative frequencies or an
//! offset, however short the window. The frequency of each harmonic then follows from two sums, one with the window
//! and one with its derivative (the frequency half of the reassignment method: Auger & Flandrin, IEEE Trans. Signal
//! Processing 43 (1995)); it is exact for a steady partial, and indifferent to a rising level, because a slope of
//! the level appears in the other (real) part. The harmonics are joined by weighted least squares with the weights
//! of the exact likelihood, number squared times power over noise (Christensen & Jakobsson, Multi-Pitch Estimation
//! (2009), chapter 2; the bound: Rife & Boorstyn, IEEE Trans. Inf. Theory 20 (1974)).

use std::f64::consts::PI;

/// The most harmonics that are used.
pub(crate) const HARMONICS: usize = 14;
/// Lanes that are summed side by side.
const LANES: usize = 8;
/// Samples between two exact phases.
const STRETCH: usize = 64;

/// What the harmonics of one pitch say over one window.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Fit {
    /// Fundamental at the centre of the window, cycles per sample.
    pub(crate) frequency: f64,
    /// Length of the window, samples.
    pub(crate) length: f64,
    /// Share of the sound's power that the harmonics explain, freed of what noise alone would seem to, 0 to 1.
    pub(crate) clarity: f64,
    /// Power of the harmonics together (full-scale sine: 0.5).
    pub(crate) power: f64,
    /// One standard deviation of `frequency`, cycles per sample.
    pub(crate) sigma: f64,
    /// How far the harmonics disagree with each other, in standard deviations (about 1 for one lone note).
    pub(crate) discord: f64,
    /// Power of each harmonic from the first upwards.
    pub(crate) powers: [f64; HARMONICS],
    /// How many of them lie below the highest frequency used.
    pub(crate) harmonics: usize,
}

impl Fit {
    /// The largest step (1 to 4) that leads through all harmonics with any power: 2 if only the even ones sound, so
    /// that the fundamental is really twice as high.
    pub(crate) fn stride(&self) -> usize {
        let powers = &self.powers[..self.harmonics];
        let outside = |step: usize| -> f64 {
            let others = powers.iter().enumerate().filter(|(index, _)| (index + 1) % step != 0);
            others.map(|(_, power)| power).sum()
        };
        let bound = self.power * (0.002 + 0.3 * (1.0 - self.clarity));
        (2..=4).rev().find(|step| self.harmonics >= *step && outside(*step) < bound).unwrap_or(1)
    }
}

/// Refines pitches; owns its work space.
#[derive(Clone, Debug)]
pub(crate) struct Refiner {
    highest: f64,
    weighted: Vec<f32>,
    sloped: Vec<f32>,
    base: Phasors,
    current: Phasors,
}

#[derive(Clone, Debug)]
struct Phasors {
    re: Vec<f32>,
    im: Vec<f32>,
}

impl Phasors {
    fn new(most: usize) -> Self {
        Self { re: vec![0.0; most], im: vec![0.0; most] }
    }
}

impl Refiner {
    /// For windows of at most `longest` samples and harmonics up to `highest` (cycles per sample).
    pub(crate) fn new(longest: usize, highest: f64) -> Self {
        let most = longest.next_multiple_of(LANES) + LANES;
        Self {
            highest,
            weighted: vec![0.0; most],
            sloped: vec![0.0; most],
            base: Phasors::new(most),
            current: Phasors::new(most),
        }
    }

    /// The window for a frequency: whole periods, at least two, as many as fit into `length` samples.
    pub(crate) fn whole_periods(frequency: f64, length: f64) -> f64 {
        (length * frequency).floor().max(2.0)
    }

    /// Fits harmonics of about `frequency` (cycles per sample) to the newest `periods` periods of the history.
    pub(crate) fn fit(&mut self, history: &[f32], frequency: f64, periods: f64) -> Option<Fit> {
        let length = periods / frequency;
        let count = length.ceil() as usize;
        if count > history.len() || count + LANES > self.weighted.len() || frequency <= 0.0 {
            return None;
        }
        let x = &history[history.len() - count..];
        let padded = count.next_multiple_of(LANES);
        let (energy, gain) = self.shape(x, length, padded);
        self.turn(frequency, length, count, padded);
        let harmonics = ((self.highest / frequency) as usize).clamp(1, HARMONICS);
        let mut sums = [Partial::default(); HARMONICS];
        for (index, sum) in sums.iter_mut().take(harmonics).enumerate() {
            if index > 0 {
                self.next_harmonic(padded);
            }
            *sum = self.demodulate(padded);
        }
        Some(join(&sums[..harmonics], frequency, Window { length, energy, gain }))
    }

    /// The sound under the window and under the window's derivative; gives its windowed energy and the window's sum.
    fn shape(&mut self, x: &[f32], length: f64, padded: usize) -> (f64, f64) {
        let step = 2.0 * PI / length;
        let slope = (PI / length) as f32;
        let centre = x.len() as f64 - 0.5 * length;
        let (mut sin, mut cos) = (0.0 - centre * step).sin_cos();
        let (turn_sin, turn_cos) = step.sin_cos();
        let (mut energy, mut gain) = (0.0f64, 0.0f64);
        for (n, sample) in x.iter().enumerate() {
            let window = (0.5 + 0.5 * cos) as f32;
            self.weighted[n] = window * sample;
            self.sloped[n] = -slope * sin as f32 * sample;
            energy += f64::from(window * sample * sample);
            gain += f64::from(window);
            (sin, cos) = (sin * turn_cos + cos * turn_sin, cos * turn_cos - sin * turn_sin);
        }
        self.weighted[x.len()..padded].fill(0.0);
        self.sloped[x.len()..padded].fill(0.0);
        (energy, gain)
    }

    /// Phasors of the fundamental, phase zero at the centre of the window.
    fn turn(&mut self, frequency: f64, length: f64, count: usize, padded: usize) {
        let omega = 2.0 * PI * frequency;
        let centre = count as f64 - 0.5 * length;
        let (turn_sin, turn_cos) = omega.sin_cos();
        for start in (0..padded).step_by(STRETCH) {
            let (mut sin, mut cos) = (omega * (start as f64 - centre)).sin_cos();
            for n in start..(start + STRETCH).min(padded) {
                self.base.re[n] = cos as f32;
                self.base.im[n] = -sin as f32;
                (sin, cos) = (sin * turn_cos + cos * turn_sin, cos * turn_cos - sin * turn_sin);
            }
        }
        self.current.re[..padded].copy_from_slice(&self.base.re[..padded]);
        self.current.im[..padded].copy_from_slice(&self.base.im[..padded]);
    }

    fn next_harmonic(&mut self, padded: usize) {
        let base = self.base.re[..padded].iter().zip(&self.base.im[..padded]);
        let current = self.current.re[..padded].iter_mut().zip(&mut self.current.im[..padded]);
        for ((re, im), (base_re, base_im)) in current.zip(base) {
            (*re, *im) = (*re * base_re - *im * base_im, *re * base_im + *im * base_re);
        }
    }

    fn demodulate(&self, padded: usize) -> Partial {
        let mut sums = [[0.0f32; LANES]; 4];
        let signals =
            self.weighted[..padded].chunks_exact(LANES).zip(self.sloped[..padded].chunks_exact(LANES));
        let phasors =
            self.current.re[..padded].chunks_exact(LANES).zip(self.current.im[..padded].chunks_exact(LANES));
        for ((x, d), (re, im)) in signals.zip(phasors) {
            for i in 0..LANES {
                sums[0][i] += x[i] * re[i];
                sums[1][i] += x[i] * im[i];
                sums[2][i] += d[i] * re[i];
                sums[3][i] += d[i] * im[i];
            }
        }
        let [re, im, slope_re, slope_im] = sums.map(|lanes| f64::from(lanes.iter().sum::<f32>()));
        Partial { re, im, slope_re, slope_im }
    }
}

/// Sums of one harmonic: under the window and under its derivative.
#[derive(Clone, Copy, Debug, Default)]
struct Partial {
    re: f64,
    im: f64,
    slope_re: f64,
    slope_im: f64,
}

/// A window as it was laid on the sound.
#[derive(Clone, Copy, Debug)]
struct Window {
    length: f64,
    energy: f64,
    gain: f64,
}

impl Partial {
    fn power(&self) -> f64 {
        self.re * self.re + self.im * self.im
    }

    /// How far the partial lies above the frequency it was looked for at, cycles per sample.
    fn offset(&self) -> f64 {
        let cross = self.slope_im * self.re - self.slope_re * self.im;
        let power = self.power();
        if power > 0.0 { -cross / power / (2.0 * PI) } else { 0.0 }
    }
}

/// Joins the harmonics into one fundamental.
fn join(partials: &[Partial], frequency: f64, window: Window) -> Fit {
    let mut fit = Fit { frequency, length: window.length, harmonics: partials.len(), ..Fit::default() };
    let to_power = 2.0 / (window.gain * window.gain);
    for (power, partial) in fit.powers.iter_mut().zip(partials) {
        *power = partial.power() * to_power;
        fit.power += *power;
    }
    let total = (window.energy / window.gain).max(1.0e-20);
    // White noise gives each harmonic 2·Σw²/(Σw)² = 3/length of its power under a Hann window.
    let by_chance = (3.0 * partials.len() as f64 / window.length).min(0.9);
    let explained = (fit.power / total).min(1.0);
    fit.clarity = ((explained - by_chance) / (1.0 - by_chance)).clamp(0.0, 1.0);
    let noise = ((1.0 - explained) / (1.0 - by_chance) * total).max(total * 1.0e-9);
    let (offset, sigma, discord) = weigh(partials, &fit, noise);
    // A window of P periods resolves 1/P of the fundamental: no correction can be honest beyond it.
    let reach = 0.5 / window.length;
    fit.frequency = frequency + offset.clamp(-reach, reach);
    (fit.sigma, fit.discord) = (sigma, discord);
    fit
}

/// Weighted mean of the harmonics' offsets from the fundamental, its standard deviation, and their discord.
fn weigh(partials: &[Partial], fit: &Fit, noise: f64) -> (f64, f64, f64) {
    // Variance of the offset of one partial of power A: noise·Σw'²/(Σw)²·(1/A)/(2π)², and Σw'²/(Σw)² = 2π²/L³
    // under a Hann window of length L.
    let scale = noise * 0.5 / fit.length.powi(3);
    let (mut sum, mut weights) = (0.0, 0.0);
    let mut each = [(0.0, 0.0); HARMONICS];
    for (index, partial) in partials.iter().enumerate() {
        let number = (index + 1) as f64;
        let weight = number * number * fit.powers[index] / scale;
        each[index] = (partial.offset() / number, weight);
        sum += weight * each[index].0;
        weights += weight;
    }
    if weights <= 0.0 {
        return (0.0, 1.0, 0.0);
    }
    let mean = sum / weights;
    let chi: f64 = each.iter().map(|(offset, weight)| weight * (offset - mean).powi(2)).sum();
    (mean, weights.recip().sqrt(), (chi / partials.len() as f64).sqrt())
}
