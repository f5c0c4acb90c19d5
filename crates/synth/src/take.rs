//! A gesture worked out for one harp: every number that rendering needs.

use crate::envelope::{Envelope, RELEASE_S, attack_s};
use crate::error::{SynthError, within};
use crate::gesture::{Begins, Gesture};
use crate::level::{amplitude, rms};
use crate::path::{MOST_TURNS, Path, Turn};
use crate::random::generator;
use crate::spectrum::{BAND, Timbre};
use crate::start::Start;
use crate::voice::Plan;
use crate::wobble::Wobble;
use layout::{CannotPlay, Harp, Technique, Way, cents_between};
use std::f64::consts::PI;

/// The most ways of a chord, and the most holes that a mouth spans.
const CHORD: usize = 6;

/// The most voices of a gesture: a chord and a leaking reed.
pub(crate) const MAX_VOICES: usize = CHORD + 1;

/// A gesture whose numbers are checked and whose voices are planned.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Take {
    /// The leading voice first.
    pub(crate) plans: Vec<Plan>,
    pub(crate) start: Start,
    /// RMS of the breath noise while the note sounds.
    pub(crate) breath: f64,
    /// Peak RMS of the breath noise in the rest before.
    pub(crate) breath_before: f64,
    /// Seconds of rest before the sound.
    pub(crate) rest_s: f64,
    /// Seconds from the start of the sound to the arrival at the pitch and to the end.
    pub(crate) settled_s: f64,
    pub(crate) ended_s: f64,
}

impl Take {
    /// Begins the release this many seconds after the start.
    pub(crate) fn release_at(&mut self, held_until_s: f64) {
        for plan in &mut self.plans {
            plan.envelope.held_until = held_until_s;
        }
    }

    /// The whole sound `t` seconds after the start, out of the sum of the reeds and breath noise of RMS 1.
    pub(crate) fn mixed(&self, t: f64, reeds: f64, breath: f64, sample_rate: f64) -> f64 {
        let Some(leader) = self.plans.first() else { return 0.0 };
        let air = if self.breath == 0.0 {
            0.0
        } else {
            self.breath * self.start.breath_gain(t) * leader.envelope.at(t) * breath
        };
        let whistle =
            self.start.whistle(t, leader.path.hz, BAND * sample_rate) * amplitude(leader.level_dbfs);
        self.start.reed_gain(t) * reeds + air + whistle
    }

    /// Gain of the breath taken in the rest before the note, `before_s` seconds before it begins: up and down
    /// again.
    pub(crate) fn inhaling(&self, before_s: f64) -> f64 {
        if self.breath_before == 0.0 || before_s > self.rest_s {
            return 0.0;
        }
        self.breath_before * (PI * before_s / self.rest_s).sin().powi(2)
    }
}

/// Works out gestures for one harp.
#[derive(Clone, Debug)]
pub(crate) struct Planner {
    pub(crate) harp: Harp,
    pub(crate) sample_rate: f64,
    pub(crate) seed: u64,
}

impl Planner {
    /// Works out the gesture with this index.
    pub(crate) fn take(&self, gesture: &Gesture, index: u64) -> Result<Take, SynthError> {
        check_numbers(gesture)?;
        check_chord(&gesture.ways)?;
        check_turns(gesture)?;
        let share_db = 10.0 * (gesture.ways.len() as f64).log10();
        let mut plans = Vec::with_capacity(MAX_VOICES);
        for way in &gesture.ways {
            plans.push(self.plan(gesture, *way, gesture.level_dbfs - share_db, index)?);
        }
        let Some(leader) = plans.first().map(|plan| plan.path) else { return Err(SynthError::Chord) };
        if let Some((hole, level_db)) = gesture.leak {
            plans.push(self.leak(gesture, hole, gesture.level_dbfs + level_db, index)?);
        }
        let settled_s = leader.settled_s();
        Ok(Take {
            plans,
            start: gesture.start,
            breath: rms(gesture.level_dbfs + gesture.breath_db),
            breath_before: rms(gesture.breath_in_dbfs),
            rest_s: gesture.rest_s,
            settled_s,
            ended_s: settled_s + gesture.held_s + gesture.back_s.0 + gesture.back_s.1 + RELEASE_S,
        })
    }

    /// The pitch at which a way is in tune.
    fn in_tune_hz(&self, way: Way) -> Result<f64, SynthError> {
        self.harp.play(way).map_err(SynthError::Unplayable)?;
        // What can be played has a pitch; the other arm is for the compiler.
        self.harp.hz(way).ok_or(SynthError::Unplayable(CannotPlay::OutOfRange))
    }

    /// The voice of one way.
    fn plan(&self, gesture: &Gesture, way: Way, level_dbfs: f64, index: u64) -> Result<Plan, SynthError> {
        let in_tune = self.in_tune_hz(way)?;
        let natural = self.in_tune_hz(way.natural())?;
        let hz = in_tune * (gesture.cents_off / 1200.0).exp2();
        let seed = self.voice_seed(way, index);
        let path =
            Path { turns: self.turns(gesture, way)?, ..path(gesture, hz, natural, Wobble::new(seed, 0)) };
        let envelope = Envelope {
            attack: attack_s(hz),
            held_until: path.settled_s() + gesture.held_s + gesture.back_s.0 + gesture.back_s.1,
            release: RELEASE_S,
        };
        let highest_hz = path.highest_hz(envelope.held_until + envelope.release);
        let limit_hz = BAND * self.sample_rate;
        if highest_hz >= limit_hz {
            return Err(SynthError::TooHigh { hz: highest_hz, limit_hz });
        }
        let timbre = Timbre {
            hz,
            highest_hz,
            technique: way.technique,
            level_dbfs,
            reed_seed: self.voice_seed(way.natural(), 0),
        };
        Ok(Plan { way, path, envelope, timbre, level_dbfs, shimmer_db: gesture.shimmer_db, seed })
    }

    /// The turns of a gesture to other ways, by their distance from the one before.
    fn turns(&self, gesture: &Gesture, way: Way) -> Result<[Turn; MOST_TURNS], SynthError> {
        let mut turns = [Turn::NEVER; MOST_TURNS];
        let mut before = self.in_tune_hz(way)?;
        for (turn, turned) in turns.iter_mut().zip(&gesture.turns) {
            let hz = self.in_tune_hz(turned.way)?;
            let from_s = turned.at_s - turned.glide_s / 2.0;
            *turn = Turn { from_s, glide_s: turned.glide_s, cents: cents_between(before, hz) };
            before = hz;
        }
        Ok(turns)
    }

    /// A natural reed that sounds along.
    fn leak(&self, gesture: &Gesture, hole: u8, level_dbfs: f64, index: u64) -> Result<Plan, SynthError> {
        let Some(leader) = gesture.ways.first() else { return Err(SynthError::Chord) };
        let way = Way::new(hole, leader.breath, Technique::Natural);
        if gesture.ways.iter().any(|played| played.hole == hole) {
            return Err(SynthError::Leak(hole));
        }
        let still = Gesture::new(way).jitter(gesture.jitter_cents).shimmer(gesture.shimmer_db);
        let plan = self.plan(&still, way, level_dbfs, index)?;
        let led = self.plan(gesture, *leader, level_dbfs, index)?.envelope;
        Ok(Plan { envelope: Envelope { attack: plan.envelope.attack, ..led }, ..plan })
    }

    /// A seed for one way in one gesture.
    fn voice_seed(&self, way: Way, index: u64) -> u64 {
        let technique = match way.technique {
            Technique::Natural => 0,
            Technique::Bend(depth) => u64::from(depth),
            Technique::Overbend => 255,
        };
        let purpose = (index << 24) | (u64::from(way.hole) << 16) | ((way.breath as u64) << 8) | technique;
        u64::from(generator(self.seed, purpose).rand_u32())
    }
}

/// The path of the pitch of a voice that aims at `hz` from a reed of `natural_hz`.
fn path(gesture: &Gesture, hz: f64, natural_hz: f64, wobble: Wobble) -> Path {
    let from_natural = cents_between(hz, natural_hz);
    let from_cents = match gesture.from {
        Begins::Pitch => 0.0,
        Begins::Natural => from_natural,
        Begins::Below(cents) => -cents,
    };
    // Overbends rise from their natural reed, everything else falls.
    let onward = if from_natural < -50.0 { 1.0 } else { -1.0 };
    Path {
        hz,
        from_cents,
        dwell_s: gesture.dwell_s,
        glide_s: gesture.glide_s,
        curve: gesture.curve,
        miss_cents: onward * gesture.miss_cents,
        settle_s: gesture.settle_s,
        drift_cents_per_s: gesture.drift_cents_per_s,
        vibrato: gesture.vibrato,
        back_s: (gesture.dwell_s + gesture.glide_s + gesture.settle_s + gesture.held_s, gesture.back_s.0),
        back_cents: if gesture.back_s == (0.0, 0.0) { 0.0 } else { from_natural },
        turns: [Turn::NEVER; MOST_TURNS],
        jitter_cents: gesture.jitter_cents,
        wobble,
    }
}

/// Every number of a gesture against its range.
fn check_numbers(gesture: &Gesture) -> Result<(), SynthError> {
    let silence = f64::NEG_INFINITY;
    let scoop = if let Begins::Below(cents) = gesture.from { cents } else { 0.0 };
    let start = match gesture.start {
        Start::Clean => 0.1,
        Start::Pop(seconds) | Start::Squeak(seconds) => seconds,
    };
    let numbers = [
        // Checked before the dwell, because a pop sets the dwell too.
        ("a pop or squeak in seconds", start, 0.001, 5.0),
        ("an offset in cents", gesture.cents_off, -600.0, 600.0),
        ("a rest in seconds", gesture.rest_s, 0.0, 3600.0),
        ("a time held in seconds", gesture.held_s, 0.0, 3600.0),
        ("a level in dBFS", gesture.level_dbfs, -90.0, -6.0),
        ("a dwell in seconds", gesture.dwell_s, 0.0, 60.0),
        ("a slide in seconds", gesture.glide_s, 0.0, 60.0),
        ("an over- or undershoot in cents", gesture.miss_cents, -600.0, 600.0),
        ("a settling time in seconds", gesture.settle_s, 0.0, 60.0),
        ("a drift in cents per second", gesture.drift_cents_per_s, -1200.0, 1200.0),
        ("a vibrato rate in hertz", gesture.vibrato.0, 0.0, 20.0),
        ("a vibrato depth in cents", gesture.vibrato.1, 0.0, 200.0),
        ("a way back in seconds", gesture.back_s.0, 0.0, 60.0),
        ("a natural note behind in seconds", gesture.back_s.1, 0.0, 3600.0),
        ("a leak in dB", gesture.leak.map_or(0.0, |(_, db)| db), -80.0, 0.0),
        ("breath noise in dB", gesture.breath_db, silence, 20.0),
        ("a breath in dBFS", gesture.breath_in_dbfs, silence, -6.0),
        ("jitter in cents", gesture.jitter_cents, 0.0, 50.0),
        ("shimmer in dB", gesture.shimmer_db, 0.0, 3.0),
        ("a scoop in cents", scoop, -600.0, 600.0),
    ];
    numbers.into_iter().try_for_each(|(what, value, low, high)| within(what, value, low, high).map(drop))
}

/// One breath, no hole twice, all under one mouth.
fn check_chord(ways: &[Way]) -> Result<(), SynthError> {
    let Some(leader) = ways.first() else { return Err(SynthError::Chord) };
    let together = ways.iter().enumerate().all(|(i, way)| {
        way.breath == leader.breath
            && ways[..i].iter().all(|other| {
                let apart = usize::from(way.hole.abs_diff(other.hole));
                (1..CHORD).contains(&apart)
            })
    });
    if together && ways.len() <= CHORD { Ok(()) } else { Err(SynthError::Chord) }
}

/// Turns need a single note. There are at most [`MOST_TURNS`], each after the one before and on the same breath.
fn check_turns(gesture: &Gesture) -> Result<(), SynthError> {
    let turns = &gesture.turns;
    within("a number of joined notes", (turns.len() + 1) as f64, 1.0, (MOST_TURNS + 1) as f64)?;
    let one_note = turns.is_empty() || gesture.ways.len() == 1;
    let mut after_s = 0.0;
    for turn in turns {
        after_s = within("the time of a joined note in seconds", turn.at_s, after_s, 3600.0)?;
        within("a slide in seconds", turn.glide_s, 0.0, 60.0)?;
    }
    let one_breath = turns.iter().all(|turn| gesture.ways.iter().all(|way| way.breath == turn.way.breath));
    if one_note && one_breath { Ok(()) } else { Err(SynthError::Slur) }
}
