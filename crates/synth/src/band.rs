//! A narrow microphone or loudspeaker.

use crate::biquad::Biquad;

/// Quality factors of the two sections of a fourth-order Butterworth filter: `1/(2·cos(π/8))` and
/// `1/(2·cos(3π/8))`.
const BUTTERWORTH: [f64; 2] = [0.541_196_100_146_197, 1.306_562_964_876_377];

/// Lets pass only what lies between two frequencies (fourth-order Butterworth, −3 dB at both).
#[derive(Clone, Debug)]
pub struct BandLimit {
    sections: Vec<Biquad>,
}

impl BandLimit {
    /// From `low_hz` to `high_hz`; a limit beyond 0.45 of the sample rate is left out.
    pub fn new(sample_rate: f64, low_hz: f64, high_hz: f64) -> Self {
        let fits = |hz: &f64| *hz > 0.0 && *hz < 0.45 * sample_rate;
        let low =
            Some(low_hz).filter(fits).map(|hz| BUTTERWORTH.map(|q| Biquad::high_pass(sample_rate, hz, q)));
        let high =
            Some(high_hz).filter(fits).map(|hz| BUTTERWORTH.map(|q| Biquad::low_pass(sample_rate, hz, q)));
        Self { sections: low.into_iter().chain(high).flatten().collect() }
    }

    /// Filters some sound in place.
    pub fn apply(&mut self, samples: &mut [f32]) {
        for sample in samples {
            *sample = self.sections.iter_mut().fold(f64::from(*sample), |x, section| section.next(x)) as f32;
        }
    }
}
