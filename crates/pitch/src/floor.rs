//! The noise around each harmonic, and the residual that the windows usually leave.
//!
//! The share of noise in the sound is the smaller of what does not repeat (correlation) and what no harmonic explains (fit).
//! Its spectrum is at first assumed to be half white and half pink, and after 64 ms measured half-way between harmonics.

use crate::frame::Frame;
use crate::front::RUMBLE_HZ;
use crate::refine::{Fit, HARMONICS};
use crate::spectrum::Spectrum;

/// The share of noise that is assumed of a new note.
const FIRST: f64 = 0.02;
/// Share of a new frame in the running averages: a time constant of 21 ms.
const NEWS: f64 = 0.12;
/// Share of a new spectrum (5 ms) in the noise around the harmonics: a time constant of 83 ms.
const AROUND_NEWS: f64 = 0.06;
/// Bounds of that noise, against all that does not repeat if it were white.
const LEAST_DENSITY: f64 = 0.05;
const MOST_DENSITY: f64 = 15.0;
/// A residual below this share of the sound (-26 dB) is usual for any window.
const NOTHING_ODD: f64 = 0.0025;

/// The noise of one note; of each harmonic as power of the white noise that would be as strong there.
#[derive(Clone, Debug)]
pub(crate) struct Floor {
    /// Its share of the sound.
    share: f64,
    /// As the spectrum sees it, once it does.
    around: Option<[f64; HARMONICS]>,
    /// What was reckoned with at the last frame.
    reckoned: Option<[f64; HARMONICS]>,
    /// What the shortest window and the usual one leave over of the sound.
    left: [Left; 2],
    rate: f64,
}

impl Floor {
    /// For a working rate, hertz.
    pub(crate) fn new(rate: f64) -> Self {
        Self { share: FIRST, around: None, reckoned: None, left: [Left::default(); 2], rate }
    }

    /// Forgets the note.
    pub(crate) fn clear(&mut self) {
        *self = Self::new(self.rate);
    }

    /// The same sound with other harmonics: its share stays.
    pub(crate) fn another_octave(&mut self) {
        *self = Self { share: self.share, ..Self::new(self.rate) };
    }

    /// The share of the sound that is noise.
    pub(crate) fn share(&self) -> f64 {
        self.share
    }

    /// Whether it has been measured around the harmonics.
    pub(crate) fn is_known(&self) -> bool {
        self.around.is_some()
    }

    /// What to reckon with before anything longer than the shortest window has been seen of a frame.
    pub(crate) fn before(&mut self, frame: &Frame) -> [f64; HARMONICS] {
        match self.reckoned {
            Some(reckoned) if self.is_known() => reckoned,
            _ => self.reckon(frame, &frame.short),
        }
    }

    /// Learns from the usual window of a frame.
    pub(crate) fn learn(&mut self, frame: &Frame, usual: &Fit) {
        self.reckoned = Some(self.reckon(frame, usual));
    }

    fn reckon(&mut self, frame: &Frame, fit: &Fit) -> [f64; HARMONICS] {
        let share = frame.noise_share.min(fit.noise / fit.total);
        self.share += (share - self.share) * NEWS.max(f64::from(frame.age + 1).recip());
        let share = if frame.louder { share.max(self.share) } else { self.share };
        let all = share * fit.total;
        match &self.around {
            None => usual_colour(frame.short.frequency * self.rate, self.rate).map(|density| density * all),
            Some(around) => around.map(|power| power.clamp(LEAST_DENSITY * all, MOST_DENSITY * all)),
        }
    }

    /// Learns the noise around each harmonic from a spectrum.
    pub(crate) fn measure(&mut self, spectrum: &Spectrum, frequency: f64) {
        let seen = spectrum.noise(frequency);
        match &mut self.around {
            None => self.around = Some(seen),
            Some(around) => {
                for (power, seen) in around.iter_mut().zip(seen) {
                    *power += (seen - *power) * AROUND_NEWS;
                }
            }
        }
    }

    /// By how much the deviation of the shortest window of a frame is larger than usual, a ratio of 1 or more.
    pub(crate) fn odd_short(&mut self, fit: &Fit) -> f64 {
        self.left[0].see(fit, self.around.is_some())
    }

    /// The same of the usual one.
    pub(crate) fn odd_usual(&mut self, fit: &Fit) -> f64 {
        self.left[1].see(fit, self.around.is_some())
    }
}

/// What one kind of window usually leaves over of the sound, as a share of it.
#[derive(Clone, Copy, Debug, Default)]
struct Left {
    usual: f64,
    windows: f64,
}

impl Left {
    /// Takes one more window into account; tells by how much its deviation is larger than usual, a ratio of 1 or more: a
    /// click leaves far more over, and says nothing of the pitch. Nothing is usual before the note is `known`.
    fn see(&mut self, fit: &Fit, known: bool) -> f64 {
        let share = fit.noise / fit.total;
        let odd = if known { (share / self.usual.max(NOTHING_ODD)).max(1.0) } else { 1.0 };
        self.windows += 1.0;
        self.usual += (share - self.usual) * NEWS.max(self.windows.recip());
        odd.sqrt()
    }
}

/// The colour of noise that is half white (breath) and half pink (rooms), the best guess before it is known.
fn usual_colour(hz: f64, rate: f64) -> [f64; HARMONICS] {
    // Pink noise spreads its power evenly over the octaves, here those from the rumble filter to the folding edge.
    let pink_at_1_hz = 0.5 * rate / (0.5 * rate / RUMBLE_HZ).ln();
    std::array::from_fn(|index| 0.5 + 0.5 * pink_at_1_hz / ((index + 1) as f64 * hz))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fit(noise: f64) -> Fit {
        Fit { total: 1.0, noise, ..Fit::default() }
    }

    #[test]
    fn the_noise_around_the_harmonics_of_one_octave_is_not_that_of_another() {
        let mut floor = Floor::new(16_000.0);
        (floor.around, floor.reckoned, floor.share) = (Some([1.0; HARMONICS]), Some([1.0; HARMONICS]), 0.3);
        floor.another_octave();
        assert!(floor.around.is_none() && floor.reckoned.is_none());
        assert!((floor.share - 0.3).abs() < f64::EPSILON, "but the sound is as noisy as it was");
    }

    #[test]
    fn a_window_that_leaves_more_over_than_usual_says_less() {
        let mut floor = Floor::new(16_000.0);
        assert!((floor.odd_usual(&fit(0.5)) - 1.0).abs() < f64::EPSILON, "nothing is usual yet");
        floor.around = Some([0.0; HARMONICS]);
        for _ in 0..200 {
            floor.odd_usual(&fit(0.01));
        }
        let usual = floor.odd_usual(&fit(0.01));
        let click = floor.odd_usual(&fit(0.64));
        // Its variance is as many times larger as what is left over.
        assert!((usual - 1.0).abs() < 1.0e-3 && (click - 8.0).abs() < 0.1, "{usual} and {click}");
        // A tenth of the least that counts as noise is as good as nothing.
        let mut clean = Floor::new(16_000.0);
        clean.around = Some([0.0; HARMONICS]);
        clean.odd_short(&fit(1.0e-6));
        assert!((clean.odd_short(&fit(2.5e-4)) - 1.0).abs() < f64::EPSILON);
    }
}
