//! A player who is still learning.

use crate::envelope::RELEASE_S;
use crate::gesture::Gesture;
use crate::random::{bell, between, generator};
use layout::{Technique, Way};
use oorandom::Rand32;

/// Answers what a drill asks as a learner would: sure on natural notes, short on deep bends, with a pop on
/// overbends, and better with every repetition of the same way. The same seed and the same questions give the
/// same answers.
///
/// None of the numbers is a measurement of real learners; they are chosen so that a drill of a few minutes
/// shows notes that land, fall short, go past, and overbends that do not speak at all.
#[derive(Clone, Debug)]
pub struct Learner {
    seed: u64,
    asked: u64,
    /// How often each way has been asked so far.
    practised: Vec<(Way, u32)>,
}

/// How well a way goes right now.
struct Skill {
    /// Mean and standard deviation of the error, cents; positive is sharp.
    mean_cents: f64,
    spread_cents: f64,
    /// Seconds to get there.
    reach_s: f64,
    /// Share of the first try's clumsiness that is left, 1 to 0.3.
    clumsy: f64,
}

impl Learner {
    /// A learner with this seed, who has practised nothing yet.
    pub fn new(seed: u64) -> Self {
        Self { seed, asked: 0, practised: Vec::new() }
    }

    /// How the learner plays this way when asked to hold it for `hold_s` seconds.
    pub fn answer(&mut self, way: Way, hold_s: f64) -> Gesture {
        let mut random = generator(self.seed, self.asked);
        self.asked += 1;
        let skill = skill(way.technique, self.repetition(way));
        let cents = skill.mean_cents + skill.spread_cents * bell(&mut random);
        // An overbend that does not speak leaves the natural reed sounding.
        let fails =
            way.technique == Technique::Overbend && between(&mut random, 0.0, 1.0) < 0.4 * skill.clumsy - 0.1;
        let way = if fails { way.natural() } else { way };
        let played = Gesture::new(way)
            .cents_off(cents)
            .rest(between(&mut random, 0.5, 0.9))
            .level(-18.0 + 2.0 * bell(&mut random))
            .seconds(hold_s + between(&mut random, 0.4, 0.9))
            .drift(-3.0 * skill.clumsy * bell(&mut random).abs())
            .jitter(0.5 + 1.5 * skill.clumsy)
            .breath_before(-58.0);
        reach(played, way, &skill, &mut random)
    }

    /// How the learner plays this way in time when it is asked for `length_s` seconds, and how many seconds late;
    /// negative is early.
    ///
    /// There is no time to set up on the natural note: bends are taken in a twentieth of a second. Notes are let go a
    /// little before their end.
    pub fn in_time(&mut self, way: Way, length_s: f64) -> (Gesture, f64) {
        let mut random = generator(self.seed, self.asked);
        self.asked += 1;
        let skill = skill(way.technique, self.repetition(way));
        let late_s = 0.006 + (0.008 + 0.012 * skill.clumsy) * bell(&mut random);
        let (glide_s, cents) = match way.technique {
            Technique::Natural => (0.0, skill.mean_cents + skill.spread_cents * bell(&mut random)),
            // In a run there is less time to miss the depth by much.
            _ => (0.05, 0.8 * (skill.mean_cents + skill.spread_cents * bell(&mut random))),
        };
        let held_s = (0.9 * length_s - RELEASE_S - glide_s).max(0.03);
        let played = Gesture::new(way)
            .cents_off(cents)
            .level(-18.0 + 1.5 * bell(&mut random))
            .seconds(held_s)
            .jitter(0.5 + 1.5 * skill.clumsy);
        let played = match way.technique {
            Technique::Natural => played,
            Technique::Bend(_) => played.glide(glide_s),
            Technique::Overbend => played.pop(glide_s),
        };
        (played, late_s)
    }

    /// How the learner plays these holes together when asked to hold them for `hold_s` seconds: at first now and then
    /// with a hole too many or too few.
    pub fn answer_chord(&mut self, ways: &[Way], hold_s: f64) -> Gesture {
        let mut random = generator(self.seed, self.asked);
        self.asked += 1;
        let clumsy = ways.first().map_or(1.0, |way| skill(way.technique, self.repetition(*way)).clumsy);
        let fault = between(&mut random, 0.0, 1.0);
        let misses = ways.len() > 1 && fault < 0.25 * clumsy;
        let gone = between(&mut random, 0.0, ways.len() as f64) as usize;
        let played = ways.iter().enumerate().filter(|(index, _)| !misses || *index != gone);
        let played: Vec<Way> = played.map(|(_, way)| *way).collect();
        let gesture = Gesture::chord(&played)
            .rest(between(&mut random, 0.5, 0.9))
            .level(-18.0 + 1.5 * bell(&mut random))
            .seconds(hold_s.max(1.0) + between(&mut random, 0.4, 0.8))
            .jitter(0.5 + clumsy)
            .breath_before(-58.0);
        let highest = ways.iter().map(|way| way.hole).max().unwrap_or(1);
        if !misses && fault > 1.0 - 0.3 * clumsy && highest < 10 {
            gesture.leak(highest + 1, between(&mut random, -14.0, -6.0))
        } else {
            gesture
        }
    }

    /// How often this way was asked before, and counts this time.
    fn repetition(&mut self, way: Way) -> u32 {
        if let Some((_, times)) = self.practised.iter_mut().find(|(known, _)| *known == way) {
            *times += 1;
            return *times - 1;
        }
        self.practised.push((way, 1));
        0
    }
}

/// How well a technique goes after so many repetitions.
fn skill(technique: Technique, repetition: u32) -> Skill {
    let clumsy = 0.3 + 0.7 * 0.75f64.powi(repetition.min(100).cast_signed());
    let (mean, spread, reach_s) = match technique {
        Technique::Natural => (-3.0, 4.0, 0.06),
        // Short of the depth means sharp, and the deeper the shorter.
        Technique::Bend(depth) => {
            (10.0 + 10.0 * f64::from(depth.min(4)), 15.0, 0.22 + 0.08 * f64::from(depth.min(4)))
        }
        Technique::Overbend => (-18.0, 17.0, 0.15),
    };
    Skill {
        mean_cents: mean * clumsy,
        spread_cents: spread * clumsy,
        reach_s: reach_s * (0.5 + 0.5 * clumsy),
        clumsy,
    }
}

/// How the learner gets to the pitch.
fn reach(played: Gesture, way: Way, skill: &Skill, random: &mut Rand32) -> Gesture {
    let hurry = between(random, 0.8, 1.3);
    match way.technique {
        Technique::Natural => {
            let note = played.scoop(between(random, 2.0, 14.0), skill.reach_s * hurry);
            if between(random, 0.0, 1.0) < 0.2 { note.vibrato(between(random, 4.5, 6.0), 6.0) } else { note }
        }
        Technique::Bend(_) => {
            let note = played.glide(skill.reach_s * hurry).dwell(0.08 * hurry);
            let beyond = 20.0 * skill.clumsy * bell(random);
            if beyond > 0.0 { note.overshoot(beyond, 0.2) } else { note.undershoot(-beyond, 0.3) }
        }
        Technique::Overbend => {
            let note = played.pop(between(random, 0.05, 0.05 + skill.reach_s));
            if between(random, 0.0, 1.0) < 0.4 * skill.clumsy { note.squeak(0.07).dwell(0.05) } else { note }
        }
    }
}
