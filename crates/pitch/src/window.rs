//! Window selection: over how long a stretch the pitch of a note is estimated.
//!
//! Windows of 20 ms, the usual one, 40, 80 and, of low notes, 160 ms compete. The longest one whose confidence interval
//! meets those of all shorter ones is believed (Goldenshluger & Nemirovski, Math. Methods Stat. 6 (1997); Katkovnik,
//! IEEE Trans. Signal Processing 47 (1999)): a note that moves is read over a short window and a note that stays over a
//! long one, which averages noise and resolves a second reed. A window of 3.5 ms (or two periods) beside them is not
//! believed, but where it and the usual one exclude each other the note has moved, and no window reaches back before
//! its last movement: the usual one is then as short.

use crate::consensus::{Consensus, Estimate};
use crate::front::RUMBLE_HZ;
use crate::note::{Note, Pitch, near};
use crate::refine::{Fit, HARMONICS, Refiner};
use std::iter;

/// The window by which a note is recognised, and the usual one from which its pitch is read, seconds. Lag and movement
/// are reckoned by the usual one.
pub(crate) const SHORT_S: f64 = 0.0035;
pub(crate) const USUAL_S: f64 = 0.020;
/// The windows longer than the usual one, seconds. The last one serves notes below `LOW_HZ` only: rooms and breath are loud
/// there, and two reeds lie close together. Above, the noise that it saves is not worth its instructions.
const LONGER_S: [f64; 3] = [0.040, 0.080, 0.160];
const LOW_HZ: f64 = 250.0;
/// Half the width of a confidence interval, standard deviations. With 2 of them bends are known 2 ms sooner, and the
/// share of degraded readings within 5 cents is 0.2 to 0.5 points less.
const WIDTH: f64 = 3.0;
/// A window with this standard deviation is exact enough, and none longer is tried, ratio (0.03 cents). With 0.05 cents
/// some clean notes are off by more than a twentieth of a cent.
const ENOUGH: f64 = 2.0e-5;
/// A pitch further off than this ratio less 1 (200 cents) is another note, however loud the noise.
const FURTHEST: f64 = 0.12;
/// Factors of the standard deviations of the shortest window and of the usual one. Their harmonics do not leak into
/// each other while the note stays, but while it moves, and then all alike, so that they agree by it. With 1 for the
/// usual window a note beside a second reed flickers by 50 cents; with 1.6 low bends are known 7 ms later and a slow
/// vibrato of a low note is flattened by half.
const CAUTION: [f64; 2] = [1.6, 1.3];
/// An error that swings as a sine does lies within its root mean square only half of the time, so the mean square of a
/// drift counts so many times; and two windows that differ by less than so many variances of the shorter one do not
/// drift. Measured: 61 to 91 % of the errors lie inside one standard deviation in every condition; with it counted once
/// it was 41 to 95 %.
const SWINGS: f64 = 2.0;

/// What is known of a held note from frame to frame.
#[derive(Clone, Debug, Default)]
pub(crate) struct WindowSelection {
    consensus: [Consensus; 2 + LONGER_S.len()],
    /// How far from the note a short window may find it, as a ratio less 1.
    scatter: f64,
    /// Running averages of the squared residuals of the harmonics, in units of their variances, and of what these average
    /// to if the variances are right.
    residuals: [f64; 2],
    /// Mean square by which the usual window differs from the one that is told, beyond its own variance.
    drift: f64,
    /// What each longer window said when it was last fitted, until it is its turn again.
    longer: [Option<(Fit, Estimate)>; LONGER_S.len()],
    /// The note over the usual window of the last frame, and over the longest of the longer ones that were fitted.
    fits: [Option<Fit>; 2],
    /// How long the pitch has stayed, samples: since the note began, or since the two shortest windows excluded each other.
    stays: f64,
    rate: f64,
    hop: f64,
}

impl WindowSelection {
    /// For a working rate (hertz) and a hop (samples).
    pub(crate) fn new(rate: f64, hop: usize) -> Self {
        Self { rate, hop: hop as f64, ..Self::default() }
    }

    /// Samples of history it looks at.
    pub(crate) fn span(rate: f64) -> usize {
        (LONGER_S[LONGER_S.len() - 1] * rate) as usize + 2
    }

    /// Whether a pitch is that of the note, as a short window sees it: noise scatters what it sees.
    pub(crate) fn is_note(&self, note: f64, frequency: f64) -> bool {
        near(note, frequency) || (frequency / note).ln().abs() < self.scatter.min(FURTHEST)
    }

    /// Forgets the note, or what was known of it while it was taken for another octave.
    pub(crate) fn clear(&mut self) {
        *self = Self { rate: self.rate, hop: self.hop, ..Self::default() };
    }

    /// The note over the usual window of the last frame and over the longest one that was fitted beyond it, if there are
    /// such fits.
    pub(crate) fn take_fits(&mut self) -> [Option<Fit>; 2] {
        std::mem::take(&mut self.fits)
    }

    /// The pitch over the window that suits the note: short while it moves, long while it stays. `level` is the
    /// history at an even level while the note rises.
    pub(crate) fn read(
        &mut self,
        refiner: &mut Refiner,
        [history, level]: [&[f32]; 2],
        short: &Fit,
        note: &Note,
    ) -> Pitch {
        let (before, age, settling) = (note.pitch, note.age, note.durations.news);
        // Noise leads the shortest window astray, so a longer one is laid about the last pitch unless the note has moved.
        let moved = (short.frequency / before.frequency).ln().abs() > self.scatter;
        let start = if moved { short.frequency } else { before.frequency };
        // No window reaches back before the note began or moved.
        let since = (SHORT_S * self.rate + self.stays).min(USUAL_S * self.rate);
        let usual = refiner.fit_again(level, start, since).unwrap_or(*short);
        // A longer window explains less than the usual one if the sound has changed within it.
        let clear = |fit: Fit| Fit { clarity: short.clarity * (fit.clarity / usual.clarity).min(1.0), ..fit };
        self.fits = [Some(clear(usual)), None];
        // What does not repeat holds movements of the note as well; what the usual window leaves over lacks the noise
        // that its harmonics explain. With the smaller of the two one degraded reading in a thousand more is off by 5
        // cents.
        let noise = (short.noise / short.total * usual.noise / usual.total).sqrt();
        let colour = colour(short.frequency * self.rate, self.rate);
        let noisy = |fit: Fit| fit.with_noise(&colour.map(|density| density * noise * fit.total));
        let [shorts, usuals, longer @ ..] = &mut self.consensus;
        let mut short = shorts.estimate(&noisy(*short), settling);
        short.sigma *= CAUTION[0];
        self.scatter = WIDTH * short.sigma / short.frequency;
        let lag = 0.5 * usual.length;
        let mut usual = usuals.estimate(&noisy(usual), settling);
        usual.sigma *= CAUTION[1];
        let stays = self.stays;
        let moves = (short.frequency - usual.frequency).abs() > WIDTH * (short.sigma + usual.sigma);
        self.stays = if moves { 0.0 } else { stays + self.hop };
        let low = usual.frequency * self.rate < LOW_HZ;
        let lengths = LONGER_S[..if low { 3 } else { 2 }].iter().map(|seconds| seconds * self.rate);
        // Once the note has filled a longer window twice, what that window holds changes little from frame to frame.
        // From then on the longer windows are fitted in turn, one in a frame. If they took turns as soon as the note
        // fills them, the standard deviation that is told in a room would be too large: 79 % of the errors would lie
        // inside it (goal: 78).
        self.longer[age as usize % LONGER_S.len()] = None;
        // In noise the usual window swings, and a long window that is laid about its pitch follows it astray.
        let mut place = start;
        let longer = longer.iter_mut().zip(&mut self.longer).zip(lengths);
        let longer = longer.map_while(|((consensus, last), length)| {
            if stays < length {
                return None;
            }
            if last.is_none() || stays < 2.0 * length {
                let fit = refiner.fit(history, place, Refiner::whole_periods(place, length))?;
                // A long window shares its noise with more frames, so its residuals are averaged over more of them.
                *last = Some((fit, consensus.estimate(&noisy(fit), settling * USUAL_S * self.rate / length)));
            }
            let (fit, estimate) = (*last)?;
            self.fits[1] = Some(clear(fit));
            place = estimate.frequency;
            Some(estimate)
        });
        let best = longest_that_agrees(iter::once(usual).chain(longer));
        // Only a note that stays is read over a longer window, so what it says holds for the usual one as well. A
        // window that grows by a period must not tell an older story than the last.
        let latest = if age > 1 { before.lag + self.hop } else { f64::INFINITY };
        let uncertainty = self.uncertainty(&best, &usual, note);
        Pitch { frequency: best.frequency, lag: lag.min(latest), uncertainty }
    }

    /// The standard deviation that is told, cycles per sample. The harmonics are independent measurements of one pitch,
    /// so their residuals tell how exact their mean is, whatever disturbs them. What all of them do together is a
    /// movement of the note, which a long window gives late: by as much as the usual window differs from the long one
    /// beyond the variance that the residuals of the usual window give in this frame.
    fn uncertainty(&mut self, told: &Estimate, usual: &Estimate, note: &Note) -> f64 {
        let news = note.durations.news;
        for (mean, new) in self.residuals.iter_mut().zip([told.squares, told.harmonics as f64 - 1.0]) {
            *mean += (new - *mean) * news.max(f64::from(note.age + 1).recip());
        }
        // One harmonic alone has no residual but rounding: then the assumed variances count.
        let [squares, degrees] = self.residuals.map(|mean| mean + f64::EPSILON);
        let ratio = squares / degrees;
        let ratio_now = usual.squares / (usual.harmonics as f64 - 1.0).max(1.0);
        let apart = (told.frequency - usual.frequency).powi(2) - SWINGS * ratio_now * usual.variance;
        self.drift += (apart - self.drift) * news;
        (ratio * told.variance + SWINGS * self.drift.max(0.0)).sqrt()
    }
}

/// The longest window whose confidence interval meets those of all shorter ones; no longer than it takes to be exact enough.
pub(crate) fn longest_that_agrees(shortest_first: impl Iterator<Item = Estimate>) -> Estimate {
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let mut best = Estimate::default();
    for estimate in shortest_first {
        let reach = WIDTH * estimate.sigma;
        low = low.max(estimate.frequency - reach);
        high = high.min(estimate.frequency + reach);
        if low > high {
            break;
        }
        best = estimate;
        if best.sigma < ENOUGH * best.frequency {
            break;
        }
    }
    best
}

/// The noise at each harmonic against white noise of the same power: it is pink, as that of rooms is.
fn colour(hz: f64, rate: f64) -> [f64; HARMONICS] {
    // Pink noise spreads its power evenly over the octaves, here those from the rumble filter to the folding edge.
    let pink_at_1_hz = 0.5 * rate / (0.5 * rate / RUMBLE_HZ).ln();
    std::array::from_fn(|index| pink_at_1_hz / ((index + 1) as f64 * hz))
}
