//! Whether a reed sounds an octave above another: every harmonic of the upper one falls onto one of the lower.
//!
//! Two things tell. What one reed sounds repeats itself with its period, so that each of its harmonics lies at its
//! number times the fundamental, and all of them grow and fade alike (a Fourier series; de Cheveigné & Kawahara's
//! "periodic" signal, J. Acoust. Soc. Am. 111 (2002)). Two reeds are never exactly an octave apart: the even harmonics,
//! in which both sound, turn and swell within a window against the odd ones, the more the higher they are. And the
//! upper reed adds to the even harmonics, so that they stand out from the odd ones beside them. Both are averaged over
//! the frames of a sound and weighed under two models, an octave of one of a few mistunings and one reed alone (a Bayes
//! factor: Kass & Raftery, J. Am. Stat. Assoc. 90 (1995), from memory). How far the harmonics of a lone reed stray is
//! read off the odd ones. Beside the sound the holes of the breath count: an upper reed between two holes that sound is
//! the likelier.

use super::fit::{Harmonic, Harmonics};
use super::set::{HARMONICS, Set, Spot, reaches};
use super::told::{MAX_VOICES, Reed};
use rustfft::num_complex::Complex;

/// By how much an octave may be mistuned, cents: nothing, and each about twice the one before.
const MISTUNED: [f64; 7] = [0.0, 0.7, 1.5, 3.0, 6.0, 12.0, 24.0];
/// How far a harmonic in which both reeds sound turns within the window if that of the upper reed lies a point off,
/// radians: 0.7 of how far the upper reed turns alone.
const TURNS: f64 = 0.54;
/// How far the harmonics of a lone reed stray from each other within a window, radians: once it has settled, and what is
/// added after an attack, which falls by the factor e in so many seconds (measured on sampled harmonicas).
const STRAYS: f64 = 0.015;
const STRAYS_AT_FIRST: f64 = 0.30;
pub(super) const SETTLES_S: f64 = 0.030;
/// The variance that odd harmonics have beside their noise where the drift of the fundamental is read off them, square
/// of radians: without it the strongest one would decide alone, and one right octave of 1080 chords and splits more is
/// blamed in the exercise.
const UNEVEN: f64 = 0.01;
/// Degrees of freedom of Student's distribution, whose tails outliers have (Lange, Little & Taylor, J. Am. Stat. Assoc. 84
/// (1989), from memory).
const FREEDOM: f64 = 4.0;
/// What is kept of a mean from frame to frame: reeds come and go.
const KEPT: f64 = 0.97;
/// Harmonics whose levels are compared, each even one with its odd neighbours on both sides.
const COMPARED: usize = 11;
/// The standard deviation of how far an even harmonic of a lone reed stands out, and what an octave adds to it with the
/// standard deviation of that, decibels (sampled and additive reeds).
const LONE_DB: f64 = 7.0;
const ADDED_DB: (f64, f64) = (6.0, 4.0);
/// The even harmonics say this share of what they would say if each were chance alone.
const SHARED: f64 = 0.7;
/// What it takes to tell an octave, to go on telling it, and what is left where it cannot be ruled out, nats.
const TOLD: f64 = 0.8;
const STAYS_TOLD: f64 = 0.2;
const RULED_OUT: f64 = -1.6;
/// What it speaks for the upper reed that none, one or both of the holes beside it sound, nats: a breath that sounds
/// the holes on both sides seldom leaves out the one between them (common practice, no source; by how much was tuned on
/// seeds 11 to 13 of the bench).
const NEIGHBOURS: [f64; 3] = [0.0, 0.6, 1.6];

/// A mean in which older values count less and less.
#[derive(Clone, Copy, Debug, Default)]
struct Mean {
    value: f64,
    weight: f64,
}

impl Mean {
    fn take(&mut self, value: f64, weight: f64) {
        self.weight = KEPT * self.weight + weight;
        self.value += weight / self.weight * (value - self.value);
    }
}

/// Square of how far each harmonic turned and grew within the window, radians and nepers, against what suits the odd ones
/// best; `None` if no odd one can be told.
fn strays(harmonics: &Harmonics) -> Option<[Option<f64>; HARMONICS]> {
    let odd = (0..HARMONICS).step_by(2).filter_map(|i| Some((harmonics[i]?, (i + 1) as f64)));
    // Half of the power of noise turns a harmonic, and the other half makes it grow.
    let weigh = |(harmonic, number): (Harmonic, f64)| {
        let weight = 1.0 / (0.5 * harmonic.noise + UNEVEN);
        let drift = harmonic.drift * weight;
        [number * drift.re, drift.im, number * number * weight, weight]
    };
    let add = |sums: [f64; 4], new: [f64; 4]| std::array::from_fn(|i| sums[i] + new[i]);
    let [turn, growth, turns, grows] = odd.map(weigh).fold([0.0; 4], add);
    (turns > 0.0).then(|| {
        std::array::from_fn(|i| {
            let common = Complex::new((i + 1) as f64 * turn / turns, growth / grows);
            Some(0.5 * (harmonics[i]?.drift - common).norm_sqr())
        })
    })
}

/// The logarithm of Student's density at a distance, squared, up to a constant.
fn likelihood(square: f64, variance: f64, dimensions: f64) -> f64 {
    -0.5 * ((FREEDOM + 1.0) * (square / (FREEDOM * variance)).ln_1p() + dimensions * variance.ln())
}

/// What the levels of the harmonics say for an octave and against one reed, nats: by how much each even one stands out
/// from its neighbours.
fn levels_say(harmonics: &Harmonics) -> f64 {
    let db = |i: usize| Some(20.0 * harmonics[i].as_ref()?.amplitude.log10());
    let stands_out = |i: usize| {
        let beside = match (db(i - 1), db(i + 1)) {
            (Some(below), Some(above)) => f64::midpoint(below, above),
            (below, above) => below.or(above)?,
        };
        Some(db(i)? - beside)
    };
    let (lone, octave) = (LONE_DB.powi(2), LONE_DB.powi(2) + ADDED_DB.1.powi(2));
    let says = |excess: f64| {
        likelihood((excess - ADDED_DB.0).powi(2), octave, 1.0) - likelihood(excess.powi(2), lone, 1.0)
    };
    SHARED * (1..COMPARED).step_by(2).filter_map(stands_out).map(says).sum::<f64>()
}

/// Follows the harmonics of the voice at one place.
#[derive(Clone, Debug, Default)]
pub(super) struct Follower {
    /// Whether the upper reed was told last.
    pub(super) told: bool,
    /// How far each harmonic strays, squared, and how far noise makes it; how far those of a lone reed are expected to.
    strays: [Mean; HARMONICS],
    noise: [Mean; HARMONICS],
    expected: Mean,
    /// What the levels say, nats.
    levels: Mean,
}

impl Follower {
    /// Takes a frame in and tells what speaks for an octave, nats.
    fn follow(&mut self, harmonics: &Harmonics, age_s: f64) -> f64 {
        let expected = (STRAYS + STRAYS_AT_FIRST * (-age_s / SETTLES_S).exp()).powi(2);
        // Steep, so that the frames of an attack count only as long as there are no better ones.
        let weight = expected.powi(-3);
        self.levels.take(levels_say(harmonics), weight);
        self.expected.take(expected, weight);
        let Some(strays) = strays(harmonics) else { return self.levels.value };
        for (i, (stray, harmonic)) in strays.iter().zip(harmonics).enumerate() {
            if let (Some(stray), Some(harmonic)) = (stray, harmonic) {
                self.strays[i].take(*stray, weight);
                self.noise[i].take(harmonic.noise, weight);
            }
        }
        self.strays_say(harmonics) + self.levels.value
    }

    /// What the strays of those harmonics say that can be told now, nats: all mistunings are as likely.
    fn strays_say(&self, harmonics: &Harmonics) -> f64 {
        let told =
            |first: usize| (first..HARMONICS).step_by(2).filter_map(|i| Some((i, harmonics[i].as_ref()?.at)));
        // What is expected stands in for one odd harmonic, since the drift of the fundamental is read off them.
        let lone = told(0).map(|(i, _)| self.strays[i].value).sum::<f64>() + self.expected.value;
        let lone = lone / told(0).count().max(1) as f64;
        let mut said = [0.0; MISTUNED.len()];
        for (i, at) in told(1) {
            let (stray, alone) = (2.0 * self.strays[i].value, lone + self.noise[i].value);
            for (said, cents) in said.iter_mut().zip(MISTUNED) {
                let turned = TURNS * at * ((cents / 1_200.0).exp2() - 1.0);
                *said += likelihood(stray, alone + turned * turned, 2.0) - likelihood(stray, alone, 2.0);
            }
        }
        (said.iter().map(|nats| nats.exp()).sum::<f64>() / said.len() as f64).ln()
    }
}

/// Adds the upper reeds that sound to a set, and gives those of which nothing can be told. The set is as it was fitted,
/// from the lowest voice up; an upper reed that is told counts as a neighbour of those below it; `age_s` is the
/// time since the last attack, seconds.
pub(super) fn tell(
    followers: &mut [Follower],
    set: &mut Set,
    places: &[Spot],
    harmonics: &[Harmonics; MAX_VOICES],
    age_s: f64,
) -> [Option<Reed>; MAX_VOICES] {
    let (fitted, mut unsure) = (*set, [None; MAX_VOICES]);
    // A voice that is not there is heard anew when it comes back.
    for (place, follower) in followers.iter_mut().enumerate() {
        if fitted.voices().iter().all(|voice| voice.place != place) {
            *follower = Follower::default();
        }
    }
    for (voice, found) in fitted.voices().iter().enumerate().rev() {
        let Some((low, upper)) = candidate(set, voice, places) else { continue };
        let follower = &mut followers[found.place];
        let odds = prior(set, &upper) + follower.follow(&harmonics[voice], age_s);
        follower.told = odds > if follower.told { STAYS_TOLD } else { TOLD };
        if follower.told && set.count < MAX_VOICES {
            add(set, voice, low, upper);
        } else if !follower.told && odds > RULED_OUT {
            unsure[voice] = upper.reed;
        }
    }
    unsure
}

/// What speaks for an upper reed beside its sound, nats.
fn prior(set: &Set, upper: &Spot) -> f64 {
    let beside = |other: &&Spot| other.hole().abs_diff(upper.hole()) == 1;
    NEIGHBOURS[set.voices().iter().filter(beside).count().min(2)]
}

/// The reed an octave above a voice of a set that may be hidden under it: the voice, as the reed of its pitch that reaches
/// the upper one, and where that would lie; of several the nearest ones.
fn candidate(set: &Set, voice: usize, places: &[Spot]) -> Option<(Spot, Spot)> {
    let low = set.voices[voice];
    let admits = |place: &Spot| set.others(voice).all(|other| reaches(place, other));
    let fitting =
        |times: f64| places.iter().filter(move |place| place.is_times(times, &low) && admits(place));
    let pairs = fitting(1.0).flat_map(|same| {
        let low = Spot { at: low.at, amplitudes: low.amplitudes, ..*same };
        fitting(2.0).filter(|upper| reaches(upper, same)).map(move |upper| (low, *upper))
    });
    pairs.filter(|_| !low.bent).min_by_key(|(low, upper)| low.hole().abs_diff(upper.hole()))
}

/// Adds the upper reed of an octave to a set and gives it what the even harmonics of the lower one have more than
/// their neighbours.
fn add(set: &mut Set, voice: usize, mut low: Spot, mut upper: Spot) {
    let whole = low.amplitudes.map(Complex::norm);
    for n in (1..HARMONICS).step_by(2) {
        let next = whole.get(n + 1).copied().unwrap_or(whole[n - 1]);
        let own = (whole[n - 1] * next).sqrt().min(whole[n]);
        low.amplitudes[n] = own.into();
        upper.amplitudes[n / 2] = (whole[n].powi(2) - own.powi(2)).sqrt().into();
    }
    set.voices[voice] = low;
    *set = set.with(&upper);
}
