//! How well a set of voices explains the spectrum.
//!
//! Every voice is a harmonic series with free amplitudes; those of all voices together are found by linear least
//! squares, weighed by the noise of each point and held by a prior as wide as the voice's own spectrum is high
//! (ridge regression), so that harmonics that fall together are shared by what their neighbours suggest. The
//! fundamentals are corrected by a Gauss-Newton step in between (harmonic nonlinear least squares: Christensen &
//! Jakobsson, *Multi-Pitch Estimation*, 2009, chapters 2 and 3). What stays unexplained is judged by its logarithm,
//! that is with the heavy tails of a Cauchy law (Huber, *Robust Statistics*, 1981), because a blurred line of a loud
//! voice is no reason to add another; and every parameter costs something (Schwarz, Ann. Stat. 6 (1978)).

use super::points::Points;
use super::set::{HARMONICS, Set, Spot};
use super::shape::{Line, Shape, WIDTH};
use super::told::MAX_VOICES;
use rustfft::num_complex::Complex;

/// The prior variance of an amplitude over what its neighbours suggest.
const SLACK: f64 = 4.0;
/// Standard deviation of a correction to a fundamental, relative (20 cents).
const CORRECTION: f64 = 0.0116;
/// How often the fundamentals are corrected.
const CORRECTIONS: usize = 2;
/// What each harmonic costs, nats: about what one gains by fitting noise.
const PER_HARMONIC: f64 = 0.6;
/// What it costs at most that even harmonics stand out, nats.
const HOLLOW: f64 = 9.0;
/// By how much the even harmonics of a reed may stand out, decibels, before it costs something to believe in it.
const STANDS_OUT: f64 = 9.0;
/// And how far its fundamental may lie below the strongest harmonic, decibels.
const WEAK_DB: f64 = 24.0;
/// What each voice costs, nats.
const PER_VOICE: f64 = 8.0;
/// Passes over all harmonics in which their amplitudes are found: as good as 24 in the bench, while 6 are too few. And how
/// many are enough where they are known but for a correction.
const SWEEPS: usize = 12;
const SWEEPS_AGAIN: usize = 4;

/// One harmonic of one voice.
#[derive(Clone, Copy, Debug)]
struct Column {
    voice: usize,
    number: usize,
    line: Line,
    amplitude: Complex<f64>,
    /// One over the prior variance of the amplitude.
    ridge: f64,
}

/// What the fit says of one harmonic.
#[derive(Clone, Copy, Debug)]
pub(super) struct Harmonic {
    /// Its amplitude.
    pub(super) amplitude: f64,
    /// How it changes within the window: by how many points it lies above its number times the fundamental (real part),
    /// and how it fades, in the same unit (imaginary part; a growth by a share of 2π a second is one hertz).
    pub(super) drift: Complex<f64>,
    /// How far noise may have moved the logarithm of its phasor, squared.
    pub(super) noise: f64,
}

/// Those harmonics of a voice of which something is known; the fundamental is number 0.
pub(super) type Harmonics = [Option<Harmonic>; HARMONICS];

/// Fits sets; owns its work space.
#[derive(Clone, Debug)]
pub(super) struct Fitter {
    /// Points by which sets are judged.
    count: usize,
    shape: Shape,
    columns: Vec<Column>,
    residual: Vec<Complex<f64>>,
}

impl Fitter {
    /// Judges sets by the first `count` of `all` points.
    pub(super) fn new(count: usize, all: usize) -> Self {
        Self {
            count,
            shape: Shape::new(),
            columns: Vec::with_capacity(HARMONICS * MAX_VOICES),
            residual: Vec::with_capacity(all),
        }
    }

    /// What it costs to explain nothing.
    pub(super) fn unexplained(&self, points: &Points) -> f64 {
        cost_of(&points.values[..self.count], &points.weight)
    }

    /// Fits the amplitudes, corrects the fundamentals, and fits again.
    pub(super) fn fit(&mut self, points: &Points, set: &mut Set) {
        set.voices.iter_mut().for_each(|voice| voice.amplitudes = Spot::default().amplitudes);
        self.explain(points, self.count, SWEEPS, set);
        for _ in 0..CORRECTIONS {
            self.correct(points, set);
            self.explain(points, self.count, SWEEPS_AGAIN, set);
        }
        set.cost = cost_of(&self.residual, &points.weight) + self.columns.len() as f64 * PER_HARMONIC;
        set.cost +=
            set.voices().iter().map(|voice| PER_VOICE + implausibility(&voice.amplitudes)).sum::<f64>();
    }

    /// What a fitted set leaves of each point: how far it rises above the noise, nats.
    pub(super) fn leave(&mut self, points: &Points, set: &Set, left: &mut [f64]) {
        self.explain(points, self.count, SWEEPS_AGAIN, &mut set.clone());
        for (left, (rest, weight)) in left.iter_mut().zip(self.residual.iter().zip(&points.weight)) {
            *left = (1.0 + rest.norm_sqr() * weight).ln();
        }
    }

    /// The harmonics of the voices of a fitted set. To first order a line that moves or grows within the window is the
    /// line plus a share of its slope, so that share of what the fit leaves is how the harmonic drifts. It is a share of
    /// the whole line, which the fit's prior holds back where the spectrum falls steeply: what the fit leaves of the line
    /// is added to its amplitude.
    pub(super) fn harmonics(&mut self, points: &Points, set: &Set) -> [Harmonics; MAX_VOICES] {
        self.explain(points, points.values.len(), SWEEPS, &mut set.clone());
        let mut harmonics = [[None; HARMONICS]; MAX_VOICES];
        for column in &self.columns {
            let left = &self.residual[column.line.first..column.line.first + WIDTH];
            let whole = column.amplitude + share(left, &column.line.height);
            let drift = share(left, &column.line.slope) / whole;
            let amplitude = column.amplitude.norm();
            let floor = points.floor[column.line.first + WIDTH / 2];
            let noise = floor / amplitude.powi(2);
            harmonics[column.voice][column.number - 1] = Some(Harmonic { amplitude, drift, noise });
        }
        harmonics
    }

    /// Explains the first `count` points by the harmonics of a set, beginning with the amplitudes that they have. The new ones
    /// end up in the columns and in the set, what they leave in the residual.
    fn explain(&mut self, points: &Points, count: usize, sweeps: usize, set: &mut Set) {
        self.residual.clear();
        self.residual.extend_from_slice(&points.values[..count]);
        self.columns.clear();
        let last = (count - WIDTH) as f64;
        for (voice, place) in set.voices().iter().enumerate() {
            let below = |number: &usize| place.at * *number as f64 <= last;
            for number in (1..=HARMONICS).take_while(below) {
                let line = self.shape.line(place.at * number as f64);
                let ridge = 1.0 / (SLACK * expected(&place.amplitudes, number));
                let amplitude = place.amplitudes[number - 1];
                line.add(-amplitude, &mut self.residual);
                self.columns.push(Column { voice, number, line, amplitude, ridge });
            }
        }
        (0..sweeps).for_each(|_| self.sweep(points));
        for column in &self.columns {
            set.voices[column.voice].amplitudes[column.number - 1] = column.amplitude;
        }
    }

    /// Weighted least squares for the amplitudes, one after the other, each by what the others leave (Gauss & Seidel: Golub &
    /// Van Loan, *Matrix Computations*, section 10.1).
    fn sweep(&mut self, points: &Points) {
        for Column { line, amplitude, ridge, .. } in &mut self.columns {
            let near = line.first..line.first + WIDTH;
            let (left, weight) = (&self.residual[near.clone()], &points.weight[near]);
            let (mut along, mut across) = (-*amplitude * *ridge, *ridge);
            for ((left, weight), height) in left.iter().zip(weight).zip(&line.height) {
                along += left * (weight * height);
                across += weight * height * height;
            }
            let more = along / across;
            *amplitude += more;
            line.add(-more, &mut self.residual);
        }
    }

    /// One Gauss-Newton step of every fundamental.
    fn correct(&self, points: &Points, set: &mut Set) {
        let (mut up, mut across) = ([0.0; MAX_VOICES], [0.0; MAX_VOICES]);
        for column in &self.columns {
            let number = column.number as f64;
            for p in 0..WIDTH {
                let at = column.line.first + p;
                let slope = column.amplitude * (column.line.slope[p] * number);
                up[column.voice] += (slope.conj() * self.residual[at]).re * points.weight[at];
                across[column.voice] += slope.norm_sqr() * points.weight[at];
            }
        }
        for (voice, place) in set.voices[..set.count].iter_mut().enumerate() {
            let hold = (CORRECTION * place.at).powi(-2);
            let step = up[voice] / (across[voice] + hold);
            let most = 2.0 * CORRECTION * place.at;
            place.at = (place.at + step.clamp(-most, most)).clamp(place.low, place.high);
        }
    }
}

/// The power that its neighbours suggest for a harmonic; infinite where nothing is known of the voice.
fn expected(amplitudes: &[Complex<f64>; HARMONICS], number: usize) -> f64 {
    let fitted = amplitudes.iter().take_while(|a| a.norm_sqr() > 0.0).count();
    let from = number.min(fitted).saturating_sub(3);
    let near = &amplitudes[from..(number + 2).min(fitted)];
    let logs: f64 = near.iter().map(|a| (a.norm_sqr() + 1.0e-14).ln()).sum();
    if near.is_empty() { f64::INFINITY } else { (logs / near.len() as f64).exp() }
}

/// How much of a shape the points hold, by least squares.
fn share(points: &[Complex<f64>], shape: &[f64; WIDTH]) -> Complex<f64> {
    let along: Complex<f64> = points.iter().zip(shape).map(|(point, shape)| point * shape).sum();
    along / shape.iter().map(|shape| shape * shape).sum::<f64>()
}

/// The cost of a residual: the negative logarithm of a Cauchy law, up to a constant; half, because neighbouring
/// points of the padded spectrum say the same twice. Products of a few points save logarithms.
fn cost_of(residual: &[Complex<f64>], weight: &[f64]) -> f64 {
    let few = residual.chunks(8).zip(weight.chunks(8));
    let sum: f64 =
        few.map(|(r, w)| r.iter().zip(w).map(|(r, w)| 1.0 + r.norm_sqr() * w).product::<f64>().ln()).sum();
    0.5 * sum
}

/// What a spectrum costs whose fundamental or whose odd harmonics are missing: a reed always sounds its fundamental, if
/// weakly (common practice, no source), while the low note of which a chord would be some harmonics lacks it.
fn implausibility(amplitudes: &[Complex<f64>; HARMONICS]) -> f64 {
    let strongest = amplitudes.iter().map(Complex::norm_sqr).fold(1.0e-18, f64::max);
    let below = -10.0 * (amplitudes[0].norm_sqr() / strongest).max(1.0e-8).log10();
    let missing = ((below - WEAK_DB) / 2.0).clamp(0.0, 8.0);
    // Odd harmonics far below the even ones are those of a reed an octave below the one that sounds, or both sound.
    missing + (standing_out(amplitudes) - STANDS_OUT).clamp(0.0, HOLLOW)
}

/// Even harmonics whose standing out is asked for.
const EVEN: usize = 4;

/// By how much the even harmonics exceed their odd neighbours, decibels on average.
pub(super) fn standing_out(amplitudes: &[Complex<f64>; HARMONICS]) -> f64 {
    let db = |i: usize| 10.0 * amplitudes[i].norm_sqr().max(1.0e-12).log10();
    let excess = |n: usize| db(2 * n + 1) - f64::midpoint(db(2 * n), db(2 * n + 2));
    let fitted = amplitudes.iter().take_while(|a| a.norm_sqr() > 0.0).count();
    let compared = (fitted.saturating_sub(1) / 2).min(EVEN);
    (0..compared).map(excess).sum::<f64>() / (compared.max(2)) as f64
}
