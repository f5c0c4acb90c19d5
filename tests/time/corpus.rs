//! Takes of the simulated player, with the truth.
//!
//! The conventions, fixed before anything was tuned:
//! * A note is a pitch that settles for 60 ms or more on another half step, however it was reached: its onset is where
//!   the pitch crosses midway between the two.
//! * A note is also a new attack at the same pitch: its onset is where the partials of the note alone pass -20 dB of
//!   their held level.
//! * Motion that returns (vibrato, tremolo, a scoop, a bend that is let go at once) is no note.

use crate::figures::Truth;
use crate::heard::RATE;
use crate::speaks::speaks_s;
use layout::{Harp, HarpKey, Technique, Way};
use oorandom::Rand64;
use synth::{Gesture, Played, SimulatedPlayer};

/// Level of every note when held, dBFS: that of a player near a microphone.
const LEVEL_DBFS: f64 = -18.0;
/// Notes of a take.
const NOTES: usize = 16;
/// Seconds from the end of the held part to silence, as `synth` releases a note.
const RELEASE_S: f64 = 0.04;

/// What a take is about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Case {
    /// Other notes in eighths, in a quiet room.
    Plain,
    /// The same pitch again and again, also by the other breath.
    Repeated,
    /// From the natural reed into a bend on one breath, and back.
    Slurs,
    /// A bend touched and let go within 40 ms.
    Returning,
    /// Vibrato of the throat, up to 40 cents to either side.
    Vibrato,
    /// Tremolo of the hand, 3 to 9 dB.
    Tremolo,
    /// From up to 150 cents below.
    Scoops,
    /// Pink noise 20 dB below the notes.
    Noise,
    /// A neighbouring reed sounds along, 18 to 30 dB below.
    Leaks,
    /// Sixteenths.
    Sixteenths,
    /// Triplets of eighths.
    Triplets,
}

impl Case {
    /// All of them, as the table has them.
    pub(crate) const ALL: [Self; 11] = [
        Self::Plain,
        Self::Sixteenths,
        Self::Triplets,
        Self::Repeated,
        Self::Slurs,
        Self::Returning,
        Self::Vibrato,
        Self::Tremolo,
        Self::Scoops,
        Self::Noise,
        Self::Leaks,
    ];

    /// Its name in the table.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Repeated => "repeated",
            Self::Slurs => "slurs",
            Self::Returning => "bends within a note",
            Self::Vibrato => "vibrato",
            Self::Tremolo => "tremolo",
            Self::Scoops => "scoops",
            Self::Noise => "noise 20 dB",
            Self::Leaks => "leaks",
            Self::Sixteenths => "sixteenths",
            Self::Triplets => "triplets",
        }
    }
}

/// What is heard, and what it is.
pub(crate) struct Take {
    pub(crate) harp: Harp,
    pub(crate) samples: Vec<f32>,
    pub(crate) truth: Vec<Truth>,
}

fn between(random: &mut Rand64, low: f64, high: f64) -> f64 {
    low + (high - low) * random.rand_float()
}

fn one<T: Copy>(random: &mut Rand64, of: &[T]) -> T {
    of[random.rand_range(0..of.len() as u64) as usize]
}

/// A take of this case; the seed decides everything else.
pub(crate) fn take(case: Case, seed: u64) -> Take {
    let mut random = Rand64::new(u128::from(seed) << 8 | case as u128);
    let key = one(&mut random, &["low F", "G", "A", "C", "D", "high G"]);
    let harp = harp(key);
    // Sixteenths at more than 140 beats a minute, detached, would sound for less than the 60 ms that make a note.
    let fastest = if case == Case::Sixteenths { 140.0 } else { 180.0 };
    let beat_s = 60.0 / between(&mut random, 60.0, fastest);
    let length_s = beat_s
        * match case {
            Case::Sixteenths => 0.25,
            Case::Triplets => 1.0 / 3.0,
            _ => 0.5,
        };
    let room_dbfs = if case == Case::Noise { LEVEL_DBFS - 20.0 } else { -72.0 };
    let mut player = SimulatedPlayer::new(&harp, RATE, seed).with_room(room_dbfs);
    let mut way = None;
    let mut gestures: Vec<(Gesture, Played)> = Vec::new();
    let mut at_s = 0.3;
    for _ in 0..NOTES {
        let next = next_way(case, &harp, way, &mut random);
        let (gesture, lasts_s) = gesture(case, next, length_s, &mut random);
        let played = player.play_at(&gesture, at_s * RATE).unwrap();
        gestures.push((gesture, played));
        at_s += lasts_s;
        way = Some(next);
    }
    let ended = gestures.last().map_or(0, |(_, played)| played.ended);
    let mut samples = vec![0.0; ended as usize + (0.3 * RATE) as usize];
    player.fill(&mut samples);
    if case == Case::Tremolo {
        tremble(&mut samples, &mut random);
    }
    let truth = gestures.iter().flat_map(|(_, played)| truth(case, &harp, &player, played)).collect();
    Take { harp, samples, truth }
}

/// A harp in standard tuning.
pub(crate) fn harp(key: &str) -> Harp {
    Harp::richter(key.parse::<HarpKey>().unwrap())
}

/// The way of the next note.
fn next_way(case: Case, harp: &Harp, before: Option<Way>, random: &mut Rand64) -> Way {
    let bend_only = matches!(case, Case::Slurs | Case::Returning);
    let fits = |way: &Way| match way.technique {
        Technique::Natural => !bend_only,
        Technique::Bend(_) => bend_only || case != Case::Leaks,
        Technique::Overbend => false,
    };
    let ways: Vec<Way> = harp.ways().filter(fits).collect();
    let Some(before) = before else { return one(random, &ways) };
    if case == Case::Repeated && random.rand_float() < 0.75 {
        let same: Vec<Way> =
            ways.iter().copied().filter(|way| harp.note(*way) == harp.note(before)).collect();
        return one(random, &same);
    }
    loop {
        let way = one(random, &ways);
        if harp.note(way) != harp.note(before) && way.hole.abs_diff(before.hole) <= 3 {
            return way;
        }
    }
}

/// How a note is played, and seconds until the next one begins.
fn gesture(case: Case, way: Way, length_s: f64, random: &mut Rand64) -> (Gesture, f64) {
    let sounds_s = length_s * between(random, 0.75, 0.97);
    let note = Gesture::new(way).level(LEVEL_DBFS).cents_off(between(random, -12.0, 12.0));
    let held = |before_s: f64| (sounds_s - before_s - RELEASE_S).max(0.03);
    match case {
        Case::Slurs => {
            let (stays_s, slide_s) = (between(random, 0.1, 0.25), between(random, 0.02, 0.05));
            let bend_s = between(random, 0.1, 0.25);
            let slur = note.glide(slide_s).dwell(stays_s).seconds(bend_s).back(slide_s, stays_s);
            (slur, 2.0 * (stays_s + slide_s) + bend_s + RELEASE_S + between(random, 0.01, 0.1))
        }
        Case::Returning => {
            let stays_s = between(random, 0.1, 0.25);
            let touch = note.glide(0.025).dwell(stays_s).seconds(0.01).back(0.025, stays_s);
            (touch, 2.0 * stays_s + 0.06 + RELEASE_S + between(random, 0.01, 0.1))
        }
        Case::Vibrato => {
            let (hz, cents) = (between(random, 4.0, 7.0), between(random, 10.0, 40.0));
            (note.seconds(held(0.0) + 0.3).vibrato(hz, cents), length_s + 0.3)
        }
        Case::Scoops => {
            let (cents, rise_s) = (between(random, 40.0, 150.0), between(random, 0.02, 0.06));
            (note.scoop(cents, rise_s).seconds(held(rise_s) + 0.1), length_s + 0.1)
        }
        Case::Tremolo => (note.seconds(held(0.0) + 0.4), length_s + 0.4),
        Case::Leaks => {
            let hole = if way.hole == 10 { 9 } else { way.hole + 1 };
            (note.leak(hole, between(random, -30.0, -18.0)).seconds(held(0.0)), length_s)
        }
        Case::Plain | Case::Repeated | Case::Noise | Case::Sixteenths | Case::Triplets => {
            // A bend is reached by a short slide, as a player reaches it.
            let slide_s = if way.technique == Technique::Natural { 0.0 } else { 0.03 };
            let slid = if slide_s > 0.0 { note.glide(slide_s) } else { note };
            (slid.seconds(held(slide_s)), length_s)
        }
    }
}

/// The hand opens and closes: 4 to 7 Hz, 3 to 9 dB.
fn tremble(samples: &mut [f32], random: &mut Rand64) {
    let (hz, db) = (between(random, 4.0, 7.0), between(random, 3.0, 9.0));
    for (n, sample) in (0_u32..).zip(samples) {
        let closed = 0.5 - 0.5 * (std::f64::consts::TAU * hz * f64::from(n) / RATE).cos();
        *sample *= 10_f64.powf(-db * closed / 20.0) as f32;
    }
}

/// The notes that a gesture was, by the conventions at the head of the file.
fn truth(case: Case, harp: &Harp, player: &SimulatedPlayer, played: &Played) -> Vec<Truth> {
    let natural_hz = harp.hz(played.way.natural()).unwrap();
    match case {
        Case::Returning => vec![attacked(harp, played, natural_hz)],
        Case::Slurs => {
            let midway = (natural_hz * played.hz).sqrt();
            let bent = |sample: &u64| player.truth(*sample).is_some_and(|hz| hz < midway);
            let down = (played.began..played.ended).find(bent).unwrap();
            let up = (down..played.ended).find(|sample| !bent(sample)).unwrap();
            let ends = [down, up, played.ended].map(|sample| sample as f64 / RATE);
            let first = Truth { ended_s: ends[0], ..attacked(harp, played, natural_hz) };
            let second = Truth { onset_s: ends[0], ended_s: ends[1], hz: played.hz };
            vec![first, second, Truth { onset_s: ends[1], ended_s: ends[2], hz: natural_hz }]
        }
        _ => vec![attacked(harp, played, played.hz)],
    }
}

/// A note that begins with its attack.
fn attacked(harp: &Harp, played: &Played, hz: f64) -> Truth {
    let onset_s = played.began as f64 / RATE + speaks_s(harp, played.way);
    Truth { onset_s, ended_s: played.ended as f64 / RATE, hz }
}
