//! Where the fundamental could be: peaks of the normalised cross-correlation, each lag on its own short window.
//!
//! For a lag of T samples the newest T samples (at least 2 ms) are compared with those T earlier, so a low note
//! is given two periods and a high note a few milliseconds, and neither waits for the other. The correlation is
//! normalised by the root of both energies (Talkin, "A robust algorithm for pitch tracking", 1995), so that a level
//! which rises by the same factor all along costs it nothing. The NSDF of `McLeod` & Wyvill (2005) divides by the mean
//! of the two, and the difference function of de Cheveigné & Kawahara, JASA 111 (2002), does not allow for the level at
//! all: both mark a rising attack down although it is periodic.

use crate::front::dot;
use std::f64::consts::PI;

/// The shortest stretch that is compared, seconds.
const SHORTEST_S: f64 = 0.0022;
/// Peaks below this are not worth a frame.
const FAINT: f32 = 0.3;
/// Below this many samples a lag is too coarse for a parabola, so the correlation is interpolated first.
const COARSE: usize = 44;
/// Interpolated points per sample.
const FINE: usize = 4;
/// Half the number of taps of the interpolator.
const REACH: usize = 8;
/// Taps of the interpolator.
const TAPS: usize = 2 * REACH;
/// Lags whose products are summed side by side.
const LAGS: usize = 16;
/// Products of two energies below this are silence.
const NOTHING: f32 = 1.0e-24;

/// Which of the lags, the longest first, have windows that reach to the row of samples: one more from row to row. A
/// product with nothing costs less than a loop of another length.
const REACHED: [[f32; LAGS]; LAGS] = {
    let mut rows = [[0.0; LAGS]; LAGS];
    let mut row = 0;
    while row < LAGS {
        let mut lag = 0;
        while lag <= row {
            rows[row][lag] = 1.0;
            lag += 1;
        }
        row += 1;
    }
    rows
};

/// A lag at which the sound repeats.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Candidate {
    /// The lag, samples.
    pub(crate) period: f64,
    /// Normalised cross-correlation there, at most 1.
    pub(crate) strength: f32,
}

/// Finds candidates; owns its work space.
#[derive(Clone, Debug)]
pub(crate) struct Candidates {
    longest: usize,
    least: usize,
    /// No period is shorter, samples: half a semitone beyond the range.
    shortest: f64,
    shortest_window: usize,
    /// By lag from `-REACH` on, where it is mirrored.
    correlation: Vec<f32>,
    /// Product of the two energies that a correlation is divided by the root of.
    norm: Vec<f32>,
    fine: Vec<f32>,
    energy: Vec<f64>,
    interpolator: Interpolator,
    kernel: [[f32; TAPS]; FINE],
    /// Room for every peak: there are two points at least from one to the next.
    found: Vec<Candidate>,
    count: usize,
}

impl Candidates {
    /// For a working rate and a range of fundamentals, hertz.
    pub(crate) fn new(rate: f64, low_hz: f64, high_hz: f64) -> Self {
        let longest = (rate / low_hz).ceil() as usize + 2;
        let shortest_window = (SHORTEST_S * rate).ceil() as usize;
        let interpolator = Interpolator::new();
        let lags = (longest + REACH + 1).next_multiple_of(LAGS);
        Self {
            longest,
            least: ((rate / high_hz).floor() as usize).max(2),
            shortest: rate / high_hz / 1.03,
            shortest_window,
            correlation: vec![0.0; REACH + lags + LAGS],
            norm: vec![0.0; lags],
            fine: vec![0.0; (COARSE + 1 + LAGS) * FINE],
            energy: vec![0.0; lags + lags.max(shortest_window)],
            kernel: std::array::from_fn(|part| interpolator.taps(part as f64 / FINE as f64)),
            interpolator,
            found: vec![Candidate::default(); COARSE * FINE / 2 + longest / 2 + 1],
            count: 0,
        }
    }

    /// How many samples of history it looks at.
    pub(crate) fn span(&self) -> usize {
        self.energy.len()
    }

    /// Energy of the newest `stretch` samples of the last frame, and of as many before them.
    pub(crate) fn energies(&self, stretch: usize) -> (f64, f64) {
        let stretch = stretch.min((self.energy.len() - 1) / 2);
        (self.energy[stretch], self.energy[2 * stretch] - self.energy[stretch])
    }

    /// The correlation at any lag in samples, whole or not, as of the last frame.
    pub(crate) fn at(&self, lag: f64) -> f32 {
        let whole = lag.floor();
        let first = whole as usize + 1;
        let around = self.correlation.get(first..first + TAPS);
        around.map_or(0.0, |around| dot(&self.interpolator.taps(lag - whole), around))
    }

    /// The candidates of the last frame.
    pub(crate) fn found(&self) -> &[Candidate] {
        &self.found[..self.count]
    }

    /// The longest lag that a frame covers, samples.
    pub(crate) fn longest(&self) -> f64 {
        self.longest as f64
    }

    /// The candidates at the end of the history, from the shortest period to the longest.
    pub(crate) fn find(&mut self, history: &[f32]) -> &[Candidate] {
        let x = &history[history.len() - self.span()..];
        self.sum_energy(x);
        for lag in (0..self.norm.len()).step_by(LAGS) {
            self.correlate(x, lag);
        }
        for (correlation, norm) in self.correlation[REACH..].iter_mut().zip(&self.norm) {
            *correlation = if *norm > NOTHING { *correlation / norm.sqrt() } else { 0.0 };
        }
        for lag in 1..=REACH {
            self.correlation[REACH - lag] = self.correlation[REACH + lag];
        }
        self.count = self.pick();
        self.found()
    }

    /// Energy of the newest `n` samples, for every `n`.
    fn sum_energy(&mut self, x: &[f32]) {
        let mut sum = 0.0;
        for (energy, sample) in self.energy.iter_mut().zip(x.iter().rev()) {
            *energy = sum;
            sum += f64::from(*sample).powi(2);
        }
    }

    /// Correlates at a few lags from `first` on. The windows of the longer lags reach further back.
    fn correlate(&mut self, x: &[f32], first: usize) {
        let last = first + LAGS - 1;
        let shared = first.max(self.shortest_window);
        let unshared = last.saturating_sub(shared);
        let start = x.len() - shared - unshared;
        let (newest, earlier) = (&x[start..], &x[start - last..x.len() - first]);
        // The longest lag comes first, as its samples do.
        let mut sums = [0.0; LAGS];
        for ((x, y), reached) in newest[..unshared].iter().zip(earlier.windows(LAGS)).zip(&REACHED) {
            for ((sum, y), reached) in sums.iter_mut().zip(y).zip(reached) {
                *sum += x * reached * y;
            }
        }
        slide(&newest[unshared..], &earlier[unshared..], &mut sums);
        for (lag, sum) in (first..).zip(sums.iter().rev()) {
            let window = lag.max(self.shortest_window);
            self.correlation[REACH + lag] = *sum;
            let (here, there) = (self.energy[window], self.energy[window + lag] - self.energy[lag]);
            self.norm[lag] = here as f32 * there as f32;
        }
    }

    /// Peaks of the correlation, by parabolas; on a finer grid where a lag is only a few samples.
    fn pick(&mut self) -> usize {
        let mut count = 0;
        let fine_end = COARSE.min(self.longest);
        for lag in (self.least - 1..=fine_end).step_by(LAGS) {
            self.interpolate(lag);
        }
        // Where only low notes are looked for, none is so short.
        let finely = self.fine.get(self.least * FINE - 1..=fine_end * FINE).unwrap_or_default();
        for (step, three) in (self.least * FINE..).zip(finely.array_windows()) {
            let peak = peak(three).map(|(part, height)| ((step as f64 + part) / FINE as f64, height));
            count = keep(&mut self.found, count, peak.filter(|peak| peak.0 >= self.shortest));
        }
        let coarsely = &self.correlation[REACH + fine_end - 1..=REACH + self.longest];
        for (lag, three) in (fine_end..).zip(coarsely.array_windows()) {
            let peak = peak(three).map(|(part, height)| (lag as f64 + part, height));
            count = keep(&mut self.found, count, peak.filter(|peak| peak.0 >= self.shortest));
        }
        count
    }

    /// The correlation at a few whole lags from `first` on and between them, by a short windowed sinc.
    fn interpolate(&mut self, first: usize) {
        let around = &self.correlation[first + 1..first + TAPS + LAGS];
        for (part, kernel) in self.kernel.iter().enumerate() {
            let mut points = [0.0; LAGS];
            slide(kernel, around, &mut points);
            for (fine, point) in self.fine[first * FINE + part..].iter_mut().step_by(FINE).zip(points) {
                *fine = point;
            }
        }
    }
}

/// Adds a candidate, if it is strong enough.
fn keep(found: &mut [Candidate], count: usize, peak: Option<(f64, f32)>) -> usize {
    let Some((period, strength)) = peak.filter(|peak| peak.1 >= FAINT) else { return count };
    found[count] = Candidate { period, strength: strength.min(1.0) };
    count + 1
}

/// Adds the inner products of `a` with equally long stretches of `b`, each of which begins one sample later. Side by
/// side in vector registers, because no sum depends on another.
fn slide(a: &[f32], b: &[f32], sums: &mut [f32; LAGS]) {
    for (x, y) in a.iter().zip(b.windows(LAGS)) {
        for (sum, y) in sums.iter_mut().zip(y) {
            *sum += x * y;
        }
    }
}

/// The offset and height of a peak through three neighbouring points, if the middle one is the highest.
fn peak([a, b, c]: &[f32; 3]) -> Option<(f64, f32)> {
    if !(b > a && b >= c) {
        return None;
    }
    let curve = a - 2.0 * b + c;
    let shift = if curve < 0.0 { 0.5 * (a - c) / curve } else { 0.0 };
    Some((f64::from(shift), b - 0.25 * (a - c) * shift))
}

/// Makes the taps of a windowed sinc. Its sines differ from tap to tap by their sign only, and the arguments of the
/// window by a constant.
#[derive(Clone, Debug)]
struct Interpolator {
    window: [(f64, f64); TAPS],
}

impl Interpolator {
    fn new() -> Self {
        Self { window: std::array::from_fn(|i| (PI * place(i) / REACH as f64).sin_cos()) }
    }

    /// Hann-windowed sinc taps for a fraction of a sample.
    fn taps(&self, part: f64) -> [f32; TAPS] {
        if part == 0.0 {
            return std::array::from_fn(|i| if place(i) == 0.0 { 1.0 } else { 0.0 });
        }
        let wave = (PI * part).sin() / PI;
        let (turn_sin, turn_cos) = (PI * part / REACH as f64).sin_cos();
        std::array::from_fn(|i| {
            let (sin, cos) = self.window[i];
            let sign = if i % 2 == REACH % 2 { wave } else { -wave };
            (sign / (place(i) - part) * 0.5 * (1.0 + cos * turn_cos + sin * turn_sin)) as f32
        })
    }
}

/// Where a tap lies, samples from the one before the point that is asked for.
fn place(tap: usize) -> f64 {
    tap as f64 + 1.0 - REACH as f64
}
