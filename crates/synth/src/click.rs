//! The click that keeps the time.

use crate::level::amplitude;
use std::collections::VecDeque;
use std::f64::consts::TAU;

/// The loudest click, dBFS, and the usual one: quieter than the harp in front of the microphone.
const LOUDEST_DBFS: f64 = -12.0;
const USUAL_DBFS: f64 = -22.0;
/// The pitches with which a click begins, hertz: the first beat of a bar is the higher one.
const FIRST_HZ: f64 = 5_200.0;
const OTHER_HZ: f64 = 3_800.0;
/// From there the pitch falls by two octaves at a steady rate within this time, seconds. A room draws a click out for
/// longer than a note has to last, so that a click of a single pitch becomes a note. In simulated rooms (RT60 0.2 to
/// 0.8 s) one in three clicks at 1.9 kHz as loud as a C harp was heard as a note; of 4320 clicks that fall within 12 ms
/// one was, and of as many that fall within 20 ms twenty-two were.
const SWEEP_S: f64 = 0.012;
/// Level of a click between beats against that of a beat, decibels: clearly softer, and still heard beside a harp.
const BETWEEN_DB: f64 = -8.0;
/// Seconds in which a click rises, and in which it falls by a factor of e: 26 dB every 15 ms.
const RISE_S: f64 = 0.0003;
const FALL_S: f64 = 0.005;
/// It is over after this long, seconds.
const LENGTH_S: f64 = 0.06;

/// A beat to be clicked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beat {
    /// When, seconds from the first sample of the track.
    pub at_s: f64,
    /// How it stands out.
    pub accent: Accent,
}

/// How a click stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Accent {
    /// The first beat of a bar: higher.
    First,
    /// Another beat.
    Other,
    /// A note between two beats: softer.
    Between,
}

impl Accent {
    /// The pitch with which it begins, hertz.
    pub fn hz(self) -> f64 {
        self.sound().0
    }

    /// The pitch with which it begins, hertz, and its peak against the level of the track.
    fn sound(self) -> (f64, f64) {
        match self {
            Self::First => (FIRST_HZ, 1.0),
            Self::Other => (OTHER_HZ, 1.0),
            Self::Between => (OTHER_HZ, amplitude(BETWEEN_DB)),
        }
    }
}

/// Clicks at given moments, exact to the sample, with silence between them.
#[derive(Clone, Debug)]
pub struct ClickTrack {
    sample_rate: f64,
    amplitude: f64,
    /// The beats to come: their sample, and how each stands out.
    beats: VecDeque<(u64, Accent)>,
    /// What sounds: since which sample, and how it stands out.
    sounding: Option<(u64, Accent)>,
    position: u64,
}

impl ClickTrack {
    /// A track with clicks at these beats, which have to come in their order, at the usual level.
    pub fn new(sample_rate: f64, beats: &[Beat]) -> Self {
        let click = |beat: &Beat| {
            let sample = (beat.at_s.max(0.0) * sample_rate).round() as u64;
            (sample, beat.accent)
        };
        let beats = beats.iter().map(click).collect();
        Self { sample_rate, amplitude: amplitude(USUAL_DBFS), beats, sounding: None, position: 0 }
    }

    /// The same at another peak level, dBFS; at most −12.
    #[must_use]
    pub fn level(self, dbfs: f64) -> Self {
        Self { amplitude: amplitude(dbfs.min(LOUDEST_DBFS)), ..self }
    }

    /// Samples per second.
    pub fn sample_rate(&self) -> f64 {
        self.sample_rate
    }

    /// Renders the next samples; says how many, 0 when the last click has died away.
    pub fn fill(&mut self, out: &mut [f32]) -> usize {
        for (i, sample) in out.iter_mut().enumerate() {
            if self.beats.is_empty() && self.sounding.is_none() {
                return i;
            }
            *sample = self.next() as f32;
        }
        out.len()
    }

    fn next(&mut self) -> f64 {
        if let Some((_, accent)) = self.beats.pop_front_if(|(at, _)| *at <= self.position) {
            self.sounding = Some((self.position, accent));
        }
        let now = self.position;
        self.position += 1;
        let Some((since, accent)) = self.sounding else { return 0.0 };
        let t = (now - since) as f64 / self.sample_rate;
        if t >= LENGTH_S {
            self.sounding = None;
            return 0.0;
        }
        let (hz, peak) = accent.sound();
        self.amplitude * peak * shape(t, hz)
    }
}

/// A click of peak 1 at `t` seconds after its beginning.
fn shape(t: f64, hz: f64) -> f64 {
    // After the sweep, when the click is 21 dB below its peak, the pitch stays.
    let swept = t.min(SWEEP_S);
    let periods = hz * (swept - 0.375 * swept * swept / SWEEP_S + 0.25 * (t - swept));
    (t / RISE_S).min(1.0) * (-t / FALL_S).exp() * (TAU * periods).sin()
}
