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

use crate::voicing::LEAST_NOISE;
use rustfft::num_complex::Complex;
use std::f64::consts::PI;

/// The most harmonics that are used.
pub(crate) const HARMONICS: usize = 12;
/// By how much a harmonic is taken to rise above what noise gives it, at least, ratio of powers.
const LEAST_ABOVE: f64 = 0.05;

/// A window laid this far beside the pitch still finds it, ratio (0.5 cents). Laid further beside, a window of two
/// periods is always off to the same side of a note that glides.
const FORGIVEN: f64 = 3.0e-4;

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
    /// Power of what lies far below the fundamental: of the mean under the window.
    pub(crate) below: f64,
    /// Power of the sound under the window, and of what in it is noise, as far as the window can tell.
    pub(crate) total: f64,
    pub(crate) noise: f64,
    /// Each harmonic from the first upwards.
    pub(crate) each: [Harmonic; HARMONICS],
    /// How many of them lie below the highest frequency used.
    pub(crate) harmonics: usize,
}

/// What one harmonic says.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Harmonic {
    /// Its frequency over its number: its own opinion of the fundamental, cycles per sample.
    pub(crate) fundamental: f64,
    /// Its power as seen (full-scale sine: 0.5), and freed of what noise adds.
    pub(crate) seen: f64,
    pub(crate) power: f64,
    /// Variance of its opinion under white noise, squared cycles per sample.
    pub(crate) variance: f64,
}

impl Harmonic {
    /// The same under noise as strong as white noise of this power, over a window of `length` samples.
    fn under(self, noise: f64, length: f64, number: f64) -> Self {
        // White noise gives each harmonic 2·Σw²/(Σw)² = 3/length of its power under a Hann window.
        let by_chance = 3.0 / length * noise;
        let above = (self.seen / by_chance - 1.0).max(LEAST_ABOVE);
        let power = above * by_chance;
        // The variance of one partial's offset is noise·Σw'²/(Σw)²/power/(2π)², and Σw'²/(Σw)² = 2π²/length³. A
        // partial that hardly rises above the noise says less than that, for its own place is in doubt.
        let variance = 0.5 * noise / (power * length.powi(3) * number * number) * (1.0 + 1.0 / above);
        Self { power, variance, ..self }
    }
}

impl Fit {
    /// The harmonics in the range.
    pub(crate) fn harmonics(&self) -> &[Harmonic] {
        &self.each[..self.harmonics]
    }

    /// The same where this share of the sound is noise, because it does not repeat. What repeats, is not explained and
    /// does not lie below the fundamental lies in harmonics beyond the last one that is used: it counts neither as
    /// noise nor as explained. Low reeds can be as loud at 4 kHz as at their fundamental.
    pub(crate) fn with_noise_share(self, noise: f64) -> Self {
        let [explained, below] = [self.power, self.below].map(|power| power / self.total);
        let clarity = self.clarity.max(explained / (explained + below + noise));
        Self { clarity, noise: noise * self.total, ..self }
    }

    /// The same with other noise: at each harmonic the power of white noise that would be as strong there. The window
    /// itself takes the harmonics beyond its last one for noise, and a second reed that it cannot resolve for a part
    /// of the note.
    pub(crate) fn with_noise(mut self, noise: &[f64; HARMONICS]) -> Self {
        for ((harmonic, noise), number) in self.each.iter_mut().zip(noise).zip(1..) {
            *harmonic = harmonic.under(*noise, self.length, f64::from(number));
        }
        self
    }
}

/// Samples that are summed side by side.
const LANES: usize = 4;
type Lane = [f32; LANES];

/// What a harmonic is summed from over a few samples to either side of the centre of the window.
#[derive(Clone, Copy, Debug, Default)]
struct Cell {
    /// Even and odd part of the sound under the window, then under its derivative.
    even: Lane,
    odd: Lane,
    sloped_even: Lane,
    sloped_odd: Lane,
    /// Cosine and sine of the fundamental, and of the harmonic that is at work.
    base: [Lane; 2],
    current: [Lane; 2],
}

/// Refines pitches; owns its work space. The window is folded about its centre, which lies midway between two
/// samples: cosines see only the even part of the sound and sines only the odd part, at half the work.
#[derive(Clone, Debug)]
pub(crate) struct Refiner {
    highest: f64,
    cells: Vec<Cell>,
}

impl Refiner {
    /// For windows of at most `longest` samples and harmonics up to `highest` (cycles per sample).
    pub(crate) fn new(longest: usize, highest: f64) -> Self {
        Self { highest, cells: vec![Cell::default(); (longest / 2 + 1).div_ceil(LANES) + 1] }
    }

    /// As many whole periods as fit into `length` samples, but two at least.
    pub(crate) fn whole_periods(frequency: f64, length: f64) -> f64 {
        (length * frequency).floor().max(2.0)
    }

    /// Fits to the newest whole periods within `length` samples, and again about the pitch found, if it lies too far from
    /// where it was sought.
    pub(crate) fn fit_again(&mut self, history: &[f32], frequency: f64, length: f64) -> Option<Fit> {
        let periods = Self::whole_periods(frequency, length);
        let first = self.fit(history, frequency, periods)?;
        if (first.frequency - frequency).abs() < FORGIVEN * frequency {
            return Some(first);
        }
        self.fit(history, first.frequency, periods)
    }

    /// Fits harmonics of about `frequency` (cycles per sample) to the newest `periods` periods of the history.
    pub(crate) fn fit(&mut self, history: &[f32], frequency: f64, periods: f64) -> Option<Fit> {
        let length = periods / frequency;
        // To the nearest sample: the sums then differ from the integrals they stand for only in the third order.
        let half = (0.5 * length).round() as usize;
        let count = half.div_ceil(LANES);
        if frequency <= 0.0 || half < LANES || 2 * half > history.len() || count > self.cells.len() {
            return None;
        }
        let cells = &mut self.cells[..count];
        let window = fold(cells, &history[history.len() - 2 * half..], frequency, length);
        let harmonics = ((self.highest / frequency) as usize).clamp(1, HARMONICS);
        let mut sums = [Partial::default(); HARMONICS];
        for two in sums.chunks_exact_mut(2).take(harmonics.div_ceil(2)) {
            two.copy_from_slice(&demodulate(cells));
        }
        Some(join(&sums[..harmonics], frequency, window))
    }
}

/// Lays the window and its derivative on the sound and folds both; `x` lies evenly about the centre. The phase of the
/// fundamental is zero there, and no harmonic is at work yet.
fn fold(cells: &mut [Cell], x: &[f32], frequency: f64, length: f64) -> Window {
    let half = x.len() / 2;
    let (before, after) = x.split_at(half);
    let step = 2.0 * PI / length;
    let slope = (PI / length) as f32;
    let (mut turning, mut base) = (Turning::new(step), Turning::new(2.0 * PI * frequency));
    let (mut energy, mut below) = ([0.0f64; LANES], [0.0; LANES]);
    for ((cell, before), after) in cells.iter_mut().zip(before.rchunks(LANES)).zip(after.chunks(LANES)) {
        let (after, before) = (first(after), last(before));
        let [cos, sin] = turning.next();
        for i in 0..LANES {
            let (sum, difference) = (after[i] + before[i], after[i] - before[i]);
            let (window, derivative) = (0.5 + 0.5 * cos[i], -slope * sin[i]);
            (cell.even[i], cell.odd[i]) = (window * sum, window * difference);
            (cell.sloped_even[i], cell.sloped_odd[i]) = (derivative * difference, derivative * sum);
            energy[i] += f64::from(window * (after[i] * after[i] + before[i] * before[i]));
            below[i] += cell.even[i];
        }
        (cell.base, cell.current) = (base.next(), [[1.0; LANES], [0.0; LANES]]);
    }
    // The sum of the window: a constant and a sum of cosines (Dirichlet's kernel).
    let gain = half as f64 + (half as f64 * step).sin() / (2.0 * (0.5 * step).sin());
    Window { length, energy: energy.iter().sum(), gain, sum: total(&below) }
}

/// The samples from the centre on, silence where there are none.
fn first(x: &[f32]) -> Lane {
    x.first_chunk().copied().unwrap_or_else(|| std::array::from_fn(|i| x.get(i).copied().unwrap_or(0.0)))
}

/// The samples from the centre back.
fn last(x: &[f32]) -> Lane {
    match x.last_chunk::<LANES>() {
        Some(chunk) => std::array::from_fn(|i| chunk[LANES - 1 - i]),
        None => std::array::from_fn(|i| if i < x.len() { x[x.len() - 1 - i] } else { 0.0 }),
    }
}

fn total(lane: &Lane) -> f64 {
    f64::from(lane.iter().sum::<f32>())
}

/// Cosines and sines of an angle that grows by the same step from sample to sample, half a step at first.
struct Turning {
    /// Those of the first few samples.
    first: [Lane; 2],
    /// By how much the next few samples are turned from the first ones, and by how much each few are from the few
    /// before them. In double precision, because rounding would add up along a long window.
    turned: Complex<f64>,
    turn: Complex<f64>,
}

impl Turning {
    fn new(step: f64) -> Self {
        let angles: [f64; LANES] = std::array::from_fn(|i| step * (i as f64 + 0.5));
        let first = [angles.map(|angle| angle.cos() as f32), angles.map(|angle| angle.sin() as f32)];
        Self { first, turned: Complex::new(1.0, 0.0), turn: Complex::cis(step * LANES as f64) }
    }

    /// Those of the next few samples.
    fn next(&mut self) -> [Lane; 2] {
        let (re, im) = (self.turned.re as f32, self.turned.im as f32);
        self.turned *= self.turn;
        let [cos, sin] = &self.first;
        [
            std::array::from_fn(|i| re * cos[i] - im * sin[i]),
            std::array::from_fn(|i| im * cos[i] + re * sin[i]),
        ]
    }
}

/// Turns on to the next two harmonics and sums the sound against them: two at a time, so that the sound is fetched half
/// as often.
fn demodulate(cells: &mut [Cell]) -> [Partial; 2] {
    let mut sums = [[[0.0f32; LANES]; 4]; 2];
    for cell in cells {
        let [cos, sin] = &mut cell.current;
        let [base_cos, base_sin] = &cell.base;
        for sums in &mut sums {
            for i in 0..LANES {
                (cos[i], sin[i]) = (
                    cos[i] * base_cos[i] - sin[i] * base_sin[i],
                    sin[i] * base_cos[i] + cos[i] * base_sin[i],
                );
                sums[0][i] += cos[i] * cell.even[i];
                sums[1][i] += sin[i] * cell.odd[i];
                sums[2][i] += cos[i] * cell.sloped_even[i];
                sums[3][i] += sin[i] * cell.sloped_odd[i];
            }
        }
    }
    sums.map(|[re, im, slope_re, slope_im]| Partial {
        sum: Complex::new(total(&re), -total(&im)),
        slope: Complex::new(total(&slope_re), -total(&slope_im)),
    })
}

/// Sums of one harmonic: under the window and under its derivative.
#[derive(Clone, Copy, Debug, Default)]
struct Partial {
    sum: Complex<f64>,
    slope: Complex<f64>,
}

/// A window as it was laid on the sound.
#[derive(Clone, Copy, Debug)]
struct Window {
    length: f64,
    energy: f64,
    gain: f64,
    /// Sum of the sound under it.
    sum: f64,
}

impl Partial {
    fn power(&self) -> f64 {
        self.sum.norm_sqr()
    }

    /// How far the partial lies above the frequency it was looked for at, cycles per sample.
    fn offset(&self) -> f64 {
        let cross = (self.slope * self.sum.conj()).im;
        -cross / self.power().max(f64::MIN_POSITIVE) / (2.0 * PI)
    }
}

/// Joins the harmonics into one fundamental.
fn join(partials: &[Partial], frequency: f64, window: Window) -> Fit {
    let mut fit = Fit { frequency, length: window.length, harmonics: partials.len(), ..Fit::default() };
    let to_power = 2.0 / (window.gain * window.gain);
    fit.power = partials.iter().map(Partial::power).sum::<f64>() * to_power;
    let total = (window.energy / window.gain).max(1.0e-20);
    fit.below = (window.sum / window.gain).powi(2);
    let by_chance = (3.0 / window.length * partials.len() as f64).min(0.9);
    let explained = (fit.power / total).min(1.0);
    fit.clarity = ((explained - by_chance) / (1.0 - by_chance)).clamp(0.0, 1.0);
    let noise = ((1.0 - explained) / (1.0 - by_chance) * total).max(total * LEAST_NOISE);
    (fit.total, fit.noise) = (total, noise);
    // A window of P periods resolves 1/P of the fundamental: no correction can be honest much beyond it.
    let reach = 1.0 / window.length;
    let (mut sum, mut weights) = (0.0, 0.0);
    for (index, partial) in partials.iter().enumerate() {
        let number = (index + 1) as f64;
        let offset = partial.offset().clamp(-reach, reach) / number;
        let seen = Harmonic {
            seen: partial.power() * to_power,
            fundamental: frequency + offset,
            ..Harmonic::default()
        };
        fit.each[index] = seen.under(noise, window.length, number);
        let variance = fit.each[index].variance;
        sum += offset / variance;
        weights += 1.0 / variance;
    }
    fit.frequency = frequency + sum / weights;
    fit
}
