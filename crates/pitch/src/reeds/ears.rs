//! The ears: from the newest sound to the set of voices that is told.

use super::choose::Chooser;
use super::octave::{self, Follower, SETTLES_S};
use super::points::Points;
use super::set::{HARMONICS, Set, Spot};
use super::settings::ReedSettings;
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
/// a second (measured on sampled harmonicas). It falls by the factor e in `SETTLES_S`.
const SCOOP: f64 = 0.2;
/// How much of a change of the glide is believed from frame to frame.
const GLIDE_FOLLOWS: f64 = 0.5;
/// Below this nothing is believed to sound: power of a sine of −70 dBFS.
const SILENCE: f64 = 1.0e-7;
/// The highest frequency by which sets are judged, hertz: 24 harmonics of the lowest reed of most harps. With all that
/// is followed more chords of five are told wrong.
const BAND_HZ: f64 = 5_100.0;

/// Listens to one stream for the reeds that sound together. After `new` it allocates nothing; what it tells does not
/// depend on how the stream is cut up.
#[derive(Clone, Debug)]
pub struct Reeds {
    stream: Stream,
    windows: Vec<Points>,
    chooser: Chooser,
    places: Vec<Spot>,
    holes: Vec<[f64; 2]>,
    /// Samples per second of the working rate.
    rate: f64,
    /// The set that was fitted last.
    held: Set,
    /// How fast pitches change upwards, shares of themselves a second.
    glide: f64,
    /// Time since the last attack, seconds.
    age_s: f64,
    /// What is known of the octave above the voice of each place.
    followers: Vec<Follower>,
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
        let windows: Vec<_> =
            WINDOWS_S.iter().map(|seconds| Points::new(*seconds, rate, band(&holes))).collect();
        Ok(Self {
            stream: Stream::new(front, windows[0].span(), (HOP_S * rate).round() as usize),
            chooser: Chooser::new(windows[0].values.len()),
            windows,
            places: Vec::with_capacity(places::MOST),
            holes,
            rate,
            held: Set::default(),
            glide: 0.0,
            age_s: 0.0,
            followers: vec![Follower::default(); places::MOST],
        })
    }

    /// Forgets the stream; the next sample is number 0 of a new one.
    pub fn reset(&mut self) {
        self.stream.reset();
        self.age_s = 0.0;
        self.hear_nothing();
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
        self.age_s = if steady { self.age_s + HOP_S } else { settled as f64 / self.rate };
        let fits = |points: &Points| points.span() <= settled;
        let which = self.windows.iter().position(fits).unwrap_or(self.windows.len() - 1);
        let points = &mut self.windows[which];
        let seconds = points.span() as f64 / self.rate;
        let glide = self.glide.abs().max(SCOOP * (-self.age_s / SETTLES_S).exp());
        points.look(newest, settled < points.span(), glide * seconds);
        let (time, known) = (self.stream.time(0.5 * points.span() as f64), self.stream.arrived());
        if points.power.iter().copied().fold(0.0, f64::max) < SILENCE {
            self.hear_nothing();
            return Sounding::new(time, known, []);
        }
        let (set, unsure) = self.hear(which);
        let voice = |voice: &Spot| Voice {
            reed: voice.reed,
            bent: voice.bent,
            hz: voice.at,
            level_dbfs: (10.0 * voice.power().max(1.0e-12).log10()) as f32,
        };
        Sounding::new(time, known, set.voices().iter().map(voice)).with_unsure(unsure.into_iter().flatten())
    }

    fn hear_nothing(&mut self) {
        (self.held, self.glide) = (Set::default(), 0.0);
        self.followers.fill(Follower::default());
    }

    /// The set that sounds, and reeds of which it cannot be told whether they do.
    fn hear(&mut self, which: usize) -> (Set, [Option<Reed>; MAX_VOICES]) {
        let points = &mut self.windows[which];
        let octaves = self.held.voices().iter().filter(|voice| self.followers[voice.place].told);
        octaves.for_each(|low| points.beat(2.0 * low.at));
        let most = if self.holes.is_empty() {
            places::of_scale(points, &mut self.places);
            2
        } else {
            places::of_harp(points, &self.holes, &mut self.places);
            MAX_VOICES
        };
        let mut set = self.chooser.choose(points, &self.places, most, &self.held);
        self.glide += GLIDE_FOLLOWS * (glide(&self.held, &set) / HOP_S - self.glide);
        self.held = set;
        let mut unsure = [None; MAX_VOICES];
        if most > set.count {
            let harmonics = self.chooser.fitter.harmonics(points, &set);
            unsure = octave::tell(&mut self.followers, &mut set, &self.places, &harmonics, self.age_s);
        }
        (set, unsure)
    }
}

/// By how much the strongest voice has changed its pitch, as a share of it; nothing if it was not there before.
fn glide(before: &Set, now: &Set) -> f64 {
    let strongest = now.voices().iter().max_by(|a, b| a.power().total_cmp(&b.power()));
    let change = |now: &Spot| {
        before.voices().iter().find(|last| last.place == now.place).map(|last| (now.at / last.at).ln())
    };
    strongest.and_then(change).unwrap_or(0.0)
}

/// The frequencies that are looked at, hertz: 24 harmonics of the lowest reed, or what the highest one needs.
fn band(holes: &[[f64; 2]]) -> f64 {
    let all = || holes.iter().flatten().copied();
    let (lowest, highest) = (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max));
    (HARMONICS as f64 * lowest).min(BAND_HZ).max(1.4 * highest)
}
