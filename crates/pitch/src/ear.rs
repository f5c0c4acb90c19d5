//! The ear: a stream of samples in, a reading a hop out.

use crate::front::Front;
use crate::stream::Stream;
use crate::track::Tracker;
use crate::{Reading, Settings, SettingsError};

/// Time between two readings, seconds (rounded to whole samples of the working rate).
const HOP_S: f64 = 0.0025;
/// The stretch whose level is told, seconds.
const LEVEL_S: f64 = 0.010;
/// The lowest level that is told, decibels.
const FLOOR_DBFS: f32 = -120.0;

/// Listens to one stream. After `new` it allocates nothing; the readings do not depend on how the stream is cut up.
#[derive(Clone, Debug)]
pub struct Ear {
    stream: Stream,
    tracker: Tracker,
    level: usize,
}

impl Ear {
    /// An ear for these settings.
    ///
    /// # Errors
    /// If the sample rate or the range cannot be listened to.
    pub fn new(settings: Settings) -> Result<Self, SettingsError> {
        settings.check()?;
        let front = Front::new(settings.sample_rate);
        let rate = settings.sample_rate / front.factor() as f64;
        let hop = (HOP_S * rate).round() as usize;
        let tracker = Tracker::new(rate, hop, settings);
        Ok(Self {
            stream: Stream::new(front, tracker.span(), hop),
            tracker,
            level: (LEVEL_S * rate).round() as usize,
        })
    }

    /// Forgets the stream; the next sample is number 0 of a new one.
    pub fn reset(&mut self) {
        self.stream.reset();
        self.tracker.reset();
    }

    /// Takes samples in (mono, full scale 1) and hands every reading that falls due to `sink`. What is not a number
    /// counts as silence.
    pub fn push(&mut self, samples: &[f32], sink: impl FnMut(Reading)) {
        self.push_cleaned(samples, |x| x, sink);
    }

    /// The same, but what is listened to is what `clean` makes of each sample of the working rate: a place for what is
    /// known not to be the player. It is called once for every `factor` samples, always with the same one of them,
    /// however the stream is cut up.
    pub fn push_cleaned(
        &mut self,
        samples: &[f32],
        mut clean: impl FnMut(f32) -> f32,
        mut sink: impl FnMut(Reading),
    ) {
        for sample in samples {
            if self.stream.take(*sample, &mut clean) {
                sink(self.read());
            }
        }
    }

    /// Samples of the input to one of the working rate, at which [`push_cleaned`](Ear::push_cleaned) hands them to `clean`.
    pub fn factor(&self) -> usize {
        self.stream.factor()
    }

    fn read(&mut self) -> Reading {
        let history = self.stream.newest();
        let newest = &history[history.len() - self.level..];
        let power = newest.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / newest.len() as f64;
        let heard = self.tracker.frame(history, power);
        let ago = heard.pitch.map_or(0.5 * self.level as f64, |pitch| pitch.lag);
        Reading {
            time: self.stream.time(ago),
            known: self.stream.arrived(),
            hz: heard.pitch.map(|pitch| pitch.frequency * self.tracker.rate()),
            sigma_cents: heard.pitch.map_or(0.0, |pitch| {
                (pitch.uncertainty / pitch.frequency * 1_200.0 / std::f64::consts::LN_2) as f32
            }),
            clarity: heard.clarity as f32,
            level_dbfs: ((10.0 * (2.0 * power).log10()) as f32).max(FLOOR_DBFS),
            onset: heard.onset,
        }
    }
}
