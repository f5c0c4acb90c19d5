//! The windowed spectrum and how much of each of its points is noise.

use super::shape::PADDING;
use rustfft::num_complex::Complex;
use rustfft::{Fft, FftPlanner};
use std::f64::consts::PI;
use std::fmt;
use std::sync::Arc;

/// Points over which the floor is taken.
const BAND: usize = 64;
/// Share of the points that lie below the floor's quantile, and the mean of noise over that quantile (the power of
/// noise is distributed exponentially: 1 / −ln(1 − 0.2)).
const QUANTILE: f64 = 0.2;
const MEAN_OVER_QUANTILE: f64 = 4.48;
/// Points to each side over which a line is expected to be blurred by vibrato and jitter, and in an attack.
const BLUR: (usize, usize) = (3, 6);
/// Power of that blur against the line, 30 dB down, and what an attack from nothing adds, 17 dB down.
const BLURRED: (f64, f64) = (1.0e-3, 2.0e-2);
/// A rise below this is none.
const EVEN: f64 = 0.2;
/// The least noise that is believed, power of a sinusoid of amplitude 1e-5 (−100 dBFS).
const LEAST: f64 = 1.0e-10;

/// The spectrum of one stretch: amplitudes of sinusoids (peak value 1 for a full-scale one), time 0 in its middle, so
/// that the phase is even from point to point.
#[derive(Clone)]
pub(super) struct Points {
    fft: Arc<dyn Fft<f64>>,
    window: Vec<f64>,
    buffer: Vec<Complex<f64>>,
    scratch: Vec<Complex<f64>>,
    /// The points below the highest that is looked at.
    pub(super) values: Vec<Complex<f64>>,
    /// The power at each point.
    pub(super) power: Vec<f64>,
    /// The power of noise and blur expected at each point.
    pub(super) noise: Vec<f64>,
    /// How much of an attack the stretch holds, 0 to 1.
    pub(super) unevenness: f64,
    /// Looks since a window began in silence.
    since_silence: u32,
    sorted: Vec<f64>,
}

/// Looks (a hundredth of a second each) after a window that began in silence in which a rise is believed to be an
/// attack; later it is a beat.
const ATTACK_LOOKS: u32 = 6;
/// Stretches in which the rise of the loudness is followed.
const STRETCHES: usize = 5;
/// The most by which the beginning of a rise is lifted.
const LIFTED: f64 = 5.0;

/// How the loudness rises over the window. A window that holds an attack is evened out, because a rise blurs every
/// line and weak neighbours drown in the blur. Only a rise: the beats of two reeds come and go, and to even them out
/// would make new lines.
#[derive(Clone, Copy, Debug)]
struct Rise {
    gains: [f64; STRETCHES],
    length: f64,
}

impl Rise {
    const NONE: Self = Self { gains: [1.0; STRETCHES], length: 1.0 };

    fn of(newest: &[f32]) -> Self {
        let length = newest.len() / STRETCHES;
        let mut levels = [0.0; STRETCHES];
        let mut most: f64 = 1.0e-6;
        for (level, stretch) in levels.iter_mut().zip(newest.chunks(length)) {
            let power = stretch.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / length as f64;
            most = most.max(power.sqrt());
            *level = most;
        }
        Self { gains: levels.map(|level| (most / level).min(LIFTED)), length: length as f64 }
    }

    /// Whether the window begins in silence, compared with what follows.
    fn begins_silent(&self) -> bool {
        self.gains[0] >= LIFTED
    }

    /// 0 for an even window, towards 1 for one that begins in silence.
    fn unevenness(&self) -> f64 {
        1.0 - 1.0 / self.gains[0]
    }

    /// What sample `n` is multiplied by: on a straight line between the middles of the stretches.
    fn gain(&self, n: usize) -> f64 {
        let place = (n as f64 / self.length - 0.5).clamp(0.0, (STRETCHES - 1) as f64);
        let (index, part) = (place as usize, place.fract());
        let next = self.gains[(index + 1).min(STRETCHES - 1)];
        self.gains[index] + (next - self.gains[index]) * part
    }
}

impl fmt::Debug for Points {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Points").field("points", &self.values.len()).finish_non_exhaustive()
    }
}

impl Points {
    /// For windows of `length` samples (even), looking at the first `count` points.
    pub(super) fn new(length: usize, count: usize) -> Self {
        let size = PADDING * length;
        let fft = FftPlanner::new().plan_fft_forward(size);
        let hann = |n: usize| 0.5 - 0.5 * (2.0 * PI * n as f64 / length as f64).cos();
        let sum: f64 = (0..length).map(hann).sum();
        let count = count.min(size / 2);
        Self {
            window: (0..length).map(|n| 2.0 * hann(n) / sum).collect(),
            buffer: vec![Complex::default(); size],
            scratch: vec![Complex::default(); fft.get_inplace_scratch_len()],
            values: vec![Complex::default(); count],
            power: vec![0.0; count],
            noise: vec![LEAST; count],
            unevenness: 0.0,
            since_silence: ATTACK_LOOKS,
            sorted: Vec::with_capacity(BAND),
            fft,
        }
    }

    /// Samples that it looks at.
    pub(super) fn span(&self) -> usize {
        self.window.len()
    }

    /// Forgets what was looked at before.
    pub(super) fn reset(&mut self) {
        self.since_silence = ATTACK_LOOKS;
    }

    /// Takes the spectrum of the newest stretch.
    pub(super) fn look(&mut self, history: &[f32]) {
        let newest = &history[history.len() - self.window.len()..];
        let (size, half) = (self.buffer.len(), self.window.len() / 2);
        self.buffer.fill(Complex::default());
        let rise = Rise::of(newest);
        self.since_silence = if rise.begins_silent() { 0 } else { self.since_silence.saturating_add(1) };
        let rise = if self.since_silence < ATTACK_LOOKS { rise } else { Rise::NONE };
        self.unevenness = rise.unevenness();
        for (n, (x, w)) in newest.iter().zip(&self.window).enumerate() {
            self.buffer[(n + size - half) % size].re = f64::from(*x) * w * rise.gain(n);
        }
        self.fft.process_with_scratch(&mut self.buffer, &mut self.scratch);
        for (value, (power, point)) in self.values.iter_mut().zip(self.power.iter_mut().zip(&self.buffer)) {
            *value = *point;
            *power = point.norm_sqr();
        }
        self.estimate_noise();
    }

    /// The floor of each band plus the blur of the lines nearby.
    fn estimate_noise(&mut self) {
        let count = self.power.len();
        for start in (0..count).step_by(BAND / 2) {
            let end = (start + BAND).min(count);
            let from = end.saturating_sub(BAND);
            self.sorted.clear();
            self.sorted.extend_from_slice(&self.power[from..end]);
            let at = (QUANTILE * self.sorted.len() as f64) as usize;
            let (_, quantile, _) = self.sorted.select_nth_unstable_by(at, f64::total_cmp);
            let floor = *quantile * MEAN_OVER_QUANTILE + LEAST;
            self.noise[start..(start + BAND / 2).min(count)].fill(floor);
        }
        let blur = if self.unevenness < EVEN { BLUR.0 } else { BLUR.1 };
        let blurred = BLURRED.0 + BLURRED.1 * self.unevenness.powi(2);
        for (i, noise) in self.noise.iter_mut().enumerate() {
            let near = &self.power[i.saturating_sub(blur)..(i + blur + 1).min(count)];
            *noise += blurred * near.iter().copied().fold(0.0, f64::max);
        }
    }

    /// How far the power at a place (in points) rises above the noise of its surroundings, in nats.
    pub(super) fn rise(&self, place: f64) -> f64 {
        let (point, part) = (place as usize, place.fract());
        let (Some(two), Some(noise)) = (self.power.get(point..point + 2), self.noise.get(point)) else {
            return 0.0;
        };
        (1.0 + (two[0] + (two[1] - two[0]) * part) / noise).ln()
    }
}
