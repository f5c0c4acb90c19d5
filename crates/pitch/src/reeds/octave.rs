//! Whether a reed sounds an octave above another: every harmonic of the upper one falls onto one of the lower.
//!
//! Three things tell. The even harmonics stand out from their odd neighbours; that is there at once, but a lone reed may
//! have such a spectrum too, so that it takes much. They stand otherwise than when the lower reed was heard alone
//! (`timbre`); that is there at once as well, and takes less. And what one reed sounds repeats itself with its period,
//! so that the phase of each harmonic stays at its number times that of the fundamental (a Fourier series; de Cheveigné &
//! Kawahara's "periodic" signal, J. Acoust. Soc. Am. 111 (2002)), while two reeds are never exactly an octave apart: the
//! even harmonics turn against the odd ones, but it takes a fifth of a second to see.

use super::Spot;
use super::choose::{gaps, reaches};
use super::fit::{HARMONICS, Set};
use super::points::Points;
use super::timbre::{self, Departure, Timbres};
use rustfft::num_complex::Complex;

/// By how much the even harmonics must stand out, decibels, as long as nothing is known about their phases; and if
/// they do not turn.
pub(super) const STANDS_OUT: f64 = 9.0;
const STANDS_OUT_LOCKED: f64 = 15.0;
/// Two reeds are an octave apart within this, as a share of the ratio (60 cents).
const WITHIN: f64 = 0.035;
/// An octave that was told stays as long as so much of the departure that it takes is left.
const STILL_OTHER: f64 = 0.7;
/// And by how much more it takes among other voices, whose lines disturb the levels.
const AMONG: f64 = 1.4;
/// And below this departure the spectrum is that of the lone reed, decibels: it speaks against what turns, such as the
/// echoes of a room.
const LIKE: f64 = 1.5;
/// A sound is that of a lone reed if more was told at less than one of so many looks.
const RARELY: usize = 4;
/// How much of a departure is believed from look to look.
const DEPARTS: f64 = 0.5;
/// Two reeds of a harp are meant to be of one pitch or an octave apart within this, as a share (35 cents).
pub(super) const SAME: f64 = 0.02;
/// Harmonics whose phases are followed.
const FOLLOWED: usize = timbre::COMPARED;
/// Looks between two that are compared.
const APART: usize = 5;
/// Looks after an attack that are not compared: a reed's harmonics find their phases one after the other.
const SETTLING: usize = 6;
/// Phases may wander by this much between these looks, radians: at rest, and for a glide of one a second and harmonic.
const WANDER: (f64, f64) = (0.03, 1.0);
/// What a single harmonic can say at most.
const MOST: f64 = 9.0;
/// Lines closer than this to one of another voice tell nothing, points.
const CLEAR: f64 = 5.0;
/// And of one closer than this the level cannot be told, points.
const APART_ENOUGH: f64 = 3.0;
/// How much of what a look says is believed.
const BELIEVED: f64 = 0.15;
/// Mean squared turn, in deviations, from which an octave is told of a lone reed and of one among others (whose lines
/// disturb each other), below which it is not told any more (beats stand still for a while), and below which the
/// harmonics are locked to each other.
const TURNS: f64 = 1.0;
const TURNS_AMONG: f64 = 1.5;
const TURNS_LIKE: f64 = 4.0;
const STILL_TURNS: f64 = -0.5;
const LOCKED: f64 = -0.6;

/// Follows the phases of the harmonics of one voice.
#[derive(Clone, Debug)]
pub(super) struct Octave {
    /// The lower reed and where it is remembered.
    low: Option<(Spot, usize)>,
    past: [[Complex<f64>; FOLLOWED]; APART],
    looks: usize,
    turning: f64,
    /// Whether they turn, and whether an octave is told.
    turned: bool,
    told: bool,
    /// Looks since the lower reed was told, and at how many of them the octave or another reed was told.
    heard: usize,
    others: usize,
    /// How far the harmonics are from those of the lone reed, if that is known.
    other: Option<Departure>,
    timbres: Timbres,
}

/// What the fit says about the harmonics of one voice.
pub(super) struct Evidence<'a> {
    pub(super) points: &'a Points,
    pub(super) per_hertz: f64,
    pub(super) phasors: &'a [Complex<f64>; HARMONICS],
    /// By how much the pitch changes, shares of itself a second.
    pub(super) glide: f64,
    /// Looks since the last attack.
    pub(super) age: usize,
    /// Whether the phases can be compared with those of the looks before.
    pub(super) steady: bool,
}

impl Octave {
    pub(super) fn new() -> Self {
        Self {
            low: None,
            past: [[Complex::default(); FOLLOWED]; APART],
            looks: 0,
            turning: 0.0,
            turned: false,
            told: false,
            heard: 0,
            others: 0,
            other: None,
            timbres: Timbres::new(),
        }
    }

    /// Which voice of a set may have a reed an octave above it that is hidden under it: the voice, as the reed of its
    /// pitch that reaches the upper one, and where that would lie; of several the one that leaves the fewest holes
    /// silent.
    pub(super) fn candidate(set: &Set, places: &[Spot]) -> Option<(usize, Spot, Spot)> {
        let near = |place: &Spot, low: &Spot, times: f64| {
            let within = if place.reed.is_some() { SAME } else { WITHIN };
            !place.bent && (place.nominal() / low.nominal() / times - 1.0).abs() < within
        };
        let voices = set.voices().iter().enumerate().filter(|(_, voice)| !voice.bent);
        let all = voices.flat_map(|(voice, low)| {
            let others = move |place: &Spot| {
                let mut others = set.voices().iter().enumerate().filter(|(other, _)| *other != voice);
                others.all(|(_, other)| reaches(place, other))
            };
            let lows = places.iter().filter(move |place| near(place, low, 1.0) && others(place));
            lows.flat_map(move |same| {
                let uppers = places.iter().filter(move |place| near(place, low, 2.0) && others(place));
                let reached = uppers.filter(move |place| reaches(place, same));
                reached.map(move |upper| (voice, Spot { at: low.at, ..*same }, *upper))
            })
        });
        all.min_by_key(|(voice, low, upper)| gaps(&set.replaced(*voice, *low).with(*upper)))
    }

    /// Forgets everything that was heard.
    pub(super) fn reset(&mut self) {
        self.end();
        self.timbres.reset();
    }

    /// The sound is over: if it was that of one reed, what it was like is remembered.
    pub(super) fn end(&mut self) {
        match self.low.filter(|_| self.others * RARELY < self.heard) {
            Some((_, slot)) => self.timbres.learn(slot),
            None => self.timbres.drop_sound(),
        }
        (self.low, self.looks, self.turning) = (None, 0, 0.0);
        (self.turned, self.told) = (false, false);
        (self.heard, self.others, self.other) = (0, 0, None);
    }

    /// Whether the upper reed sounds too, by the harmonics of the lower one.
    pub(super) fn sounds(&mut self, set: &Set, voice: usize, heard: &Evidence<'_>) -> bool {
        let low = set.voices[voice];
        let same =
            self.low.is_some_and(|(was, _)| was.reed == low.reed && (was.at / low.at - 1.0).abs() < WITHIN);
        if !same {
            self.end();
        }
        let slot = timbre::slot(low.nominal() / heard.per_hertz);
        self.low = Some((low, slot));
        if heard.steady {
            self.follow(heard, &low, clear(set, voice, CLEAR));
        } else {
            self.looks = 0;
        }
        self.compare(set, voice, (slot, heard.age));
        let turns = match self.other {
            Some(other) if other.off < LIKE => TURNS_LIKE,
            _ if set.count == 1 => TURNS,
            _ => TURNS_AMONG,
        };
        self.turned = self.turning > if self.turned { STILL_TURNS } else { turns };
        let other = if let Some(other) = self.other {
            let among = if set.count == 1 { 1.0 } else { AMONG };
            self.timbres.octave(&other, among * if self.told { STILL_OTHER } else { 1.0 })
        } else {
            let needed = if self.turning < LOCKED { STANDS_OUT_LOCKED } else { STANDS_OUT };
            set.count == 1 && standing_out(&set.amplitudes[voice]) >= needed
        };
        self.told = self.turned || other;
        self.heard += 1;
        self.others += usize::from(self.told || set.count > 1);
        self.told
    }

    /// Compares the spectrum with that of the lone reed, and remembers it as long as no other voice sounds.
    fn compare(&mut self, set: &Set, voice: usize, (slot, age): (usize, usize)) {
        let levels = timbre::levels(&set.amplitudes[voice], &clear(set, voice, APART_ENOUGH));
        if let Some(now) = self.timbres.departure(slot, age, &levels) {
            self.other = Some(self.other.map_or(now, |before| before.towards(&now, DEPARTS)));
        }
        if set.count == 1 {
            self.timbres.take(age, &levels);
        }
    }

    /// Compares the phases with those some looks ago.
    fn follow(&mut self, heard: &Evidence<'_>, low: &Spot, clear: [bool; FOLLOWED]) {
        let mut now = [Complex::default(); FOLLOWED];
        now.copy_from_slice(&heard.phasors[..FOLLOWED]);
        let slot = self.looks % APART;
        if self.looks >= SETTLING + APART {
            let before = self.past[slot];
            if let Some(turned) = turned(&before, &now, (heard, low.at), clear) {
                self.turning += BELIEVED * (turned - self.turning);
            }
        }
        self.past[slot] = now;
        self.looks += 1;
    }
}

/// By how much the even harmonics have turned against the fundamental, more than the odd ones: the mean squares, in
/// deviations, less one for what is expected of a lone reed. `None` if no even harmonic can be compared.
fn turned(
    before: &[Complex<f64>; FOLLOWED],
    now: &[Complex<f64>; FOLLOWED],
    (heard, at): (&Evidence<'_>, f64),
    clear: [bool; FOLLOWED],
) -> Option<f64> {
    let turn = |k: usize| now[k] * before[k].conj();
    let unsure = |k: usize| {
        let point = (at * (k + 1) as f64) as usize;
        let floor = heard.points.floor.get(point).copied().unwrap_or(f64::INFINITY);
        floor / now[k].norm_sqr().min(before[k].norm_sqr()).max(1.0e-14)
    };
    let first = turn(0).arg();
    let (mut sums, mut counts) = ([0.0; 2], [0.0; 2]);
    for k in (1..FOLLOWED).filter(|k| clear[*k] && unsure(*k) < 0.1) {
        let number = (k + 1) as f64;
        let off = (turn(k) * Complex::from_polar(1.0, -number * first)).arg();
        let wander = WANDER.0 + WANDER.1 * heard.glide * number;
        let variance = unsure(k) + number * number * unsure(0) + wander * wander;
        sums[k % 2] += (off * off / variance).min(MOST);
        counts[k % 2] += 1.0;
    }
    let odd = sums[0] / f64::max(counts[0], 1.0);
    (counts[1] > 0.0).then(|| sums[1] / counts[1] - odd - 1.0)
}

/// Which harmonics of a voice lie clear of all others.
fn clear(set: &Set, voice: usize, of: f64) -> [bool; FOLLOWED] {
    let at = set.voices[voice].at;
    let mut clear = [true; FOLLOWED];
    for (number, clear) in (1..).zip(&mut clear) {
        let line = at * f64::from(number);
        let far = |other: &Spot| {
            let nearest = (line / other.at).round().max(1.0) * other.at;
            (line - nearest).abs() > of
        };
        *clear = set.voices().iter().enumerate().all(|(i, other)| i == voice || far(other));
    }
    clear
}

/// Even harmonics whose standing out is asked for.
const EVEN: usize = 4;

/// By how much the even harmonics exceed their odd neighbours, decibels on average.
pub(super) fn standing_out(amplitudes: &[f64; HARMONICS]) -> f64 {
    let db = |i: usize| 20.0 * amplitudes[i].max(1.0e-6).log10();
    let excess = |n: usize| db(2 * n + 1) - f64::midpoint(db(2 * n), db(2 * n + 2));
    let fitted = amplitudes.iter().take_while(|a| **a > 0.0).count();
    let compared = (fitted.saturating_sub(1) / 2).min(EVEN);
    (0..compared).map(excess).sum::<f64>() / (compared.max(2)) as f64
}

/// Adds the upper reed of an octave to a set and gives it what the even harmonics of the lower one have more than
/// their neighbours.
pub(super) fn add(set: &mut Set, voice: usize, low: Spot, upper: Spot) {
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
