//! Which reeds sound together, and how loudly.
//!
//! One window of the newest sound is read as a sum of harmonic series. The harp says which series there can be: reeds
//! within half a semitone of their pitch or bent below it, of one breath, in holes under one mouth. A search adds
//! reed after reed as long as each explains more than it costs (`choose`); what a set explains is found by least
//! squares (`fit`). Without a harp the candidates are the peaks of the spectrum and their whole parts (`places`).

mod banded;
mod choose;
mod fit;
mod octave;
mod places;
mod points;
mod shape;
#[cfg(test)]
mod tests;

use crate::SettingsError;
use crate::front::Front;
use crate::stream::Stream;
use choose::Chooser;
use points::Points;
use shape::PADDING;

/// The most voices that are told.
pub const MAX_VOICES: usize = 4;
/// The most holes of a harp.
const HOLES: usize = 16;
/// Time between two readings, seconds (rounded to whole samples of the working rate).
const HOP_S: f64 = 0.010;
/// Length of the window, seconds.
const WINDOW_S: f64 = 0.060;
/// Below this nothing is believed to sound: power of a sine of −70 dBFS.
const SILENCE: f64 = 1.0e-7;
/// The highest frequency that is looked at, hertz, if no reed lies near it.
const BAND_HZ: f64 = 4_200.0;
/// The range of fundamentals where no harp is known, hertz.
const RANGE_HZ: (f64, f64) = (80.0, 3_400.0);

/// The reeds of a harp: blow and draw of each hole.
type Harp = [[f64; 2]];

/// How reeds are listened to.
#[derive(Clone, Debug, PartialEq)]
pub struct ReedSettings {
    /// Samples per second, 16 000 to 192 000.
    pub sample_rate: f64,
    /// The fundamentals of the blow and the draw reed of each hole, from hole 1 upwards, hertz; at most 16 holes.
    /// Empty if the harp is unknown; then the two strongest pitches are told.
    pub holes: Vec<[f64; 2]>,
}

/// A reed of the harp.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reed {
    /// Its hole, counted from 1.
    pub hole: u8,
    /// True for the draw reed, false for the blow reed.
    pub draw: bool,
}

/// One voice of what sounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Voice {
    /// The reed that sounds it; `None` where no harp is known.
    pub reed: Option<Reed>,
    /// True if the reed is bent: more than half a semitone below its natural pitch.
    pub bent: bool,
    /// Its fundamental, hertz.
    pub hz: f64,
    /// Its level over the window, decibels relative to a full-scale sine.
    pub level_dbfs: f32,
}

/// What sounds together at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sounding {
    /// The sample in the middle of the stretch that was heard.
    pub time: u64,
    /// Samples taken in until this was known.
    pub known: u64,
    voices: [Option<Voice>; MAX_VOICES],
}

impl Sounding {
    /// The voices, the strongest first; none in silence.
    pub fn voices(&self) -> impl Iterator<Item = &Voice> {
        self.voices.iter().flatten()
    }
}

impl Reed {
    /// The reed of a hole counted from 0.
    fn new(index: usize, draw: bool) -> Option<Self> {
        Some(Self { hole: u8::try_from(index + 1).ok()?, draw })
    }

    fn hole(self) -> usize {
        usize::from(self.hole)
    }
}

/// Where a voice may lie, in points of the spectrum.
#[derive(Clone, Copy, Debug)]
struct Place {
    at: f64,
    low: f64,
    high: f64,
    reed: Option<Reed>,
    bent: bool,
    /// What it costs to believe in it, nats.
    cost: f64,
    /// How far it rises above the noise, nats.
    salience: f64,
}

impl Place {
    const NONE: Self =
        Self { at: 0.0, low: 0.0, high: 0.0, reed: None, bent: false, cost: 0.0, salience: 0.0 };
}

/// Listens to one stream for the reeds that sound together. After `new` it allocates nothing; what it tells does not
/// depend on how the stream is cut up.
#[derive(Clone, Debug)]
pub struct Reeds {
    stream: Stream,
    points: Points,
    chooser: Chooser,
    places: Vec<Place>,
    holes: Vec<[f64; 2]>,
    per_hertz: f64,
}

impl Reeds {
    /// Ears for these settings.
    ///
    /// # Errors
    /// If the sample rate or the fundamental of a reed cannot be listened to.
    pub fn new(settings: ReedSettings) -> Result<Self, SettingsError> {
        if !(16_000.0..=192_000.0).contains(&settings.sample_rate) {
            return Err(SettingsError::SampleRate(settings.sample_rate));
        }
        let mut holes = settings.holes;
        holes.truncate(HOLES);
        if let Some(hz) = holes.iter().flatten().find(|hz| !(50.0..=5_000.0).contains(*hz)) {
            return Err(SettingsError::Harp(*hz));
        }
        let front = Front::new(settings.sample_rate);
        let rate = settings.sample_rate / front.factor() as f64;
        let length = 2 * (WINDOW_S * rate / 2.0).round() as usize;
        let per_hertz = (PADDING * length) as f64 / rate;
        let count = (band(&holes).min(0.42 * rate) * per_hertz) as usize;
        let points = Points::new(length, count);
        Ok(Self {
            stream: Stream::new(front, points.span(), (HOP_S * rate).round() as usize),
            chooser: Chooser::new(count),
            points,
            places: Vec::with_capacity(places::MOST),
            holes,
            per_hertz,
        })
    }

    /// Input samples between two readings.
    pub fn hop(&self) -> usize {
        self.stream.hop()
    }

    /// Forgets the stream; the next sample is number 0 of a new one.
    pub fn reset(&mut self) {
        self.stream.reset();
        self.points.reset();
    }

    /// Takes samples in (mono, full scale 1) and hands every reading that falls due to `sink`. What is not a number
    /// counts as silence.
    pub fn push(&mut self, samples: &[f32], mut sink: impl FnMut(Sounding)) {
        for sample in samples {
            if self.stream.take(*sample) {
                sink(self.read());
            }
        }
    }

    fn read(&mut self) -> Sounding {
        self.points.look(self.stream.newest());
        let nothing = Sounding {
            time: self.stream.time(0.5 * self.points.span() as f64),
            known: self.stream.arrived(),
            voices: [None; MAX_VOICES],
        };
        if self.points.power.iter().copied().fold(0.0, f64::max) < SILENCE {
            return nothing;
        }
        Sounding { voices: self.hear(), ..nothing }
    }

    fn hear(&mut self) -> [Option<Voice>; MAX_VOICES] {
        let most = if self.holes.is_empty() {
            let range = (RANGE_HZ.0 * self.per_hertz, RANGE_HZ.1 * self.per_hertz);
            places::of_peaks(&self.points, range, &mut self.places);
            2
        } else {
            places::of_harp(&self.points, &self.holes, self.per_hertz, &mut self.places);
            MAX_VOICES
        };
        let mut set = self.chooser.choose(&self.points, &self.places, most);
        octave::complete(&mut set, &self.places);
        let mut voices = [None; MAX_VOICES];
        for (i, (voice, place)) in voices.iter_mut().zip(set.voices()).enumerate() {
            *voice = Some(Voice {
                reed: place.reed,
                bent: place.bent,
                hz: place.at / self.per_hertz,
                level_dbfs: (10.0 * set.power(i).max(1.0e-12).log10()) as f32,
            });
        }
        let level = |voice: &Option<Voice>| voice.map_or(f32::NEG_INFINITY, |voice| voice.level_dbfs);
        voices.sort_unstable_by(|a, b| level(b).total_cmp(&level(a)));
        voices
    }
}

/// The frequencies that are looked at, hertz: 24 harmonics of the lowest reed, or what the highest one needs.
fn band(holes: &Harp) -> f64 {
    let all = || holes.iter().flatten().copied();
    let (lowest, highest) = (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max));
    (fit::HARMONICS as f64 * lowest).min(BAND_HZ).max(1.4 * highest)
}
