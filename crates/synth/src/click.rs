//! The click of a metronome.

use crate::error::brought_within;
use crate::level::amplitude;
use std::f64::consts::TAU;

/// Which beat a click marks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beat {
    /// The first of a bar: higher.
    One,
    /// Any other.
    Other,
}

/// A short wooden click: a sine that dies away within some 30 ms. Silent until it is struck.
#[derive(Clone, Debug)]
pub struct Click {
    sample_rate: f64,
    amplitude: f64,
    hz: f64,
    /// Samples since the last stroke; `None` before the first and when it has died away.
    since: Option<u64>,
}

impl Click {
    /// A click with a peak of `dbfs` (at most −6 dBFS) at a sample rate of 8 to 192 kHz.
    pub fn new(sample_rate: f64, dbfs: f64) -> Self {
        Self { sample_rate, amplitude: amplitude(dbfs.min(-6.0)), hz: 0.0, since: None }
    }

    /// Strikes it: the next sample is its first.
    pub fn strike(&mut self, beat: Beat) {
        self.hz = match beat {
            Beat::One => 2600.0,
            Beat::Other => 1900.0,
        };
        self.since = Some(0);
    }

    /// The next sample.
    pub fn sample(&mut self) -> f64 {
        let Some(since) = self.since else { return 0.0 };
        let t = since as f64 / self.sample_rate;
        self.since = (t < 0.06).then_some(since + 1);
        // Within 0.3 ms up, then 26 dB down every 15 ms.
        let envelope = (t / 0.0003).min(1.0) * (-t / 0.005).exp();
        self.amplitude * envelope * (TAU * self.hz * t).sin()
    }
}

/// Regular clicks, counted in samples so that they never drift.
#[derive(Clone, Debug)]
pub struct Metronome {
    click: Click,
    samples_per_beat: f64,
    beats_per_bar: u64,
    position: u64,
    beats: u64,
}

impl Metronome {
    /// Clicks at `bpm` beats a minute (10 to 400, brought into that range), the first at once.
    pub fn new(click: Click, bpm: f64, beats_per_bar: u64) -> Self {
        let samples_per_beat = click.sample_rate * 60.0 / brought_within(bpm, 10.0, 400.0);
        Self { click, samples_per_beat, beats_per_bar: beats_per_bar.max(1), position: 0, beats: 0 }
    }

    /// Adds the clicks to some sound.
    pub fn add(&mut self, samples: &mut [f32]) {
        for sample in samples {
            if self.position as f64 >= self.beats as f64 * self.samples_per_beat {
                self.click.strike(if self.beats.is_multiple_of(self.beats_per_bar) {
                    Beat::One
                } else {
                    Beat::Other
                });
                self.beats += 1;
            }
            *sample += self.click.sample() as f32;
            self.position += 1;
        }
    }
}
