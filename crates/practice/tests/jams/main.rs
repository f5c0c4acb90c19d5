//! Jams: what is told of notes that are known, to the beat and to the cent.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used, clippy::panic)]

mod band;
mod ear;
mod forms;
mod masked;
mod stands;
mod telling;
mod walks;
mod whole;

use layout::{Harp, HarpKey, Note};
use pitch::Reading;
use practice::jam::{Form, Jam, JamNote, JamOver, JamPlan};
use practice::run::{Clicking, Rhythm, StartAt, Tempo};
use practice::{Event, Exercise, Order};
use scoring::Tolerance;
use theory::{Ability, Groove, Level, Progressions, ScaleInKey, Scales};

pub(crate) const RATE: f64 = 48_000.0;
/// Samples from one reading to the next: five milliseconds.
const HOP: u64 = 240;

/// A note as it is played: its name, cents off, beats from the first one, and how many beats it is held.
pub(crate) type Played<'a> = (&'a str, f64, f64, f64);

pub(crate) fn harp() -> Harp {
    Harp::richter("D".parse::<HarpKey>().unwrap())
}

/// A form in A, which is the second position of a D harp, with the blues scale of A, at 120 beats a minute: a beat is
/// half a second.
pub(crate) fn plan(form: &str, feel: Groove, choruses: u32) -> JamPlan {
    let scale = Scales::ours().find("blues").unwrap().clone();
    let key = ScaleInKey::new(scale, "A".parse().unwrap());
    let progressions = Progressions::ours();
    let progression = progressions.find(form).cloned();
    let progression = progression.unwrap_or_else(|_| theory::Progression::new("a form", form).unwrap());
    JamPlan {
        form: Form::new(&progression, &key, &harp()).unwrap().times(choruses),
        feel,
        rhythm: Rhythm::of_groove(feel, Tempo::new(120.0).unwrap()),
        scale: key,
        ability: Ability::new(Level::DrawBends),
        start: StartAt::CountIn,
        clicking: Clicking::default(),
        delay_s: Some(0.0),
    }
}

/// The frequency of a note in equal temperament at A4 = 440 (MIDI tuning formula).
fn hz(name: &str, cents: f64) -> f64 {
    let note: Note = name.parse().unwrap();
    440.0 * ((f64::from(note.midi()) - 69.0 + cents / 100.0) / 12.0).exp2()
}

/// Somebody who plays, and what the exercise said.
pub(crate) struct Stage {
    pub(crate) exercise: Exercise,
    pub(crate) said: Vec<Event>,
    time: u64,
}

impl Stage {
    pub(crate) fn new(plan: JamPlan) -> Self {
        let mut exercise = Exercise::new(harp(), Tolerance::USUAL, RATE);
        let said = exercise.order(Order::Jam(Box::new(plan)));
        Self { exercise, said, time: 0 }
    }

    pub(crate) fn order(&mut self, order: Order) {
        let events = self.exercise.order(order);
        self.said.extend(events);
    }

    pub(crate) fn jam(&self) -> &Jam {
        self.exercise.jam().unwrap()
    }

    fn hear(&mut self, hz: Option<f64>, onset: bool) {
        let level_dbfs = if hz.is_some() { -18.0 } else { -70.0 };
        let (time, known) = (self.time, self.time + HOP);
        let reading = Reading { time, known, hz, sigma_cents: 0.5, clarity: 0.9, level_dbfs, onset };
        let events = self.exercise.hear(&reading);
        self.said.extend(events);
        self.time += HOP;
    }

    /// Plays these notes, in order, until so many beats from the first one, or the end.
    pub(crate) fn play(&mut self, notes: &[Played<'_>], until: f64) {
        let beat_s = self.jam().plan().rhythm.beat_s();
        let mut before = None;
        while self.exercise.is_on() {
            let beat = self.jam().now().map_or(f64::NEG_INFINITY, |now| now / beat_s);
            if beat >= until {
                return;
            }
            let now = notes.iter().position(|(_, _, on, length)| (*on..on + length).contains(&beat));
            let pitch = now.map(|now| hz(notes[now].0, notes[now].1));
            self.hear(pitch, now.is_some() && now != before);
            before = now;
        }
    }

    pub(crate) fn notes(&self) -> Vec<&JamNote> {
        let notes = self.said.iter().filter_map(|event| match event {
            Event::JamNote(note) => Some(&**note),
            _ => None,
        });
        notes.collect()
    }

    pub(crate) fn over(&self) -> &JamOver {
        let over = self.said.iter().find_map(|event| match event {
            Event::JamOver(over) => Some(&**over),
            _ => None,
        });
        over.unwrap()
    }
}

/// Plays a whole jam of these notes.
pub(crate) fn played(plan: JamPlan, notes: &[Played<'_>]) -> Stage {
    let mut stage = Stage::new(plan);
    stage.play(notes, f64::INFINITY);
    stage
}
