//! The ears: from the newest sound to the set of voices that is told.

use super::choose::Chooser;
use super::octave::{Evidence, Octaves};
use super::points::Points;
use super::set::{HARMONICS, Set, Spot, hidden};
use super::settings::ReedSettings;
use super::shape::PADDING;
use super::told::{MAX_VOICES, Reed, Sounding, Voice};
use super::{attack, places};
use crate::SettingsError;
use crate::front::Front;
use crate::stream::Stream;

/// Time between two readings, seconds (rounded to whole samples of the working rate).
const HOP_S: f64 = 0.010;
/// Lengths of the windows, seconds: the longest that holds no attack is looked through.
const WINDOWS_S: [f64; 3] = [0.060, 0.044, 0.032];
/// How fast a reed scoops into its pitch after an attack: about 35 cents in a tenth of a second, as a share of the pitch
/// a second (measured on sampled harmonicas).
const SCOOP: f64 = 0.2;
/// How much of a change of the glide is believed from look to look.
const GLIDE_FOLLOWS: f64 = 0.5;
/// Below this nothing is believed to sound: power of a sine of −70 dBFS.
const SILENCE: f64 = 1.0e-7;
/// The highest frequency at which harmonics are followed, as a share of the working rate.
const HIGHEST: f64 = 0.42;
/// The highest frequency by which sets are judged, hertz, if no reed lies near it.
const BAND_HZ: f64 = 4_200.0;

/// Listens to one stream for the reeds that sound together. After `new` it allocates nothing; what it tells does not
/// depend on how the stream is cut up.
#[derive(Clone, Debug)]
pub struct Reeds {
    stream: Stream,
    scales: Vec<Scale>,
    places: Vec<Spot>,
    holes: Vec<[f64; 2]>,
    /// Samples per second of the working rate.
    rate: f64,
    /// What was told last.
    held: [Option<Voice>; MAX_VOICES],
    /// How fast pitches change upwards, shares of themselves a second, and how fast at least they may while a reed
    /// scoops into its pitch.
    glide: f64,
    scoop: f64,
    /// Looks since the last attack.
    age: usize,
    octaves: Octaves,
}

/// One length of the window.
#[derive(Clone, Debug)]
struct Scale {
    points: Points,
    chooser: Chooser,
    per_hertz: f64,
}

impl Scale {
    /// For a window of about this many seconds at a working rate, judging sets up to one frequency and looking up to another.
    fn new(window_s: f64, rate: f64, (band_hz, highest_hz): (f64, f64)) -> Self {
        let length = 2 * (window_s * rate / 2.0).round() as usize;
        let per_hertz = (PADDING * length) as f64 / rate;
        let points = Points::new(length, (highest_hz * per_hertz) as usize);
        let all = points.values.len();
        let chooser = Chooser::new(((band_hz * per_hertz) as usize).min(all), all);
        Self { points, chooser, per_hertz }
    }
}

impl Reeds {
    /// Ears for these settings.
    ///
    /// # Errors
    /// If the sample rate, the fundamental of a reed or the number of holes cannot be listened to.
    pub fn new(settings: ReedSettings) -> Result<Self, SettingsError> {
        settings.check()?;
        let holes = settings.holes;
        let front = Front::new(settings.sample_rate);
        let rate = settings.sample_rate / front.factor() as f64;
        let band = band(&holes).min(HIGHEST * rate);
        // Without a harp every peak that is looked at may become a place.
        let highest = if holes.is_empty() { band } else { HIGHEST * rate };
        let scale = |window_s: &f64| Scale::new(*window_s, rate, (band, highest));
        let scales: Vec<_> = WINDOWS_S.iter().map(scale).collect();
        let longest = scales.iter().map(|scale| scale.points.span()).max().unwrap_or(0);
        Ok(Self {
            stream: Stream::new(front, longest, (HOP_S * rate).round() as usize),
            scales,
            places: Vec::with_capacity(places::MOST),
            holes,
            rate,
            held: [None; MAX_VOICES],
            glide: 0.0,
            scoop: SCOOP,
            age: 0,
            octaves: Octaves::new(),
        })
    }

    /// Input samples between two readings.
    pub fn hop(&self) -> usize {
        self.stream.hop()
    }

    /// Forgets the stream; the next sample is number 0 of a new one.
    pub fn reset(&mut self) {
        self.stream.reset();
        (self.held, self.glide, self.scoop, self.age) = ([None; MAX_VOICES], 0.0, SCOOP, 0);
        self.octaves.reset();
    }

    /// Takes samples in (mono, full scale 1) and hands every reading that falls due to `sink`. What is not a number
    /// counts as silence.
    pub fn push(&mut self, samples: &[f32], mut sink: impl FnMut(Sounding)) {
        for sample in samples {
            if self.stream.take(*sample, |x| x) {
                sink(self.read());
            }
        }
    }

    fn read(&mut self) -> Sounding {
        let newest = self.stream.newest();
        let settled = attack::settled(newest);
        let steady = settled >= newest.len();
        self.age = if steady { self.age + 1 } else { (settled as f64 / (HOP_S * self.rate)) as usize };
        let fit = |scale: &Scale| scale.points.span() <= settled;
        let which = self.scales.iter().position(fit).unwrap_or(self.scales.len() - 1);
        self.scoop = if steady { (1.0 - GLIDE_FOLLOWS) * self.scoop } else { SCOOP };
        let scale = &mut self.scales[which];
        let seconds = scale.points.span() as f64 / self.rate;
        scale.points.look(newest, settled < scale.points.span(), self.scoop.max(self.glide.abs()) * seconds);
        let nothing = Sounding {
            time: self.stream.time(0.5 * scale.points.span() as f64),
            known: self.stream.arrived(),
            voices: [None; MAX_VOICES],
            unsure: [None; MAX_VOICES],
        };
        let (voices, unsure) = if scale.points.power.iter().copied().fold(0.0, f64::max) < SILENCE {
            self.octaves.reset();
            (nothing.voices, nothing.unsure)
        } else {
            self.hear(which)
        };
        self.glide += GLIDE_FOLLOWS * (glide(&self.held, &voices) / HOP_S - self.glide);
        self.held = voices;
        Sounding { voices, unsure, ..nothing }
    }

    fn hear(&mut self, which: usize) -> ([Option<Voice>; MAX_VOICES], [Option<Reed>; MAX_VOICES]) {
        let Scale { points, chooser, per_hertz } = &mut self.scales[which];
        // Measured with a harp only: whether it helps where none is known has not been tried.
        if !self.holes.is_empty() {
            self.octaves.uppers_hz().for_each(|hz| points.beat(hz * *per_hertz));
        }
        let most = if self.holes.is_empty() {
            places::of_scale(points, *per_hertz, &mut self.places);
            2
        } else {
            places::of_harp(points, &self.holes, *per_hertz, &mut self.places);
            MAX_VOICES
        };
        let held = held(&self.held, &self.places, *per_hertz);
        let mut set = chooser.choose(points, &self.places, most, &held);
        let mut unsure = [None; MAX_VOICES];
        if most > set.count && set.count > 0 {
            let harmonics = chooser.harmonics(points, &set);
            let heard = Evidence { points, per_hertz: *per_hertz, harmonics: &harmonics, age: self.age };
            let mut free = unsure.iter_mut();
            self.octaves.add(&mut set, &self.places, &heard, |reed| {
                if let Some(free) = free.next() {
                    *free = Some(reed);
                }
            });
        }
        let mut voices = [None; MAX_VOICES];
        for (i, (voice, place)) in voices.iter_mut().zip(set.voices()).enumerate() {
            *voice = Some(Voice {
                reed: place.reed,
                bent: place.bent,
                hz: place.at / *per_hertz,
                level_dbfs: (10.0 * set.power(i).max(1.0e-12).log10()) as f32,
            });
        }
        let level = |voice: &Option<Voice>| voice.map_or(f32::NEG_INFINITY, |voice| voice.level_dbfs);
        voices.sort_unstable_by(|a, b| level(b).total_cmp(&level(a)));
        (voices, unsure)
    }
}

/// By how much the strongest voice that was there before has changed its pitch, as a share of it.
fn glide(before: &[Option<Voice>], now: &[Option<Voice>]) -> f64 {
    now.iter()
        .flatten()
        .find_map(|voice| {
            let last =
                before.iter().flatten().find(|last| last.reed == voice.reed && voice.reed.is_some())?;
            Some((voice.hz / last.hz).ln())
        })
        .unwrap_or(0.0)
}

/// The voices that were told last as a set of places; empty if one of them is no place any more. The upper reed of an
/// octave is left out, since no fit can tell it.
fn held(voices: &[Option<Voice>; MAX_VOICES], places: &[Spot], per_hertz: f64) -> Set {
    let mut set = Set::EMPTY;
    let mut rising = *voices;
    let pitch = |voice: &Option<Voice>| voice.map_or(f64::INFINITY, |voice| voice.hz);
    rising.sort_unstable_by(|a, b| pitch(a).total_cmp(&pitch(b)));
    for voice in rising.iter().flatten() {
        let at = voice.hz * per_hertz;
        let near = |place: &&Spot| {
            place.reed == voice.reed && place.bent == voice.bent && (place.low..=place.high).contains(&at)
        };
        let Some(place) = places.iter().find(near) else { return Set::EMPTY };
        if set.voices().iter().any(|other| hidden(other.at, at)) {
            continue;
        }
        set = set.with(Spot { at, ..*place });
    }
    set
}

/// The frequencies that are looked at, hertz: 24 harmonics of the lowest reed, or what the highest one needs.
fn band(holes: &[[f64; 2]]) -> f64 {
    let all = || holes.iter().flatten().copied();
    let (lowest, highest) = (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max));
    (HARMONICS as f64 * lowest).min(BAND_HZ).max(1.4 * highest)
}
