//! A light kit, played with brushes.

use super::event::Stroke;
use crate::biquad::Biquad;
use crate::random::signed;
use oorandom::Rand32;
use std::f64::consts::TAU;

/// How a stroke sounds. All of it is chosen by ear, with the bands of a General MIDI brush kit beside it.
#[derive(Clone, Copy, Debug)]
struct Sounding {
    /// Seconds after which it is over, and of its rising and falling by a factor of e.
    length_s: f64,
    rise_s: f64,
    fall_s: f64,
    /// Its hiss: centre frequency in hertz, Q of the band-pass, gain.
    hiss: (f64, f64, f64),
    /// How loud the skin of the drum is.
    skin: f64,
}

impl Stroke {
    fn sounding(self) -> Sounding {
        match self {
            Self::Kick => {
                Sounding { length_s: 0.35, rise_s: 0.003, fall_s: 0.07, hiss: (350.0, 0.5, 0.35), skin: 1.0 }
            }
            Self::Tap => {
                Sounding { length_s: 0.3, rise_s: 0.002, fall_s: 0.045, hiss: (1_900.0, 0.4, 0.8), skin: 0.0 }
            }
            Self::Sweep => {
                Sounding { length_s: 0.4, rise_s: 0.09, fall_s: 0.09, hiss: (3_800.0, 0.5, 0.35), skin: 0.0 }
            }
            Self::Cymbal => {
                Sounding { length_s: 0.4, rise_s: 0.001, fall_s: 0.06, hiss: (6_500.0, 0.7, 0.3), skin: 0.0 }
            }
        }
    }
}

/// A stroke that sounds.
#[derive(Clone, Copy, Debug)]
pub(super) struct StrokeVoice {
    sounding: Sounding,
    /// How loud it is still, and what it keeps of that from sample to sample once it has risen.
    left: f64,
    keeps: f64,
    sample_s: f64,
    age: u64,
    filter: Biquad,
    random: Rand32,
}

impl StrokeVoice {
    pub(super) fn new(stroke: Stroke, gain: f64, sample_rate: f64, random: Rand32) -> Self {
        let sounding = stroke.sounding();
        let (hz, q, _) = sounding.hiss;
        let filter = Biquad::band_pass(sample_rate, hz.min(0.4 * sample_rate), q);
        let sample_s = sample_rate.recip();
        let keeps = (-sample_s / sounding.fall_s).exp();
        Self { sounding, left: gain, keeps, sample_s, age: 0, filter, random }
    }

    pub(super) fn is_over(&self) -> bool {
        self.age as f64 * self.sample_s >= self.sounding.length_s
    }

    pub(super) fn next(&mut self) -> f64 {
        let t = self.age as f64 * self.sample_s;
        self.age += 1;
        let Sounding { length_s, rise_s, hiss, skin, .. } = self.sounding;
        let rising = (t / rise_s).min(1.0);
        if rising >= 1.0 {
            self.left *= self.keeps;
        }
        let noise = hiss.2 * self.filter.next(signed(&mut self.random));
        let drum = if skin > 0.0 { skin * drum(t) } else { 0.0 };
        // It ends at nought, whatever is left of it.
        self.left * rising * (1.0 - t / length_s) * (noise + drum)
    }
}

/// The skin of the big drum, which falls from 110 to 55 Hz as it is struck.
fn drum(t: f64) -> f64 {
    const FALL_S: f64 = 0.03;
    let cycles = 55.0 * t + 55.0 * FALL_S * (1.0 - (-t / FALL_S).exp());
    (TAU * cycles).sin()
}
