//! How well a set of voices explains the spectrum.
//!
//! Every voice is a harmonic series with free amplitudes; those of all voices together are found by linear least
//! squares, weighed by the noise of each point and held by a prior as wide as the voice's own spectrum is high
//! (ridge regression). Of harmonics that fall together exactly the voice that was added first takes nearly all. Where two
//! fundamentals are exactly 2 to 3 the upper one is therefore told too soft; 0.6 cents beside that ratio it is not. The
//! fundamentals are corrected by a Gauss-Newton step in between (harmonic nonlinear least squares: Christensen & Jakobsson,
//! *Multi-Pitch Estimation*, 2009, chapters 2 and 3). What stays unexplained is judged by its logarithm,
//! that is with the heavy tails of a Cauchy law (Huber, *Robust Statistics*, 1981), because a blurred line of a loud
//! voice is no reason to add another; and every parameter costs something (Schwarz, Ann. Stat. 6 (1978)).

use super::points::Points;
use super::set::{HARMONICS, Set, Spot};
use super::shape::{Line, WIDTH};
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
/// A voice this much weaker than the strongest one is not believed, power: 26 dB, less in an attack.
const WEAKEST: (f64, f64) = (2.5e-3, 0.15);
/// Lines closer than this to one of another voice tell nothing, points: half the width of a line.
const CLEAR: f64 = 4.0;
/// A harmonic whose phase noise may have moved by more than this tells nothing, square of radians.
const UNCLEAR: f64 = 0.1;
/// Passes over all harmonics in which their amplitudes are found: in the bench as good as 12, while 6 are too few.
const SWEEPS: usize = 8;

/// One harmonic of one voice.
#[derive(Clone, Copy, Debug)]
struct Column {
    voice: usize,
    number: usize,
    /// The middle of its line, points.
    at: f64,
    line: Line,
    /// One over the prior variance of the amplitude.
    ridge: f64,
}

impl Column {
    fn amplitude<'a>(&self, set: &'a mut Set) -> &'a mut Complex<f64> {
        &mut set.voices[self.voice].amplitudes[self.number - 1]
    }
}

/// What the fit says of one harmonic.
#[derive(Clone, Copy, Debug)]
pub(super) struct Harmonic {
    /// Where it lies, points.
    pub(super) at: f64,
    /// Its amplitude.
    pub(super) amplitude: f64,
    /// By how much it turns within the window against its number times the fundamental, radians (real part), and by how
    /// much it fades, nepers (imaginary part): the root of the energy of that change under the window.
    pub(super) drift: Complex<f64>,
    /// How far noise may have moved the logarithm of its phasor, squared.
    pub(super) noise: f64,
}

/// Those harmonics of a voice of which something can be told; the fundamental is number 0.
pub(super) type Harmonics = [Option<Harmonic>; HARMONICS];

/// Fits sets; owns its work space.
#[derive(Clone, Debug)]
pub(super) struct Fitter {
    columns: Vec<Column>,
    residual: Vec<Complex<f64>>,
}

impl Fitter {
    /// For spectra of so many points at most.
    pub(super) fn new(most: usize) -> Self {
        Self { columns: Vec::with_capacity(HARMONICS * MAX_VOICES), residual: Vec::with_capacity(most) }
    }

    /// Fits the amplitudes, corrects the fundamentals, and fits again. A set with a voice that is too weak beside the
    /// strongest costs more than anything.
    pub(super) fn fit(&mut self, points: &Points, set: &mut Set) {
        set.voices.iter_mut().for_each(|voice| voice.amplitudes = Spot::default().amplitudes);
        self.explain(points, points.judged, set);
        for _ in 0..CORRECTIONS {
            self.correct(points, set);
            self.explain(points, points.judged, set);
        }
        set.cost = cost_of(&self.residual, &points.weight) + self.columns.len() as f64 * PER_HARMONIC;
        set.cost +=
            set.voices().iter().map(|voice| PER_VOICE + implausibility(&voice.amplitudes)).sum::<f64>();
        let powers = || set.voices().iter().map(Spot::power);
        let audible = (WEAKEST.0 + WEAKEST.1 * points.unevenness.powi(2)) * powers().fold(0.0, f64::max);
        if powers().any(|power| power <= audible) {
            set.cost = f64::INFINITY;
        }
    }

    /// What a fitted set leaves of each point: how far it rises above the noise, nats.
    pub(super) fn leave(&mut self, points: &Points, set: &Set, left: &mut Vec<f64>) {
        self.explain(points, points.judged, &mut set.clone());
        left.clear();
        let rest = self.residual.iter().zip(&points.weight);
        left.extend(rest.map(|(rest, weight)| (rest.norm_sqr() * weight).ln_1p()));
    }

    /// The harmonics of the voices of a fitted set. To first order a line that moves or grows within the window is the
    /// line plus a share of its slope, so that what the fit leaves along the slope is how the harmonic drifts. It is a
    /// share of the whole line, which the fit's prior holds back where the spectrum falls steeply: what the fit leaves
    /// of the line is added to its amplitude. Of harmonics in noise, or too near to those of another voice, nothing can
    /// be told.
    pub(super) fn harmonics(&mut self, points: &Points, set: &Set) -> [Harmonics; MAX_VOICES] {
        let mut set = *set;
        self.explain(points, points.values.len(), &mut set);
        let mut harmonics = [[None; HARMONICS]; MAX_VOICES];
        for column in &self.columns {
            let left = &self.residual[column.line.first..column.line.first + WIDTH];
            let amplitude = *column.amplitude(&mut set);
            let [level, change] = [&column.line.height, &column.line.slope].map(|shape| along(left, shape));
            let whole = amplitude + level.0 / level.1;
            let drift = change.0 / change.1.sqrt() / whole;
            let (at, amplitude) = (column.at, amplitude.norm());
            let noise = points.floor[column.line.first + WIDTH / 2] / amplitude.powi(2);
            let others = self.columns.iter().filter(|other| other.voice != column.voice && other.number == 1);
            let mut off = others.map(|other| at - (at / other.at).round().max(1.0) * other.at);
            let told = noise < UNCLEAR && off.all(|off| off.abs() > CLEAR);
            harmonics[column.voice][column.number - 1] =
                told.then_some(Harmonic { at, amplitude, drift, noise });
        }
        harmonics
    }

    /// Explains the first `count` points by the harmonics of a set, beginning with the amplitudes that they have. The
    /// residual then holds what they leave.
    fn explain(&mut self, points: &Points, count: usize, set: &mut Set) {
        self.residual.clear();
        self.residual.extend_from_slice(&points.values[..count]);
        self.columns.clear();
        let last = (count - WIDTH) as f64;
        for (voice, place) in set.voices().iter().enumerate() {
            for number in 1..=HARMONICS {
                let at = place.at * points.per_hertz * number as f64;
                if at > last {
                    break;
                }
                let line = Line::at(at);
                let ridge = 1.0 / (SLACK * expected(&place.amplitudes, number));
                line.add(-place.amplitudes[number - 1], &mut self.residual);
                self.columns.push(Column { voice, number, at, line, ridge });
            }
        }
        (0..SWEEPS).for_each(|_| self.sweep(points, set));
    }

    /// Weighted least squares for the amplitudes, one after the other, each by what the others leave (Gauss & Seidel:
    /// Golub & Van Loan, *Matrix Computations*, section 10.1).
    fn sweep(&mut self, points: &Points, set: &mut Set) {
        for column in &self.columns {
            let (Column { line, ridge, .. }, amplitude) = (column, column.amplitude(set));
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
            let whole = *column.amplitude(set) * (column.number as f64 * points.per_hertz);
            for p in 0..WIDTH {
                let at = column.line.first + p;
                let slope = whole * column.line.slope[p];
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

/// The product of points with a shape, and the energy of the shape.
fn along(points: &[Complex<f64>], shape: &[f64; WIDTH]) -> (Complex<f64>, f64) {
    (points.iter().zip(shape).map(|(point, shape)| point * shape).sum(), shape.iter().map(|x| x * x).sum())
}

/// What it costs to explain nothing.
pub(super) fn unexplained(points: &Points) -> f64 {
    cost_of(&points.values[..points.judged], &points.weight)
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
