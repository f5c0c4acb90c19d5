//! Amplitude flattening of a note that begins.
//!
//! In the first two periods of a note its amplitude doubles and more. A window of whole periods separates harmonics only
//! while they are steady: a strong harmonic that rises leaks into a weak neighbour, and puts the frequency of the weak one
//! off by tens of cents. So the samples are multiplied by the exponential that the energies of the newest period and of the
//! period before it lie on. No source: it is the plain remedy.

use crate::candidates::LASTING_S;

/// What lies further back is raised by no more than this ratio (26 dB): there was no note yet.
const MOST: f64 = 20.0;

/// Evens out levels; owns its work space.
#[derive(Clone, Debug)]
pub(crate) struct Flattener {
    flattened: Vec<f32>,
    rate: f64,
}

impl Flattener {
    /// For a working rate (hertz) and stretches of `span` samples.
    pub(crate) fn new(rate: f64, span: usize) -> Self {
        Self { flattened: vec![0.0; span], rate }
    }

    /// The newest samples of the history, at an even level; `period` in samples, `energies` of the newest samples of a
    /// number and of as many before them.
    pub(crate) fn flatten(
        &mut self,
        history: &[f32],
        period: f64,
        energies: impl Fn(usize) -> (f64, f64),
    ) -> &[f32] {
        let stretch = ((LASTING_S * self.rate / period).ceil() * period).round();
        let (newest, before) = energies(stretch as usize);
        let step = (newest / before.max(f64::MIN_POSITIVE)).powf(0.5 / stretch);
        let mut gain = 1.0;
        for (flattened, sample) in self.flattened.iter_mut().rev().zip(history.iter().rev()) {
            *flattened = (f64::from(*sample) * gain) as f32;
            gain = (gain * step).min(MOST);
        }
        &self.flattened
    }

    /// What the last frame gave.
    pub(crate) fn flattened(&self) -> &[f32] {
        &self.flattened
    }
}
