//! The held note: over how long a stretch its pitch is read.

use crate::consensus::{Consensus, Estimate};
use crate::refine::{Fit, Refiner};
use crate::smooth::{MOST, Smoother, longest_that_agrees};

/// The shortest window a pitch is read from, and the usual one, seconds.
pub(crate) const SHORT_S: f64 = 0.0035;
pub(crate) const USUAL_S: f64 = 0.020;
/// The share of noise that a new note is credited with until it is known.
const FIRST_NOISE: f64 = 0.02;
/// Share of a new look in the usual noise of a note.
const NEWS: f64 = 0.06;
/// Half the width of a confidence interval, standard deviations.
const WIDTH: f64 = 4.0;
/// Over a few periods only, harmonics lean on each other and seem to agree more than they do.
const CAUTION: f64 = 1.6;
/// Looks after which a movement lies behind the windows that are joined.
const BEHIND: u32 = 10;
/// What an estimated deviation is of the true one, over all kinds of disturbance (measured).
const HONEST: f64 = 0.6;
/// A deviation that no longer window need improve, ratio (0.02 cents).
const ENOUGH: f64 = 1.2e-5;

/// What is known of a held note from look to look.
#[derive(Clone, Debug)]
pub(crate) struct Hold {
    smoother: Smoother,
    consensus: [Consensus; 2],
    noise: f64,
    /// Looks until the last movement lies behind.
    moved: u32,
    rate: f64,
    hop: f64,
}

/// A look at a held note.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Look<'a> {
    /// The newest samples.
    pub(crate) history: &'a [f32],
    /// The fit over the shortest window.
    pub(crate) short: Fit,
    /// Looks since the note began.
    pub(crate) age: u32,
    /// Share of the sound that does not repeat.
    pub(crate) unrepeated: f64,
    /// Something louder has come on top of the note.
    pub(crate) louder: bool,
}

impl Hold {
    /// For a working rate (hertz) and a hop (samples).
    pub(crate) fn new(rate: f64, hop: usize) -> Self {
        Self {
            smoother: Smoother::new(hop as f64),
            consensus: [Consensus::default(); 2],
            noise: FIRST_NOISE,
            moved: 0,
            rate,
            hop: hop as f64,
        }
    }

    /// Forgets the note.
    pub(crate) fn clear(&mut self) {
        self.another_octave();
        self.noise = FIRST_NOISE;
        self.moved = 0;
    }

    /// The same sound with other harmonics.
    pub(crate) fn another_octave(&mut self) {
        self.smoother.clear();
        self.consensus = [Consensus::default(); 2];
    }

    /// The pitch over the window that suits the note: short while it moves, long while it stays.
    pub(crate) fn read(&mut self, refiner: &mut Refiner, look: &Look) -> Estimate {
        let since = SHORT_S * self.rate + f64::from(look.age) * self.hop;
        let periods = Refiner::whole_periods(look.short.frequency, since.min(USUAL_S * self.rate));
        let middle = refiner.fit(look.history, look.short.frequency, periods).unwrap_or(look.short);
        let noise = self.noise(look, middle.noise);
        let [shorts, middles] = &mut self.consensus;
        let (mut short, _) = shorts.estimate(&look.short.with_noise(noise));
        short.sigma *= CAUTION;
        let middle = middle.with_noise(noise);
        let (mut whole, trust) = middles.estimate(&middle);
        if periods < 5.0 {
            whole.sigma *= CAUTION;
        }
        // The first windows still reach back before the attack, where harmonics leak into each other.
        if f64::from(look.age) * self.hop >= 0.6 * middle.length {
            self.smoother.push(&middle, trust);
        }
        self.longest(short, whole)
    }

    /// The share of noise to reckon with at this look.
    fn noise(&mut self, look: &Look, of_window: f64) -> f64 {
        let noise = look.unrepeated.min(of_window);
        self.noise += (noise - self.noise) * NEWS.max(f64::from(look.age + 1).recip());
        if look.louder { noise.max(self.noise) } else { self.noise }
    }

    /// The longest window that agrees with the newest ones; after a movement not before it lies behind.
    fn longest(&mut self, short: Estimate, whole: Estimate) -> Estimate {
        let low = short.frequency * self.rate < 250.0;
        let most = self.smoother.count().min(if low { MOST } else { 28 });
        let scales =
            [Some(short), Some(whole), self.smoother.estimate(12.min(most)), self.smoother.estimate(most)];
        let (longest, windows) = longest_that_agrees(&scales, WIDTH, ENOUGH);
        let moves = windows < 3 && scales[2].is_some() && longest.sigma > ENOUGH * longest.frequency;
        self.moved = if moves { BEHIND } else { self.moved.saturating_sub(1) };
        let mut pitch = if windows > 2 && self.moved > 0 { whole } else { longest };
        pitch.sigma *= HONEST;
        pitch
    }
}
