//! Amplitude flattening of a note that begins.
//!
//! In the first two periods of a note its amplitude doubles and more. A window of whole periods separates harmonics only
//! while they are steady: a strong harmonic that rises leaks into a weak neighbour, and puts the frequency of the weak one
//! off by tens of cents. So the amplitude is measured over one period, every half period, and the samples are divided by
//! the straight lines between the middles of these periods. No source: it is the plain remedy. A slope fitted along with
//! each harmonic also separates them, but has twice as many unknowns and did worse in noise.

/// The shortest stretch whose level is measured, seconds.
const SHORTEST_S: f64 = 0.0016;
/// A level further below the loudest one than this (-34 dB) is flattened as if it were at this one.
const FAINTEST: f64 = 0.02;
/// Beyond the middles of the first and the last stretch a line does not fall below this share of the level there.
const LEAST: f64 = 0.25;

/// Evens out levels; owns its work space.
#[derive(Clone, Debug)]
pub(crate) struct Flattener {
    flattened: Vec<f32>,
    levels: Vec<f64>,
    rate: f64,
}

impl Flattener {
    /// For a working rate (hertz) and stretches of `span` samples.
    pub(crate) fn new(rate: f64, span: usize) -> Self {
        let most = span as f64 / (SHORTEST_S * rate);
        Self { flattened: vec![0.0; span], levels: vec![0.0; 2 * most as usize + 1], rate }
    }

    /// The newest samples of the history, at an even level from the newest `length` samples on; `period` in samples.
    pub(crate) fn flatten(&mut self, history: &[f32], period: f64, length: f64) -> &[f32] {
        let newest = &history[history.len() - self.flattened.len()..];
        self.flattened.copy_from_slice(newest);
        let stretch = (SHORTEST_S * self.rate / period).ceil() * period;
        let wholes = (length / stretch).round().max(2.0) as usize;
        let count = 2 * wholes - 1;
        if wholes as f64 * stretch <= newest.len() as f64 && count <= self.levels.len() {
            self.measure(stretch, count);
            self.divide(0.5 * stretch, count);
        }
        &self.flattened
    }

    /// What the last frame gave.
    pub(crate) fn flattened(&self) -> &[f32] {
        &self.flattened
    }

    /// Levels of the newest stretches, the newest first; each begins half a stretch before the next.
    fn measure(&mut self, stretch: f64, count: usize) {
        let (flattened, levels) = (&self.flattened, &mut self.levels[..count]);
        for (index, level) in levels.iter_mut().enumerate() {
            *level = energy(flattened, 0.5 * index as f64 * stretch, stretch).sqrt();
        }
        let least = FAINTEST * levels.iter().fold(f64::MIN_POSITIVE, |a, b| a.max(*b));
        for level in levels {
            *level = level.max(least);
        }
    }

    /// Divides by the lines between the middles of the stretches, `step` samples apart.
    fn divide(&mut self, step: f64, count: usize) {
        let levels = &self.levels[..count];
        for (ago, sample) in self.flattened.iter_mut().rev().enumerate() {
            let place = (ago as f64 + 0.5) / step - 1.0;
            let index = (place.max(0.0) as usize).min(count - 2);
            let line = levels[index] + (levels[index + 1] - levels[index]) * (place - index as f64);
            let nearest = if place < 0.0 { levels[0] } else { levels[index + 1] };
            *sample = (f64::from(*sample) * levels[0] / line.max(LEAST * nearest)) as f32;
        }
    }
}

/// Energy of a stretch that ends so many samples ago. Its ends lie between samples: a level that counted whole ones would
/// ripple from period to period.
fn energy(x: &[f32], ago: f64, stretch: f64) -> f64 {
    let square = |ago: usize| x.iter().rev().nth(ago).map_or(0.0, |x| f64::from(*x).powi(2));
    let (from, to) = (ago as usize, (ago + stretch) as usize);
    let whole = &x[x.len().saturating_sub(to)..x.len() - from];
    let whole: f64 = whole.iter().map(|x| f64::from(*x).powi(2)).sum();
    whole - ago.fract() * square(from) + (ago + stretch).fract() * square(to)
}
