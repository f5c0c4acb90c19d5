//! How well a set of voices explains the spectrum.
//!
//! Every voice is a harmonic series with free amplitudes; those of all voices together are found by linear least
//! squares, weighed by the noise of each point and held by a prior as wide as the voice's own spectrum is high
//! (ridge regression), so that harmonics that fall together are shared by what their neighbours suggest. The
//! fundamentals are corrected by a Gauss-Newton step in between (harmonic nonlinear least squares: Christensen &
//! Jakobsson, *Multi-Pitch Estimation*, 2009, chapters 2 and 3). What stays unexplained is judged by its logarithm,
//! that is with the heavy tails of a Cauchy law (Huber, *Robust Statistics*, 1981), because a blurred line of a loud
//! voice is no reason to add another; and every parameter costs something (Schwarz, Ann. Stat. 6 (1978)).

use super::banded::{Banded, COUPLED};
use super::points::Points;
use super::set::{HARMONICS, STANDS_OUT, Set, standing_out};
use super::shape::{Line, Shape, WIDTH};
use super::told::MAX_VOICES;
use rustfft::num_complex::Complex;

/// The most lines of a set.
pub(super) const LINES: usize = HARMONICS * MAX_VOICES;
/// The prior variance of an amplitude over what its neighbours suggest.
const SLACK: f64 = 4.0;
/// Standard deviation of a correction to a fundamental, relative (20 cents).
const CORRECTION: f64 = 0.0116;
/// How often the fundamentals are corrected.
const CORRECTIONS: usize = 2;
/// What each harmonic costs, nats: about what one gains by fitting noise.
const PER_HARMONIC: f64 = 0.6;
/// What it costs at most that even harmonics stand out, nats, and if a reed an octave above may sound too.
const HOLLOW: (f64, f64) = (15.0, 9.0);
/// What each voice costs, nats.
const PER_VOICE: f64 = 8.0;

/// One harmonic of one voice.
#[derive(Clone, Copy, Debug)]
struct Column {
    voice: usize,
    number: usize,
    line: Line,
    place: f64,
}

/// What the fit says of one harmonic.
#[derive(Clone, Copy, Debug)]
pub(super) struct Harmonic {
    /// Amplitude and phase at the middle of the window.
    pub(super) phasor: Complex<f64>,
    /// How it changes within the window: by how many points it lies above its number times the fundamental (real part),
    /// and how it fades, in the same unit (imaginary part; a growth by a share of 2π a second is one hertz).
    pub(super) drift: Complex<f64>,
}

impl Harmonic {
    pub(super) const NONE: Self =
        Self { phasor: Complex { re: 0.0, im: 0.0 }, drift: Complex { re: 0.0, im: 0.0 } };
}

/// The harmonics of the voices of a set.
pub(super) type Harmonics = [[Harmonic; HARMONICS]; MAX_VOICES];

/// Fits sets; owns its work space.
#[derive(Clone, Debug)]
pub(super) struct Fitter {
    /// Points by which sets are judged.
    count: usize,
    shape: Shape,
    columns: Vec<Column>,
    system: Banded,
    right: Vec<Complex<f64>>,
    ridge: Vec<f64>,
    residual: Vec<Complex<f64>>,
}

impl Fitter {
    /// Judges sets by the first `count` of `all` points.
    pub(super) fn new(count: usize, all: usize) -> Self {
        Self {
            count,
            shape: Shape::new(),
            columns: Vec::with_capacity(LINES),
            system: Banded::new(LINES),
            right: Vec::with_capacity(LINES),
            ridge: Vec::with_capacity(LINES),
            residual: Vec::with_capacity(all),
        }
    }

    /// What it costs to explain nothing.
    pub(super) fn unexplained(&self, points: &Points) -> f64 {
        cost_of(&points.values[..self.count], &points.weight)
    }

    /// Fits the amplitudes, corrects the fundamentals, and fits again.
    pub(super) fn fit(&mut self, points: &Points, set: &mut Set) {
        self.lay_out(self.count, set);
        self.ridge.clear();
        self.ridge.resize(self.columns.len(), 0.0);
        self.solve(points, set);
        for _ in 0..CORRECTIONS {
            self.subtract(points, self.count);
            self.correct(points, set);
            self.lay_out(self.count, set);
            self.expect(set);
            self.solve(points, set);
        }
        self.subtract(points, self.count);
        set.cost = cost_of(&self.residual, &points.weight) + self.columns.len() as f64 * PER_HARMONIC;
        for voice in 0..set.count {
            set.cost += PER_VOICE + set.voices[voice].cost;
            set.cost += implausibility(&set.amplitudes[voice], set.voices[voice].octave);
        }
    }

    /// What a fitted set leaves of each point: how far it rises above the noise, nats.
    pub(super) fn leave(&mut self, points: &Points, set: &Set, left: &mut [f64]) {
        self.lay_out(self.count, set);
        self.expect(set);
        self.solve(points, &mut set.clone());
        self.subtract(points, self.count);
        for (left, (rest, weight)) in left.iter_mut().zip(self.residual.iter().zip(&points.weight)) {
            *left = (1.0 + rest.norm_sqr() * weight).ln();
        }
    }

    /// The harmonics of the voices of a fitted set. To first order a line that moves or grows within the window is the
    /// line plus a share of its slope, so that share of what the fit leaves is how the harmonic drifts. It is a share of
    /// the whole line, which the fit's prior holds back where the spectrum falls steeply: what the fit leaves of the line
    /// is added to its amplitude.
    pub(super) fn harmonics(&mut self, points: &Points, set: &Set) -> Harmonics {
        let all = points.values.len();
        self.lay_out(all, set);
        self.expect(set);
        self.solve(points, &mut set.clone());
        self.subtract(points, all);
        let mut harmonics = [[Harmonic::NONE; HARMONICS]; MAX_VOICES];
        for (column, phasor) in self.columns.iter().zip(&self.right) {
            let left = &self.residual[column.line.first..column.line.first + WIDTH];
            let whole = phasor + share(left, &column.line.height);
            let drift = share(left, &column.line.slope) / whole;
            harmonics[column.voice][column.number - 1] = Harmonic { phasor: *phasor, drift };
        }
        harmonics
    }

    /// The lines of all harmonics below the point `count`, by frequency.
    fn lay_out(&mut self, count: usize, set: &Set) {
        self.columns.clear();
        let last = (count - WIDTH) as f64;
        for (voice, place) in set.voices().iter().enumerate() {
            for number in 1..=HARMONICS {
                let at = place.at * number as f64;
                if at > last {
                    break;
                }
                self.columns.push(Column { voice, number, line: self.shape.line(at), place: at });
            }
        }
        self.columns.sort_unstable_by(|a, b| a.place.total_cmp(&b.place));
    }

    /// What the amplitudes of each voice suggest for each of its harmonics, as the prior of the next fit.
    fn expect(&mut self, set: &Set) {
        self.ridge.clear();
        for column in &self.columns {
            let all = &set.amplitudes[column.voice];
            let fitted = all.iter().take_while(|a| **a > 0.0).count();
            let from = column.number.min(fitted).saturating_sub(3);
            let near = &all[from..(column.number + 2).min(fitted.max(from + 1))];
            let logs: f64 = near.iter().map(|a| (a * a + 1.0e-14).ln()).sum::<f64>() / near.len() as f64;
            self.ridge.push(1.0 / (SLACK * logs.exp()));
        }
    }

    /// Weighted least squares for the amplitudes, which end up in `right` and, as magnitudes, in the set.
    fn solve(&mut self, points: &Points, set: &mut Set) {
        self.system.clear(self.columns.len());
        self.right.clear();
        for (i, column) in self.columns.iter().enumerate() {
            let line = &column.line;
            let mut weighted = [0.0; WIDTH];
            let mut right = Complex::default();
            let under = points.values[line.first..].iter().zip(&points.weight[line.first..]);
            for ((weighted, height), (value, weight)) in weighted.iter_mut().zip(&line.height).zip(under) {
                *weighted = height * weight;
                right += value * *weighted;
            }
            self.right.push(right);
            for back in 0..COUPLED.min(i + 1) {
                let other = &self.columns[i - back].line;
                let shift = line.first - other.first;
                if shift >= WIDTH {
                    break;
                }
                let sum: f64 = weighted.iter().zip(&other.height[shift..]).map(|(a, b)| a * b).sum();
                self.system.set(i, back, sum);
            }
            // The small share keeps lines that coincide solvable.
            let least = 1.0e-3 * self.system.get(i, 0);
            self.system.set(i, 0, self.system.get(i, 0) + self.ridge[i] + least);
        }
        self.system.solve(&mut self.right);
        set.amplitudes = [[0.0; HARMONICS]; MAX_VOICES];
        for (column, amplitude) in self.columns.iter().zip(&self.right) {
            set.amplitudes[column.voice][column.number - 1] = amplitude.norm();
        }
    }

    /// What the lines leave of the first `count` points.
    fn subtract(&mut self, points: &Points, count: usize) {
        self.residual.clear();
        self.residual.extend_from_slice(&points.values[..count]);
        for (column, amplitude) in self.columns.iter().zip(&self.right) {
            let under = &mut self.residual[column.line.first..column.line.first + WIDTH];
            for (rest, height) in under.iter_mut().zip(&column.line.height) {
                *rest -= amplitude * height;
            }
        }
    }

    /// One Gauss-Newton step of every fundamental.
    fn correct(&self, points: &Points, set: &mut Set) {
        let (mut up, mut across) = ([0.0; MAX_VOICES], [0.0; MAX_VOICES]);
        for (column, amplitude) in self.columns.iter().zip(&self.right) {
            let number = column.number as f64;
            for p in 0..WIDTH {
                let at = column.line.first + p;
                let slope = amplitude * (column.line.slope[p] * number);
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

/// What a spectrum costs whose low harmonics are missing: a reed always sounds its fundamental and its second
/// harmonic, if weakly (common practice, no source), while the low note of which a chord would be some harmonics
/// lacks them.
fn implausibility(amplitudes: &[f64; HARMONICS], octave: bool) -> f64 {
    let strongest = amplitudes.iter().copied().fold(1.0e-9, f64::max);
    let missing = |amplitude: &f64, db: f64| {
        let below = -20.0 * (amplitude / strongest).max(1.0e-4).log10();
        ((below - db) / 2.0).clamp(0.0, 8.0)
    };
    let either = amplitudes[0].max(amplitudes[1]);
    let second = if amplitudes[1] > 0.0 { missing(&amplitudes[1], 34.0) } else { 0.0 };
    // Odd harmonics far below the even ones are those of a reed an octave below the one that sounds, or both sound.
    let hollow = (standing_out(amplitudes) - STANDS_OUT).clamp(0.0, if octave { HOLLOW.1 } else { HOLLOW.0 });
    missing(&amplitudes[0], 30.0) + second + missing(&either, 20.0) + hollow
}
