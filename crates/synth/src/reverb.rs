//! A small room.

use crate::level::amplitude;

/// Delays of the comb filters in seconds: mutually irregular, 29.7 to 43.7 ms, as Schroeder gives them.
const COMBS_S: [f64; 4] = [0.0297, 0.0371, 0.0411, 0.0437];

/// Delays of the all-pass filters in seconds, and their gain.
const ALL_PASSES_S: [f64; 2] = [0.0050, 0.0017];
const ALL_PASS_GAIN: f64 = 0.7;

/// The sound of a room: four parallel comb filters into two all-pass filters (M. R. Schroeder, "Natural
/// sounding artificial reverberation", J. Audio Eng. Soc. 10 (1962)), added to the direct sound.
#[derive(Clone, Debug)]
pub struct Reverb {
    combs: Vec<Line>,
    all_passes: Vec<Line>,
    wet: f64,
}

/// A delay line with feedback.
#[derive(Clone, Debug)]
struct Line {
    samples: Vec<f64>,
    at: usize,
    gain: f64,
}

impl Reverb {
    /// A room whose sound falls by 60 dB in `decay_s` seconds, mixed in at `wet_db` relative to the direct
    /// sound.
    pub fn new(sample_rate: f64, decay_s: f64, wet_db: f64) -> Self {
        // After `decay_s` a comb has gone round decay_s/delay times and must be down to a thousandth.
        let combs: Vec<Line> =
            COMBS_S.map(|s| Line::new(sample_rate, s, 10f64.powf(-3.0 * s / decay_s.max(0.05)))).into();
        let all_passes = ALL_PASSES_S.map(|s| Line::new(sample_rate, s, ALL_PASS_GAIN)).into();
        // The power that a comb hands on of a noisy sound is 1/(1 − g²).
        let power: f64 = combs.iter().map(|line| 1.0 / (1.0 - line.gain * line.gain)).sum();
        Self { combs, all_passes, wet: amplitude(wet_db) / power.sqrt() }
    }

    /// Adds the room to some sound in place.
    pub fn apply(&mut self, samples: &mut [f32]) {
        for sample in samples {
            let dry = f64::from(*sample);
            let echoes: f64 = self.combs.iter_mut().map(|line| line.comb(dry)).sum();
            let room = self.all_passes.iter_mut().fold(echoes, |x, line| line.all_pass(x));
            *sample = (dry + self.wet * room) as f32;
        }
    }
}

impl Line {
    fn new(sample_rate: f64, delay_s: f64, gain: f64) -> Self {
        Self { samples: vec![0.0; ((delay_s * sample_rate).round() as usize).max(1)], at: 0, gain }
    }

    /// Hands out what went in a delay ago and takes `x` in.
    fn exchange(&mut self, x: f64) -> f64 {
        // Numbers below this are inaudible, and processors are slow with the smallest of them.
        let x = if x.abs() < 1e-30 { 0.0 } else { x };
        let old = std::mem::replace(&mut self.samples[self.at], x);
        self.at = (self.at + 1) % self.samples.len();
        old
    }

    fn comb(&mut self, x: f64) -> f64 {
        let delayed = self.samples[self.at];
        self.exchange(x + self.gain * delayed)
    }

    fn all_pass(&mut self, x: f64) -> f64 {
        let delayed = self.samples[self.at];
        let inside = x + self.gain * delayed;
        self.exchange(inside) - self.gain * inside
    }
}
