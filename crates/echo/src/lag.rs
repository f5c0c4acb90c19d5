//! Whether what was sounded comes back at all, and after how long.

use crate::transform::Transform;
use rustfft::num_complex::Complex;
use std::f32::consts::PI;

/// Length of a stretch that is compared, seconds; of samples a power of two as near as can be. Half of it is the
/// longest lag that is found: a loudspeaker by radio takes half a second at most (from memory, no source).
const STRETCH_S: f64 = 2.0;
/// How much of what was found in the stretches before still counts: five of them add up.
const LINGERS: f32 = 0.8;
/// Bins that lie so far below the loudest one of what was sounded, or of what was heard, say nothing, as a ratio of
/// powers: what a player's attack and the band's have in common in such bins is their timing alone.
const SAYS: f32 = 1e-4;
/// What comes back stands out of all other lags by so many times their RMS. Of a player in headphones who keeps
/// strictly to the band's beats some lag stands out by up to 10, of what comes back from a room, even without a
/// straight way, by 12 to 15.
const STANDS_OUT: f32 = 11.0;
/// A lag counts once it stands out twice in a row, within this, seconds.
const AGREE_S: f64 = 0.006;

/// Finds how long a sound takes to come back by the generalised cross-correlation with phase transform (Knapp & Carter,
/// IEEE Trans. ASSP 24, 1976; from memory). Allocates nothing after `new`.
#[derive(Clone, Debug)]
pub(crate) struct Lag {
    rate: f64,
    transform: Transform,
    sounded: Vec<f32>,
    heard: Vec<f32>,
    filled: usize,
    window: Vec<f32>,
    windowed: Vec<f32>,
    reference: Vec<Complex<f32>>,
    cross: Vec<Complex<f32>>,
    sum: Vec<Complex<f32>>,
    lags: Vec<f32>,
    /// The lag that stood out in the newest stretch; and the same lag, if it stood out in the stretch before as well.
    newest: Option<usize>,
    found: Option<usize>,
}

impl Lag {
    pub(crate) fn new(rate: f64) -> Self {
        let size = 1_usize << (STRETCH_S * rate).log2().round() as u32;
        let bins = vec![Complex::default(); size + 1];
        Self {
            rate,
            transform: Transform::new(2 * size),
            sounded: vec![0.0; size],
            heard: vec![0.0; size],
            filled: 0,
            window: (0..size)
                .map(|n| 0.5 - 0.5 * (2.0 * PI * (n as f32 + 0.5) / size as f32).cos())
                .collect(),
            windowed: vec![0.0; size],
            reference: bins.clone(),
            cross: bins.clone(),
            sum: bins,
            lags: vec![0.0; size / 2],
            newest: None,
            found: None,
        }
    }

    /// After how long what was sounded comes back, seconds; `None` where nothing stands out.
    pub(crate) fn seconds(&self) -> Option<f64> {
        self.found.map(|lag| lag as f64 / self.rate)
    }

    /// Takes the next sample of both.
    pub(crate) fn push(&mut self, sounded: f32, heard: f32) {
        self.sounded[self.filled] = sounded;
        self.heard[self.filled] = if heard.is_finite() { heard } else { 0.0 };
        self.filled += 1;
        if self.filled == self.sounded.len() {
            self.look();
            // The next stretch begins in the middle of this one.
            let half = self.filled / 2;
            self.sounded.copy_within(half.., 0);
            self.heard.copy_within(half.., 0);
            self.filled = half;
        }
    }

    fn look(&mut self) {
        for (samples, bins) in [(&self.sounded, &mut self.reference), (&self.heard, &mut self.cross)] {
            for ((out, x), w) in self.windowed.iter_mut().zip(samples).zip(&self.window) {
                *out = x * w;
            }
            self.transform.spectrum(0, &self.windowed, bins);
        }
        let least = |bins: &[Complex<f32>]| SAYS * bins.iter().map(Complex::norm_sqr).fold(0.0, f32::max);
        let (least_x, least_y) = (least(&self.reference), least(&self.cross));
        for ((x, y), sum) in self.reference.iter().zip(&self.cross).zip(&mut self.sum) {
            let product = x.conj() * y;
            let size = product.norm();
            let says = x.norm_sqr() > least_x && y.norm_sqr() > least_y && size > 0.0;
            *sum = *sum * LINGERS + if says { product / size } else { Complex::default() };
        }
        self.transform.samples(&self.sum, &mut self.lags);
        let power: f32 = self.lags.iter().map(|x| x * x).sum();
        let rms = (power / self.lags.len() as f32).sqrt();
        let size = |x: &f32| x.abs();
        let peak = (0..self.lags.len()).max_by(|a, b| size(&self.lags[*a]).total_cmp(&size(&self.lags[*b])));
        let peak = peak.filter(|lag| size(&self.lags[*lag]) > STANDS_OUT * rms);
        let agree = (AGREE_S * self.rate) as usize;
        self.found = peak.filter(|lag| self.newest.is_some_and(|before| before.abs_diff(*lag) <= agree));
        self.newest = peak;
    }
}
