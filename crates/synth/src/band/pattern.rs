//! The patterns of the chords and of the kit. Which beats they fall on is common practice (no source); how strongly, by
//! ear.

use super::event::Stroke;
use theory::Groove;

/// A chord that is struck: its beat, for how many beats it is held, how strongly.
pub(super) type Hit = (f64, f64, f64);
/// A stroke on the kit: its beat and how strongly.
pub(super) type Beaten = (Stroke, f64, f64);

/// Where an eighth of a triplet, and a swung eighth, falls.
const THIRD: f64 = 1.0 / 3.0;
const SWUNG: f64 = 2.0 / 3.0;

/// After so many beats a pattern comes again.
pub(super) fn cycle(feel: Groove) -> f64 {
    f64::from(feel.beats())
}

/// The fastest tempo, beats a minute, at which there is time for the small notes of a feel: sixteenths of the brushes,
/// some ten a second then, and chords on each eighth of 12/8, five a second.
pub(super) fn slow_bpm(feel: Groove) -> f64 {
    if feel == Groove::SlowTwelve { 100.0 } else { 140.0 }
}

/// The chords of a feel over one cycle; `way` is 0 to 2 and chooses among those that a player would mix.
/// `slow` says that there is time for the small notes of a feel that has them.
pub(super) fn chords(feel: Groove, slow: bool, way: usize) -> &'static [Hit] {
    match (feel, way) {
        (Groove::Straight, 0) => &[(0.0, 1.4, 0.9), (1.5, 0.9, 0.6), (2.5, 0.4, 0.55), (3.0, 0.9, 0.75)],
        (Groove::Straight, _) => &[(0.0, 1.4, 0.9), (1.5, 1.4, 0.65), (3.0, 0.9, 0.75)],
        (Groove::Shuffle, 0) => {
            &[(0.0, 0.6, 0.75), (1.0, 0.4, 0.95), (1.0 + SWUNG, 0.3, 0.5), (3.0, 0.4, 0.95)]
        }
        (Groove::Shuffle, _) => &[(0.0, 0.6, 0.75), (1.0, 0.4, 0.95), (2.0, 0.6, 0.6), (3.0, 0.4, 0.95)],
        (Groove::Swing, 0) => &[(0.0, 0.9, 0.85), (1.0 + SWUNG, 0.8, 0.8)],
        (Groove::Swing, 1) => &[(0.0, 1.5, 0.75), (2.0 + SWUNG, 1.0, 0.75)],
        (Groove::Swing, _) => &[(0.0, 0.6, 0.75), (1.0 + SWUNG, 0.5, 0.8), (3.0, 0.7, 0.55)],
        (Groove::SlowTwelve, _) if slow => &TRIPLETS,
        (Groove::SlowTwelve, _) => &[(0.0, 0.65, 0.85), (1.0, 0.65, 0.7), (2.0, 0.65, 0.8), (3.0, 0.65, 0.7)],
        (Groove::Train, _) if slow => {
            &[(0.5, 0.3, 0.85), (1.5, 0.3, 0.75), (2.5, 0.3, 0.85), (3.5, 0.3, 0.75)]
        }
        (Groove::Train, _) => &[(1.0, 0.6, 0.85), (3.0, 0.6, 0.8)],
        (Groove::Waltz, _) => &[(1.0, 0.75, 0.8), (2.0, 0.75, 0.72)],
    }
}

/// Three to a beat, the first of them accented.
const TRIPLETS: [Hit; 12] = {
    let mut hits = [(0.0, 0.0, 0.0); 12];
    let mut index = 0;
    while index < 12 {
        let on_beat = index % 3 == 0;
        hits[index] = (index as f64 * THIRD, THIRD * 0.95, if on_beat { 0.85 } else { 0.5 });
        index += 1;
    }
    hits
};

/// The kit of a feel over one cycle, without what comes with each part of a beat ([`pulse`]).
pub(super) fn kit(feel: Groove, slow: bool) -> &'static [Beaten] {
    use Stroke::{Kick, Sweep, Tap};
    match feel {
        Groove::Straight => {
            &[(Kick, 0.0, 0.9), (Tap, 1.0, 0.9), (Kick, 1.5, 0.45), (Kick, 2.0, 0.8), (Tap, 3.0, 0.9)]
        }
        Groove::Shuffle => &[(Kick, 0.0, 0.85), (Tap, 1.0, 0.9), (Kick, 2.0, 0.75), (Tap, 3.0, 0.9)],
        Groove::Swing => &[
            (Kick, 0.0, 0.4),
            (Sweep, 0.0, 0.6),
            (Tap, 1.0, 0.45),
            (Kick, 1.0, 0.25),
            (Kick, 2.0, 0.35),
            (Sweep, 2.0, 0.6),
            (Tap, 3.0, 0.45),
            (Kick, 3.0, 0.25),
        ],
        Groove::SlowTwelve => {
            &[(Kick, 0.0, 0.9), (Tap, 1.0, 0.9), (Kick, 1.0 + SWUNG, 0.5), (Kick, 2.0, 0.8), (Tap, 3.0, 0.9)]
        }
        Groove::Train if slow => &[(Kick, 0.0, 0.7), (Kick, 1.0, 0.6), (Kick, 2.0, 0.7), (Kick, 3.0, 0.6)],
        Groove::Train => &[(Kick, 0.0, 0.7), (Kick, 2.0, 0.65)],
        Groove::Waltz => {
            &[(Kick, 0.0, 0.8), (Tap, 1.0, 0.6), (Sweep, 1.0, 0.4), (Tap, 2.0, 0.55), (Sweep, 2.0, 0.4)]
        }
    }
}

/// What comes with each part of a beat over one cycle: cymbal, or the brushes of a train.
pub(super) fn pulse(feel: Groove, slow: bool) -> &'static [Beaten] {
    use Stroke::{Cymbal, Tap};
    match feel {
        Groove::Straight => &EIGHTHS,
        Groove::Shuffle => &SWUNG_EIGHTHS,
        Groove::Swing => &[
            (Cymbal, 0.0, 0.6),
            (Cymbal, 1.0, 0.7),
            (Cymbal, 1.0 + SWUNG, 0.4),
            (Cymbal, 2.0, 0.6),
            (Cymbal, 3.0, 0.7),
            (Cymbal, 3.0 + SWUNG, 0.4),
        ],
        Groove::SlowTwelve => &THIRDS,
        Groove::Train if slow => &SIXTEENTHS,
        Groove::Train => &BRUSHED_EIGHTHS,
        Groove::Waltz => &[(Cymbal, 0.0, 0.5), (Cymbal, 1.0, 0.35), (Cymbal, 2.0, 0.35), (Tap, 2.5, 0.2)],
    }
}

/// N strokes: those at these places (in beats) with these strengths, repeated every `every` beats.
const fn again<const N: usize>(stroke: Stroke, every: f64, places: &[(f64, f64)]) -> [Beaten; N] {
    let mut strokes = [(stroke, 0.0, 0.0); N];
    let mut index = 0;
    while index < N {
        let (place, strength) = places[index % places.len()];
        strokes[index] = (stroke, (index / places.len()) as f64 * every + place, strength);
        index += 1;
    }
    strokes
}

static EIGHTHS: [Beaten; 8] = again(Stroke::Cymbal, 1.0, &[(0.0, 0.55), (0.5, 0.35)]);
static SWUNG_EIGHTHS: [Beaten; 8] = again(Stroke::Cymbal, 1.0, &[(0.0, 0.55), (SWUNG, 0.35)]);
static THIRDS: [Beaten; 12] = again(Stroke::Cymbal, 1.0, &[(0.0, 0.55), (THIRD, 0.3), (SWUNG, 0.35)]);
static SIXTEENTHS: [Beaten; 16] =
    again(Stroke::Tap, 1.0, &[(0.0, 0.4), (0.25, 0.3), (0.5, 0.85), (0.75, 0.3)]);
static BRUSHED_EIGHTHS: [Beaten; 8] =
    again(Stroke::Tap, 2.0, &[(0.0, 0.4), (0.5, 0.3), (1.0, 0.85), (1.5, 0.3)]);
