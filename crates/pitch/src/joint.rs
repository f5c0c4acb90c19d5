//! A second reed beside the note: two harmonic series fitted to one window.
//!
//! A reed that sounds along (12 dB weaker, one hole away) lies too close for a short window to resolve, and biases the
//! harmonics of the note. A window of seven periods resolves reeds three semitones apart, if each series is fitted to the
//! residual of the other in turn (RELAX: Li & Stoica, IEEE Trans. Signal Processing 44 (1996), with a harmonic series in
//! place of a sinusoid). The neighbour is searched for in the residual of the note, and believed only if it explains most
//! of it. Without this stage such notes are off by 17 cents at the 95th percentile on seed 22 of the bench, and by less
//! than two on seeds 1 and 21.

use crate::front::LANES;
use crate::refine::{Fit, Refiner};
use crate::spectrum::Spectrum;

/// The window: periods of the note, and the least and the most in seconds.
const PERIODS: f64 = 7.2;
const LEAST_S: f64 = 0.032;
const MOST_S: f64 = 0.080;
/// A neighbour lies between this and that many semitones away.
const NEAREST: f64 = 1.5;
const FURTHEST: f64 = 6.0;
/// Steps of the search, per semitone.
const STEPS: f64 = 8.0;
/// How often the two are fitted in turn.
const ROUNDS: usize = 3;
/// The neighbour must leave no more than this share of what the note leaves; a known one may leave that one.
const BELIEVED: f64 = 0.35;
const KEPT: f64 = 0.6;
/// From frame to frame its pitch and its power change by no more than these ratios (30 cents, 4 dB).
const STEADY: (f64, f64) = (1.0175, 2.5);
/// A neighbour is about as loud as what it explains; a note that moves leaves what no neighbour sounds.
const AS_LOUD: f64 = 0.5;
/// What holds less than this share of what the note leaves is not worth another round.
const WORTH: f64 = 0.15;

/// A reed that sounds along: its pitch, and its power against that of the note.
#[derive(Clone, Copy, Debug)]
struct Neighbour {
    frequency: f64,
    share: f64,
}

impl Neighbour {
    /// Whether another frame has seen the same one.
    fn is(&self, other: &Self) -> bool {
        let (pitch, power) = (self.frequency / other.frequency, self.share / other.share);
        pitch.ln().abs() < STEADY.0.ln() && power.ln().abs() < STEADY.1.ln()
    }
}

/// Fits pairs; owns its work space.
#[derive(Clone, Debug)]
pub(crate) struct Joint {
    refiner: Refiner,
    spectrum: Spectrum,
    /// What a series leaves of the newest stretch, which may be shorter.
    rest: Vec<f32>,
    neighbour: Option<Neighbour>,
    rate: f64,
}

impl Joint {
    /// For a working rate (hertz) and harmonics up to `highest` (cycles per sample).
    pub(crate) fn new(rate: f64, highest: f64) -> Self {
        let spectrum = Spectrum::new(rate, highest);
        let longest = ((MOST_S * rate).ceil() as usize).max(spectrum.span());
        Self {
            refiner: Refiner::new(longest, highest),
            spectrum,
            rest: vec![0.0; longest + 2 * LANES],
            neighbour: None,
            rate,
        }
    }

    /// Samples of history it looks at.
    pub(crate) fn span(&self) -> usize {
        self.rest.len()
    }

    /// The window for a note (cycles per sample), samples.
    pub(crate) fn window(&self, frequency: f64) -> f64 {
        (PERIODS / frequency).clamp(LEAST_S * self.rate, MOST_S * self.rate)
    }

    /// How much of the history is looked at for a note, samples: whole lanes, and all that the spectrum needs.
    fn stretch(&self, frequency: f64) -> usize {
        ((self.window(frequency) as usize).max(self.spectrum.span()) + LANES).next_multiple_of(LANES)
    }

    /// How far the neighbour lies from the note, as the logarithm of their ratio, if there is one.
    pub(crate) fn distance(&self, note: f64) -> Option<f64> {
        self.neighbour.map(|neighbour| (neighbour.frequency / note).ln().abs())
    }

    /// Forgets the neighbour.
    pub(crate) fn clear(&mut self) {
        self.neighbour = None;
    }

    /// The note without its neighbour, if it has one and had it at the frame before.
    pub(crate) fn fit_apart(&mut self, history: &[f32], frequency: f64) -> Option<Fit> {
        let newest = &history[history.len() - self.stretch(frequency)..];
        let window = self.window(frequency);
        let first = fit(&mut self.refiner, newest, frequency, window)?;
        let alone = fit(&mut self.refiner, newest, first.frequency, window)?;
        let place = self.neighbour.map(|known| known.frequency).or_else(|| self.search(newest, &alone));
        let pair = place.and_then(|place| self.relax(newest, &alone, place, window));
        let before = self.neighbour.take();
        let (note, beside) = pair?;
        let found = Neighbour { frequency: beside.frequency, share: beside.power / note.power };
        let explained = alone.noise - note.noise;
        let bar = if before.is_some() { KEPT } else { BELIEVED };
        let believed = note.noise < bar * alone.noise
            && (AS_LOUD * explained..note.power).contains(&beside.power)
            && apart(found.frequency, note.frequency)
            && before.is_none_or(|before| before.is(&found));
        self.neighbour = believed.then_some(found);
        // One frame may be deceived; a reed that sounds along is there at the next one too.
        (believed && before.is_some()).then_some(note)
    }

    /// Fits each of the two to what the other leaves, in turn.
    fn relax(&mut self, newest: &[f32], alone: &Fit, place: f64, window: f64) -> Option<(Fit, Fit)> {
        let reach = (window as usize + LANES).next_multiple_of(LANES);
        let newest = &newest[newest.len().saturating_sub(reach)..];
        let (mut note, mut neighbour) = (*alone, place);
        for round in 1.. {
            let beside = self.fit_rest(newest, &note, neighbour, window)?;
            if beside.power < WORTH * alone.noise {
                return None;
            }
            note = self.fit_rest(newest, &beside, note.frequency, window)?;
            neighbour = beside.frequency;
            if round == ROUNDS {
                return Some((note, beside));
            }
        }
        None
    }

    /// A series fitted to what another leaves.
    fn fit_rest(&mut self, newest: &[f32], other: &Fit, frequency: f64, window: f64) -> Option<Fit> {
        let rest = leave(&mut self.rest, newest, other);
        fit(&mut self.refiner, rest, frequency, window)
    }

    /// Where something sounds most clearly near the note in what the note leaves.
    fn search(&mut self, newest: &[f32], note: &Fit) -> Option<f64> {
        self.spectrum.analyse(leave(&mut self.rest, newest, note));
        let steps = (-FURTHEST * STEPS) as i32..=(FURTHEST * STEPS) as i32;
        let places = steps
            .map(|step| note.frequency * (f64::from(step) / STEPS / 12.0).exp2())
            .filter(|place| apart(*place, note.frequency));
        let judged = places.map(|place| (place, self.spectrum.salience(place)));
        judged.filter(|(_, salience)| *salience > 0.0).max_by(|a, b| a.1.total_cmp(&b.1)).map(|best| best.0)
    }
}

/// A series fitted to the newest whole periods within a window (samples).
fn fit(refiner: &mut Refiner, newest: &[f32], frequency: f64, window: f64) -> Option<Fit> {
    refiner.fit(newest, frequency, Refiner::whole_periods(frequency, window))
}

/// What a series leaves of the newest samples, in a work space that has room for them.
fn leave<'a>(space: &'a mut [f32], newest: &[f32], series: &Fit) -> &'a [f32] {
    let rest = &mut space[..newest.len()];
    rest.copy_from_slice(newest);
    series.subtract_from(rest);
    rest
}

/// Whether two frequencies can be two reeds side by side.
fn apart(a: f64, b: f64) -> bool {
    (NEAREST..=FURTHEST).contains(&(12.0 * (a / b).log2().abs()))
}
