//! A player in front of the ear who hears the questions and answers them as the test wants.

use layout::{Harp, HarpKey, Note, Technique, Way};
use oorandom::Rand64;
use pitch::{Ear, Reading, Settings};
use practice::ear::{Answered, ByEar, EarPhase, EarPlan, Question, Shape};
use practice::{Event, Exercise, Order};
use scoring::Tolerance;
use synth::{Gesture, SimulatedPlayer};
use theory::{Ability, Level, Position, ScaleInKey, Scales};

pub(crate) const RATE: f64 = 48_000.0;
const BLOCK: usize = 480;

pub(crate) fn harp(key: &str) -> Harp {
    Harp::richter(key.parse::<HarpKey>().unwrap())
}

/// A scale in a position of a harp.
pub(crate) fn key(harp: &Harp, position: u8, scale: &str) -> ScaleInKey {
    let scale = Scales::ours().find(scale).unwrap().clone();
    ScaleInKey::in_position(scale, harp, Position::new(position).unwrap())
}

/// Ten questions in the second position's blues scale, for a player who has all draw bends.
pub(crate) fn plan(harp: &Harp, shape: Shape) -> EarPlan {
    EarPlan {
        shape,
        heard: false,
        questions: 10,
        key: key(harp, 2, "blues"),
        elsewhere: None,
        ability: Ability::new(Level::DrawBends),
        seed: 1,
        hole_told: false,
        sounded: true,
    }
}

/// Who plays, and what is heard of it.
pub(crate) struct Stage {
    pub(crate) exercise: Exercise,
    pub(crate) player: SimulatedPlayer,
    ear: Ear,
    /// Everything that was said.
    pub(crate) said: Vec<Event>,
}

impl Stage {
    pub(crate) fn new(harp: &Harp, plan: EarPlan, seed: u64) -> Self {
        let mut exercise = Exercise::new(harp.clone(), Tolerance::default(), RATE);
        let said = exercise.order(Order::Ear(Box::new(plan)));
        let ear = Ear::new(Settings::new(RATE)).unwrap();
        Self { exercise, player: SimulatedPlayer::new(harp, RATE, seed), ear, said }
    }

    pub(crate) fn by_ear(&self) -> &ByEar {
        self.exercise.by_ear().unwrap()
    }

    pub(crate) fn order(&mut self, order: Order) {
        let events = self.exercise.order(order);
        self.said.extend(events);
    }

    /// Goes on for a hundredth of a second.
    pub(crate) fn step(&mut self) {
        let mut samples = [0.0; BLOCK];
        self.player.fill(&mut samples);
        let mut readings: Vec<Reading> = Vec::new();
        self.ear.push(&samples, |reading| readings.push(reading));
        for reading in readings {
            self.said.extend(self.exercise.hear(&reading));
        }
    }

    /// Goes on until it stands there, or for a minute.
    pub(crate) fn until(&mut self, phase: EarPhase) {
        for _ in 0..6_000 {
            if self.by_ear().phase() == phase {
                return;
            }
            self.step();
        }
        panic!("never {phase:?}, but {:?}", self.by_ear().phase());
    }

    /// The question, once it waits for its answer.
    pub(crate) fn question(&mut self) -> Question {
        self.until(EarPhase::Waiting);
        self.by_ear().question().unwrap().clone()
    }

    /// Plays these and gives what was made of them.
    pub(crate) fn play(&mut self, gestures: &[Gesture]) -> Answered {
        for gesture in gestures {
            self.player.play(gesture).unwrap();
        }
        self.until(EarPhase::Told);
        self.by_ear().told().unwrap().clone()
    }

    /// Leaves what was told, for the next question or the end.
    pub(crate) fn go_on(&mut self) {
        for _ in 0..1_000 {
            if self.by_ear().phase() != EarPhase::Told {
                return;
            }
            self.step();
        }
        panic!("nothing comes after the verdict");
    }
}

/// A note as players play it: into a bend from its natural note.
pub(crate) fn gesture(way: Way, random: &mut Rand64) -> Gesture {
    let note = Gesture::new(way).cents_off(24.0 * random.rand_float() - 12.0);
    match way.technique {
        Technique::Natural => note.scoop(15.0, 0.06),
        Technique::Bend(_) => note.dwell(0.03).glide(0.05 + 0.08 * random.rand_float()),
        Technique::Overbend => note.pop(0.06),
    }
}

/// The simplest way to a note.
pub(crate) fn way_to(harp: &Harp, note: Note) -> Way {
    harp.ways_to(note)[0]
}

/// Notes of the harp that a player who has draw bends can play, and that are none of these.
pub(crate) fn others(harp: &Harp, than: &[Note]) -> Vec<Note> {
    let ability = Ability::new(Level::DrawBends);
    let mut notes: Vec<Note> =
        ability.ways(harp).filter_map(|way| harp.note(way)).filter(|note| !than.contains(note)).collect();
    notes.sort();
    notes.dedup();
    notes
}

/// One of these near a note, within a fifth.
pub(crate) fn near(notes: &[Note], to: Note, random: &mut Rand64) -> Note {
    let near: Vec<Note> = notes.iter().copied().filter(|note| note.midi().abs_diff(to.midi()) <= 7).collect();
    near[random.rand_range(0..near.len() as u64) as usize]
}
