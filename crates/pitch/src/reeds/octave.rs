//! Whether a reed sounds an octave above another: every harmonic of the upper one falls onto one of the lower.
//!
//! Two things tell. What one reed sounds repeats itself with its period, so that each of its harmonics lies at its number
//! times the fundamental, and all of them grow and fade alike (a Fourier series; de Cheveigné & Kawahara's "periodic"
//! signal, J. Acoust. Soc. Am. 111 (2002)). Two reeds are never exactly an octave apart: the even harmonics, in which both
//! sound, turn and swell within a window against the odd ones, the more the higher they are. Each of a few mistunings is
//! weighed against one reed alone by the likelihood of the even harmonics (a Bayes factor: Kass & Raftery, J. Am. Stat.
//! Assoc. 90 (1995), from memory); how far a lone reed's harmonics stray is taken from the odd ones of the same window. And
//! the even harmonics stand out from the odd ones, or stand otherwise than when the lower reed was heard alone (`timbre`).

use super::fit::{Harmonic, Harmonics};
use super::points::Points;
use super::set::{HARMONICS, SAME, STANDS_OUT, Set, Spot, gaps, reaches, standing_out};
use super::timbre::{self, Heard, Levels, Timbres};
use super::told::{MAX_VOICES, Reed};
use rustfft::num_complex::Complex;
use std::f64::consts::TAU;

/// And where no harp is known, before an octave that was told is told no longer.
const STILL_STANDS_OUT: f64 = 5.0;
/// And without a harp an octave is one within this, as a share of the ratio (60 cents).
const WITHIN: f64 = 0.035;
/// Looks before an upper reed that cannot be told counts as one whose lines may beat with others.
const AT_LEAST: usize = 4;
/// A voice that is not told for so many looks is followed no longer.
const GONE: usize = 5;
/// Lines closer than this to one of another voice tell nothing, points: half the width of a line.
const CLEAR: f64 = 4.0;
/// A harmonic whose phase noise may have moved by more than this tells nothing, square of radians.
const UNCLEAR: f64 = 0.1;
/// By how much an octave may be mistuned, cents: nothing, and each about twice the one before.
const MISTUNED: [f64; 7] = [0.0, 0.7, 1.5, 3.0, 6.0, 12.0, 24.0];
/// How far a harmonic in which both reeds sound turns, against how far the upper reed turns alone; and the most, radians.
const TURNS: f64 = 0.7;
const TURNS_MOST: f64 = 1.5;
/// How far the harmonics of a lone reed stray from each other within a window, radians: once it has settled, and what is
/// added after an attack, which falls to the third in so many looks (measured on sampled harmonicas).
const STRAYS: f64 = 0.015;
const STRAYS_AT_FIRST: f64 = 0.37;
const SETTLES: f64 = 3.0;
/// And how far each odd harmonic may stray where the drift of the fundamental is read off them, radians by its number.
const STRAYS_PER_HARMONIC: f64 = 0.001;
/// The root of the sum of the squared slopes of a line (`shape`), one over points.
const SLOPE: f64 = 0.77;
/// As how many odd harmonics this counts.
const EXPECTED: f64 = 2.0;
/// Degrees of freedom of Student's distribution, whose tails outliers have (Lange, Little & Taylor, J. Am. Stat. Assoc. 84
/// (1989), from memory).
const FREEDOM: f64 = 4.0;
/// A look that overlaps with the ones before says this share of what it would say alone.
const NEW: f64 = 0.4;
/// What is kept of what was learned from look to look, and the most that is believed, nats: reeds come and go.
const KEPT: f64 = 0.99;
const MOST: f64 = 12.0;
/// How much of a look's spectrum is believed.
const FOLLOWS: f64 = 0.3;
/// A sound is that of a lone reed if that is doubted at less than one of so many looks.
const RARELY: usize = 4;
/// What it takes to tell an octave of a harp and without a harp (where nothing is marked as unsure, so that the likelier is
/// told), how much less it takes to keep on telling it, and what is left where it cannot be ruled out, nats.
const TOLD: (f64, f64) = (0.7, 0.0);
const STILL_TOLD: f64 = 0.7;
const RULED_OUT: f64 = -1.0;

/// One voice at one look.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look {
    /// The fundamental, hertz.
    hz: f64,
    harmonics: [Harmonic; HARMONICS],
    /// The share of the window within which a drift moves a harmonic as far as noise moves its phasor, seconds.
    within_s: f64,
    /// How far noise may have moved the logarithm of each phasor, squared; infinite where another voice has a line.
    variance: [f64; HARMONICS],
}

impl Look {
    fn of(set: &Set, voice: usize, heard: &Evidence<'_>) -> Self {
        let at = set.voices[voice].at;
        let harmonics = heard.harmonics[voice];
        let clear = clear(set, voice);
        let variance = std::array::from_fn(|i| {
            let point = (at * (i + 1) as f64) as usize;
            let floor = heard.points.floor.get(point).copied().unwrap_or(f64::INFINITY);
            if clear[i] { floor / harmonics[i].phasor.norm_sqr().max(1.0e-14) } else { f64::INFINITY }
        });
        let within_s = SLOPE * heard.per_hertz / TAU;
        Self { hz: at / heard.per_hertz, harmonics, within_s, variance }
    }

    /// The levels of the harmonics that can be told.
    fn levels(&self) -> Levels {
        let clear = |i: usize| (self.variance[i] < UNCLEAR).then(|| self.harmonics[i].phasor.norm());
        timbre::levels(&std::array::from_fn(clear))
    }
}

/// How the harmonics of a voice moved within a window.
struct Moved {
    /// The time in which they did, seconds.
    apart_s: f64,
    hz: f64,
    /// Square of how far each harmonic is from what the odd ones let expect, radians and nepers, and how far noise alone
    /// moves it; `None` where that cannot be told.
    off: [Option<(f64, f64)>; HARMONICS],
}

impl Moved {
    /// Sets how far each harmonic turned and grew, radians and nepers, against what suits the odd ones best; `None` if none
    /// of those can be told.
    fn within(now: &Look) -> Option<Self> {
        let moved = std::array::from_fn(|i| {
            // Half of the power of noise turns a harmonic, and the other half makes it grow.
            let drift = now.harmonics[i].drift * SLOPE;
            (now.variance[i] < UNCLEAR).then_some((drift.re, -drift.im, 0.5 * now.variance[i]))
        });
        let (mut turn, mut turns, mut growth, mut grows) = (0.0, 0.0, 0.0, 0.0);
        for (i, (turned, grown, variance)) in odd(&moved) {
            let k = (i + 1) as f64;
            let weight = 1.0 / (variance + STRAYS * STRAYS + (STRAYS_PER_HARMONIC * k).powi(2));
            (turn, turns) = (turn + weight * k * turned, turns + weight * k * k);
            let weight = 1.0 / (variance + 0.01);
            (growth, grows) = (growth + weight * grown, grows + weight);
        }
        let off = std::array::from_fn(|i| {
            let (turned, grown, variance): (f64, f64, f64) = moved[i]?;
            let k = (i + 1) as f64;
            let stray = Complex::from_polar(1.0, turned - k * turn / turns).arg();
            let grown = (grown - growth / grows).clamp(-TURNS_MOST, TURNS_MOST);
            Some((0.5 * (stray * stray + grown * grown), 2.0 * variance + k * k / turns))
        });
        (turns > 0.0).then_some(Self { apart_s: now.within_s, hz: now.hz, off })
    }

    /// What the even harmonics say for an octave of each mistuning and against one reed, nats. `strays` is how far the
    /// harmonics of a lone reed are expected to stray, radians.
    fn says(&self, strays: f64) -> [f64; MISTUNED.len()] {
        let (sum, count) =
            odd(&self.off).fold((0.0, 0.0), |(sum, count), (_, (off, _))| (sum + off, count + 1.0));
        let strays = (EXPECTED * strays * strays + sum) / (EXPECTED + f64::max(count - 1.0, 0.0));
        let likelihood = |off: f64, variance: f64| {
            -(FREEDOM + 1.0) * (2.0 * off / (FREEDOM * variance)).ln_1p() / 2.0 - variance.ln()
        };
        let mut said = [0.0; MISTUNED.len()];
        for (i, (off, variance)) in even(&self.off) {
            let lone = strays + variance;
            for (said, cents) in said.iter_mut().zip(MISTUNED) {
                let beat_hz = (i + 1) as f64 * self.hz * ((cents / 1_200.0).exp2() - 1.0);
                let turned = (TURNS * TAU * beat_hz * self.apart_s).min(TURNS_MOST);
                *said += likelihood(off, lone + turned * turned) - likelihood(off, lone);
            }
        }
        said
    }
}

/// What is known of the odd harmonics, and of the even ones; the fundamental is number 0.
fn odd<T: Copy>(all: &[Option<T>; HARMONICS]) -> impl Iterator<Item = (usize, T)> {
    all.iter().enumerate().step_by(2).filter_map(|(i, one)| Some((i, (*one)?)))
}

fn even<T: Copy>(all: &[Option<T>; HARMONICS]) -> impl Iterator<Item = (usize, T)> {
    all.iter().enumerate().skip(1).step_by(2).filter_map(|(i, one)| Some((i, (*one)?)))
}

/// Follows the harmonics of one voice.
#[derive(Clone, Debug)]
struct Follower {
    reed: Option<Reed>,
    /// The pitch that the reed is meant to have, hertz.
    nominal_hz: f64,
    /// The fundamental of the upper reed, hertz, unless it is silent.
    upper_hz: Option<f64>,
    looks: usize,
    /// Looks since it was last there.
    unseen: usize,
    /// What speaks for an octave of each mistuning and against one reed, nats, and what the spectrum says.
    beats: [f64; MISTUNED.len()],
    spectrum: f64,
    told: bool,
    /// How it sounds, at how many looks an octave was likelier than this reed alone, and at how many others sounded along.
    heard: Heard,
    doubted: usize,
    others: usize,
}

impl Follower {
    fn new(reed: Option<Reed>, nominal_hz: f64) -> Self {
        Self {
            reed,
            nominal_hz,
            upper_hz: None,
            looks: 0,
            unseen: 0,
            beats: [0.0; MISTUNED.len()],
            spectrum: 0.0,
            told: false,
            heard: Heard::NOTHING,
            doubted: 0,
            others: 0,
        }
    }

    fn is_of(&self, reed: Option<Reed>, nominal_hz: f64) -> bool {
        self.reed == reed && (self.nominal_hz / nominal_hz - 1.0).abs() < WITHIN
    }

    /// Takes a look; `spectrum` is what its spectrum says for an octave, nats.
    fn follow(&mut self, now: &Look, age: usize, spectrum: f64) {
        if let Some(moved) = Moved::within(now) {
            let strays = STRAYS + STRAYS_AT_FIRST * (-(age as f64) / SETTLES).exp();
            for (beats, said) in self.beats.iter_mut().zip(moved.says(strays)) {
                *beats = (KEPT * *beats + NEW * said).clamp(-MOST, MOST);
            }
        }
        let share = (1.0 / (self.looks + 1) as f64).max(FOLLOWS);
        self.spectrum += share * (spectrum - self.spectrum);
        self.looks += 1;
    }

    /// What speaks for an octave, nats: all mistunings are as likely.
    fn odds(&self) -> f64 {
        let mean = self.beats.iter().map(|nats| nats.exp()).sum::<f64>() / MISTUNED.len() as f64;
        mean.ln() + self.spectrum
    }
}

/// Tells the upper reeds of octaves.
#[derive(Clone, Debug)]
pub(super) struct Octaves {
    followers: Vec<Option<Follower>>,
    timbres: Timbres,
}

/// What the fit says about the harmonics of all voices.
pub(super) struct Evidence<'a> {
    pub(super) points: &'a Points,
    pub(super) per_hertz: f64,
    pub(super) harmonics: &'a Harmonics,
    /// Looks since the last attack.
    pub(super) age: usize,
}

/// What can be said of the upper reed of an octave.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Upper {
    Sounds,
    Silent,
    Unsure,
}

impl Octaves {
    pub(super) fn new() -> Self {
        Self { followers: vec![None; MAX_VOICES], timbres: Timbres::new() }
    }

    /// The reed an octave above a voice of a set that may be hidden under it: the voice, as the reed of its pitch that
    /// reaches the upper one, and where that would lie; of several the one that leaves the fewest holes silent.
    pub(super) fn candidate(set: &Set, voice: usize, places: &[Spot]) -> Option<(Spot, Spot)> {
        let low = set.voices[voice];
        let near = |place: &Spot, times: f64| {
            let within = if place.reed.is_some() { SAME } else { WITHIN };
            !place.bent && (place.nominal() / low.nominal() / times - 1.0).abs() < within
        };
        let reaches_others = |place: &Spot| {
            let mut others = set.voices().iter().enumerate().filter(|(other, _)| *other != voice);
            others.all(|(_, other)| reaches(place, other))
        };
        let lows = places.iter().filter(|place| near(place, 1.0) && reaches_others(place));
        let pairs = lows.flat_map(|same| {
            let uppers = places.iter().filter(|place| near(place, 2.0) && reaches_others(place));
            uppers.filter(|upper| reaches(upper, same)).map(|upper| (Spot { at: low.at, ..*same }, *upper))
        });
        pairs.filter(|_| !low.bent).min_by_key(|(low, upper)| gaps(&set.replaced(voice, *low).with(*upper)))
    }

    /// The fundamentals of the upper reeds that may sound, hertz.
    pub(super) fn uppers_hz(&self) -> impl Iterator<Item = f64> {
        self.followers.iter().flatten().filter_map(|follower| follower.upper_hz)
    }

    /// Forgets everything that was heard.
    pub(super) fn reset(&mut self) {
        self.end();
        self.timbres.reset();
    }

    /// The sound is over: what the reeds were like that had no other an octave above is remembered.
    pub(super) fn end(&mut self) {
        self.drop(|_| true);
    }

    /// Follows some voices no longer.
    fn drop(&mut self, gone: impl Fn(&Follower) -> bool) {
        for slot in &mut self.followers {
            if let Some(over) = slot.take_if(|follower| gone(follower)) {
                let rarely = |looks: usize| looks * RARELY < over.looks;
                if rarely(over.doubted) {
                    self.timbres.learn(timbre::slot(over.nominal_hz), &over.heard, rarely(over.others));
                }
            }
        }
    }

    /// Adds the upper reeds that sound to a set, and hands those of which nothing can be told to `unsure`.
    pub(super) fn add(
        &mut self,
        set: &mut Set,
        places: &[Spot],
        heard: &Evidence<'_>,
        mut unsure: impl FnMut(Reed),
    ) {
        let fitted = *set;
        self.followers.iter_mut().flatten().for_each(|follower| follower.unseen += 1);
        self.drop(|follower| follower.unseen >= GONE);
        for voice in 0..fitted.count {
            let Some((low, upper)) = Self::candidate(set, voice, places) else { continue };
            match self.hear(&fitted, voice, heard) {
                Upper::Sounds => add(set, voice, low, upper),
                Upper::Unsure => upper.reed.into_iter().for_each(&mut unsure),
                Upper::Silent => {}
            }
        }
    }

    /// Whether the reed above a voice sounds.
    fn hear(&mut self, set: &Set, voice: usize, heard: &Evidence<'_>) -> Upper {
        let low = set.voices[voice];
        let nominal_hz = low.nominal() / heard.per_hertz;
        let free = self.followers.iter().position(Option::is_none);
        let is_of = |follower: &Option<Follower>| {
            follower.as_ref().is_some_and(|follower| follower.is_of(low.reed, nominal_hz))
        };
        let Some(place) = self.followers.iter().position(is_of).or(free) else { return Upper::Unsure };
        let follower = self.followers[place].get_or_insert_with(|| Follower::new(low.reed, nominal_hz));
        follower.unseen = 0;
        let look = Look::of(set, voice, heard);
        let slot = timbre::slot(nominal_hz);
        let spectrum = self.timbres.hear(slot, &mut follower.heard, (heard.age, &look.levels()));
        follower.follow(&look, heard.age, spectrum);
        // Without a harp two peaks an octave apart are as likely as one reed whose even harmonics stand out so far.
        let plain_db = if follower.told { STILL_STANDS_OUT } else { STANDS_OUT };
        let plain = low.reed.is_none() && set.count == 1 && standing_out(&set.amplitudes[voice]) >= plain_db;
        let odds = follower.odds().max(if plain { timbre::SAID_MOST } else { f64::NEG_INFINITY });
        follower.doubted += usize::from(odds > 0.0);
        follower.others += usize::from(set.count > 1);
        let told = if low.reed.is_some() { TOLD.0 } else { TOLD.1 };
        follower.told = odds > told - if follower.told { STILL_TOLD } else { 0.0 };
        let upper = match odds {
            _ if follower.told => Upper::Sounds,
            odds if odds > RULED_OUT => Upper::Unsure,
            _ => Upper::Silent,
        };
        let beats = follower.told || (upper == Upper::Unsure && follower.looks > AT_LEAST);
        follower.upper_hz = beats.then_some(2.0 * low.at / heard.per_hertz);
        upper
    }
}

/// Which harmonics of a voice lie clear of all others.
fn clear(set: &Set, voice: usize) -> [bool; HARMONICS] {
    let at = set.voices[voice].at;
    std::array::from_fn(|i| {
        let line = at * (i + 1) as f64;
        let far = |other: &Spot| {
            let nearest = (line / other.at).round().max(1.0) * other.at;
            (line - nearest).abs() > CLEAR
        };
        set.voices().iter().enumerate().all(|(i, other)| i == voice || far(other))
    })
}

/// Adds the upper reed of an octave to a set and gives it what the even harmonics of the lower one have more than
/// their neighbours.
fn add(set: &mut Set, voice: usize, low: Spot, upper: Spot) {
    let count = set.count;
    *set = set.replaced(voice, low).with(upper);
    if set.count == count {
        return;
    }
    let low = set.amplitudes[voice];
    let mut amplitudes = [0.0; HARMONICS];
    for n in (1..HARMONICS).step_by(2) {
        let next = low.get(n + 1).copied().unwrap_or(low[n - 1]);
        let own = (low[n - 1] * next).sqrt().min(low[n]);
        amplitudes[n / 2] = (low[n] * low[n] - own * own).sqrt();
        set.amplitudes[voice][n] = own;
    }
    set.amplitudes[count] = amplitudes;
}
