//! Readings made by hand: what a perfect ear would say of a given pitch curve.

use layout::{Harp, HarpKey, Way};
use pitch::Reading;
use scoring::{Judge, Target, Tolerance, Verdict};

/// Samples a second.
pub(crate) const RATE: f64 = 48_000.0;
/// Samples between two readings.
pub(crate) const HOP: u64 = 256;

/// A C harp.
pub(crate) fn c_harp() -> Harp {
    Harp::richter("C".parse::<HarpKey>().unwrap())
}

/// A way of the C harp by hole, breath and semitones of bend (`o` for an overbend): `-3''`, `8'`, `6o`.
pub(crate) fn way(tab: &str) -> Way {
    use layout::{Breath, Technique};
    let breath = if tab.starts_with('-') { Breath::Draw } else { Breath::Blow };
    let digits: String = tab.chars().filter(char::is_ascii_digit).collect();
    let bends = tab.chars().filter(|c| *c == '\'').count() as u8;
    let technique = match (tab.ends_with('o'), bends) {
        (true, _) => Technique::Overbend,
        (false, 0) => Technique::Natural,
        (false, depth) => Technique::Bend(depth),
    };
    Way::new(digits.parse().unwrap(), breath, technique)
}

/// A pitch curve in the making, in cents from a reference frequency.
#[derive(Clone)]
pub(crate) struct Take {
    reference_hz: f64,
    readings: Vec<Reading>,
}

impl Take {
    /// An empty take whose cents count from where `target` is in tune.
    pub(crate) fn at(harp: &Harp, target: &str) -> Self {
        Self { reference_hz: harp.hz(way(target)).unwrap(), readings: Vec::new() }
    }

    /// `seconds` of the pitch that `cents` gives for the time since its beginning; `None` is silence.
    pub(crate) fn curve(mut self, seconds: f64, cents: impl Fn(f64) -> Option<f64>) -> Self {
        let hops = (seconds * RATE / HOP as f64).round() as u64;
        for hop in 0..hops {
            let hz = cents((hop * HOP) as f64 / RATE).map(|c| self.reference_hz * (c / 1200.0).exp2());
            let time = self.readings.len() as u64 * HOP;
            self.readings.push(Reading {
                time,
                known: time + 1024,
                hz,
                sigma_cents: 0.1,
                clarity: if hz.is_some() { 0.99 } else { 0.1 },
                level_dbfs: if hz.is_some() { -20.0 } else { -80.0 },
                onset: hop == 0 && hz.is_some(),
            });
        }
        self
    }

    /// Silence.
    pub(crate) fn rest(self, seconds: f64) -> Self {
        self.curve(seconds, |_| None)
    }

    /// One pitch.
    pub(crate) fn hold(self, seconds: f64, cents: f64) -> Self {
        self.curve(seconds, move |_| Some(cents))
    }

    /// A straight slide.
    pub(crate) fn slide(self, seconds: f64, from: f64, to: f64) -> Self {
        self.curve(seconds, move |t| Some(from + (to - from) * t / seconds))
    }

    /// A sine vibrato of `depth` cents either way.
    pub(crate) fn vibrato(self, seconds: f64, cents: f64, depth: f64, hz: f64) -> Self {
        self.curve(seconds, move |t| Some(cents + depth * (std::f64::consts::TAU * hz * t).sin()))
    }

    /// The readings as `change` leaves them, which is handed each reading with its index.
    pub(crate) fn changed(mut self, change: impl Fn(usize, &mut Reading)) -> Self {
        for (index, reading) in self.readings.iter_mut().enumerate() {
            change(index, reading);
        }
        self
    }

    /// Every `n`th reading.
    pub(crate) fn every(mut self, n: usize) -> Self {
        self.readings = self.readings.into_iter().step_by(n).collect();
        self
    }

    /// Its readings.
    pub(crate) fn readings(&self) -> &[Reading] {
        &self.readings
    }
}

/// The verdict on a take, and the seconds at which it was given.
pub(crate) fn judge(
    harp: &Harp,
    target: Target,
    tolerance: Tolerance,
    take: &Take,
) -> Option<(f64, Verdict)> {
    let mut judge = Judge::new(harp, target, tolerance, RATE).expect("the harp can play it");
    take.readings()
        .iter()
        .find_map(|reading| judge.hear(reading).map(|verdict| (reading.time as f64 / RATE, verdict)))
}
