//! The windowed spectrum and how much of each of its points is noise.

use super::attack;
use super::shape::PADDING;
use rustfft::num_complex::Complex;
use rustfft::{Fft, FftPlanner};
use std::f64::consts::PI;
use std::fmt;
use std::sync::Arc;

/// The highest frequency at which harmonics are followed, as a share of the working rate.
const HIGHEST: f64 = 0.42;
/// Points over which the floor is taken.
const BAND: usize = 64;
/// Share of the points that lie below the floor's quantile.
const QUANTILE: f64 = 0.2;
/// The most by which the beginning of a rise is lifted.
const LIFTED: f64 = 5.0;
/// Points to each side over which a line is expected to be blurred by vibrato, jitter and an attack.
const BLUR: usize = 3;
/// Power of that blur against the line, 30 dB down, and what an attack from nothing adds, 17 dB down.
const BLURRED: (f64, f64) = (1.0e-3, 2.0e-2);
/// Power of the blur of a gliding line against the line, for one hertz of glide within the window over its length. What
/// no single line explains of a chirp is the spread of its phase, π β t², over the window: under the square of a Hann
/// window t² spreads by 0.025 of the squared length.
const GLIDING: f64 = 0.0062;
/// The most that a line is expected to be blurred, power against the line; a line that beats with another is so much.
const MOST_BLURRED: f64 = 0.1;
/// What is this far below the strongest line counts as noise (60 dB): no instrument repeats itself better.
const FAINTEST: f64 = 1.0e-6;

/// The spectrum of one stretch: amplitudes of sinusoids (peak value 1 for a full-scale one), time 0 in its middle, so
/// that the phase is even from point to point.
#[derive(Clone)]
pub(super) struct Points {
    fft: Arc<dyn Fft<f64>>,
    window: Vec<f64>,
    buffer: Vec<Complex<f64>>,
    scratch: Vec<Complex<f64>>,
    /// Points to a hertz.
    pub(super) per_hertz: f64,
    /// How many points sets are judged by, from the first on.
    pub(super) judged: usize,
    /// The points below the highest that is looked at.
    pub(super) values: Vec<Complex<f64>>,
    /// The power at each point.
    pub(super) power: Vec<f64>,
    /// The power of noise expected at each point.
    pub(super) floor: Vec<f64>,
    /// One over the power of noise and of the blur of lines.
    pub(super) weight: Vec<f64>,
    /// How far each point rises above noise and blur, nats.
    pub(super) risen: Vec<f64>,
    /// How much of an attack the stretch holds, 0 to 1.
    pub(super) unevenness: f64,
    sorted: Vec<f64>,
}

impl fmt::Debug for Points {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Points").field("points", &self.values.len()).finish_non_exhaustive()
    }
}

impl Points {
    /// For windows of about so many seconds at a working rate, judging sets up to a frequency, hertz.
    pub(super) fn new(window_s: f64, rate: f64, band_hz: f64) -> Self {
        let length = 2 * (window_s * rate / 2.0).round() as usize;
        let size = PADDING * length;
        let per_hertz = size as f64 / rate;
        let count = (HIGHEST * size as f64) as usize;
        let fft = FftPlanner::new().plan_fft_forward(size);
        let hann = |n: usize| 0.5 - 0.5 * (2.0 * PI * n as f64 / length as f64).cos();
        let sum: f64 = (0..length).map(hann).sum();
        Self {
            window: (0..length).map(|n| 2.0 * hann(n) / sum).collect(),
            buffer: vec![Complex::default(); size],
            scratch: vec![Complex::default(); fft.get_inplace_scratch_len()],
            per_hertz,
            judged: ((band_hz * per_hertz) as usize).min(count),
            values: vec![Complex::default(); count],
            power: vec![0.0; count],
            floor: vec![0.0; count],
            weight: vec![0.0; count],
            risen: vec![0.0; count],
            unevenness: 0.0,
            sorted: Vec::with_capacity(BAND),
            fft,
        }
    }

    /// Samples that it looks at.
    pub(super) fn span(&self) -> usize {
        self.window.len()
    }

    /// Takes the spectrum of the newest stretch; one that holds an attack is evened out before. `glide` is by how much
    /// pitches are expected to change within the stretch, as a share of themselves.
    pub(super) fn look(&mut self, history: &[f32], attack: bool, glide: f64) {
        let newest = &history[history.len() - self.window.len()..];
        let (size, half) = (self.buffer.len(), self.window.len() / 2);
        self.buffer.fill(Complex::default());
        let growth = if attack { attack::growth(newest) } else { 1.0 };
        let mut gain = 1.0;
        for (n, (x, w)) in newest.iter().zip(&self.window).enumerate().rev() {
            self.buffer[(n + size - half) % size].re = f64::from(*x) * w * gain;
            gain = (gain * growth).min(LIFTED);
        }
        self.unevenness = 1.0 - 1.0 / gain;
        self.fft.process_with_scratch(&mut self.buffer, &mut self.scratch);
        let count = self.values.len();
        self.values.copy_from_slice(&self.buffer[..count]);
        for (power, value) in self.power.iter_mut().zip(&self.values) {
            *power = value.norm_sqr();
        }
        self.estimate_noise(glide);
    }

    /// Expects so much noise and blur at a point.
    fn expect(&mut self, point: usize, noise: f64) {
        self.weight[point] = 1.0 / noise;
        self.risen[point] = (1.0 + self.power[point] * self.weight[point]).ln();
    }

    /// The power of the strongest line that may be blurred onto a point.
    fn strongest_near(&self, point: usize) -> f64 {
        let near = point.saturating_sub(BLUR)..(point + BLUR + 1).min(self.power.len());
        self.power[near].iter().copied().fold(0.0, f64::max)
    }

    /// Expects the lines of a fundamental (hertz) to be blurred by those of another reed that beat with them.
    pub(super) fn beat(&mut self, hz: f64) {
        let count = self.power.len();
        let at = hz * self.per_hertz;
        for line in (1..).map(|k| (f64::from(k) * at).round() as usize).take_while(|line| *line < count) {
            let beating = MOST_BLURRED * self.strongest_near(line);
            for point in line.saturating_sub(BLUR)..(line + BLUR + 1).min(count) {
                self.expect(point, 1.0 / self.weight[point] + beating);
            }
        }
    }

    /// The floor of each band plus the blur of the lines nearby.
    fn estimate_noise(&mut self, glide: f64) {
        let count = self.power.len();
        // The power of noise is distributed exponentially.
        let mean_over_quantile = -1.0 / (1.0 - QUANTILE).ln();
        let least = FAINTEST * self.power.iter().copied().fold(0.0, f64::max);
        for start in (0..count).step_by(BAND / 2) {
            let end = (start + BAND).min(count);
            let from = end.saturating_sub(BAND);
            self.sorted.clear();
            self.sorted.extend_from_slice(&self.power[from..end]);
            let at = (QUANTILE * self.sorted.len() as f64) as usize;
            let (_, quantile, _) = self.sorted.select_nth_unstable_by(at, f64::total_cmp);
            let floor = *quantile * mean_over_quantile + least;
            self.floor[start..(start + BAND / 2).min(count)].fill(floor);
        }
        let blurred = BLURRED.0 + BLURRED.1 * self.unevenness.powi(2);
        for point in 0..count {
            let gliding = GLIDING * (glide * point as f64 / PADDING as f64).powi(2);
            let blur = (blurred + gliding).min(MOST_BLURRED) * self.strongest_near(point);
            self.expect(point, self.floor[point] + blur);
        }
    }
}

/// What lies at a place between two points.
pub(super) fn between(points: &[f64], place: f64) -> f64 {
    let point = place as usize;
    points.get(point..point + 2).map_or(0.0, |two| two[0] + (two[1] - two[0]) * (place - point as f64))
}
