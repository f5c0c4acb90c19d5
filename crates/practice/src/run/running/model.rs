//! The model: before a run, what is to be played is played to the player. Nothing is judged meanwhile.

use super::Running;
use crate::beat::LEAD_S;
use crate::run::{RunPhase, StartAt};
use crate::{Event, ModelBegan};
use layout::Harp;
use pitch::Reading;

/// Time left after the last note of the model, seconds: a loudspeaker sounds later than it is told to, and a room goes
/// on sounding.
const ENDS_S: f64 = 0.4;

impl Running {
    /// Plays to the player what is asked: a run that goes on is broken off and begins anew behind it. A recording does
    /// not wait.
    pub(crate) fn play_model(&mut self, harp: &Harp) -> Vec<Event> {
        if matches!(self.plan.start, StartAt::At(_)) {
            return Vec::new();
        }
        let before = if self.phase == RunPhase::Model { self.end_model() } else { Vec::new() };
        match self.phase {
            RunPhase::Shown | RunPhase::Held => self.begin_run(harp),
            _ => self.again(harp),
        }
        self.phase = RunPhase::Model;
        self.beat.stop_at(0);
        before
    }

    /// Takes a reading while the model sounds: it only moves the time on.
    pub(super) fn hear_model(&mut self, reading: &Reading) -> Vec<Event> {
        self.beat.hear(reading.known);
        if self.beat.zero().is_none() {
            self.beat.begin_with(reading.known, -LEAD_S);
            return vec![Event::ModelBegan(ModelBegan { tempo: self.tempo, lead_s: LEAD_S })];
        }
        let ends = self.asked.iter().map(|note| note.onset_s + note.length_s);
        if self.now_s() < ends.fold(0.0, f64::max) + ENDS_S { Vec::new() } else { self.end_model() }
    }

    /// The model is over, or left, and the run begins.
    pub(super) fn end_model(&mut self) -> Vec<Event> {
        let began = self.beat.zero().is_some();
        self.notes = self.fresh_ear();
        self.wait_for(0);
        if began { vec![Event::ModelOver] } else { Vec::new() }
    }
}
