//! What the player wants of a run that goes on.

use super::super::plan::RunPhase;
use super::Running;
use crate::{Ending, Event};
use layout::Harp;

impl Running {
    /// Pauses, or counts in again for the bar in which it was paused; between two runs the verdict is held, or the next
    /// one begins.
    pub(crate) fn toggle_pause(&mut self, harp: &Harp) -> Vec<Event> {
        match self.phase {
            RunPhase::Paused => self.wait_for(self.from_bar()),
            RunPhase::Done | RunPhase::Left => {}
            RunPhase::Shown => self.phase = RunPhase::Held,
            RunPhase::Held => self.begin_run(harp),
            RunPhase::Model | RunPhase::Waiting | RunPhase::CountIn | RunPhase::Playing => {
                self.gap();
                self.beat.pause_at(if self.phase == RunPhase::Model { 0 } else { self.bar().unwrap_or(0) });
                self.phase = RunPhase::Paused;
                return vec![Event::Paused];
            }
        }
        Vec::new()
    }

    /// The same run from its beginning.
    pub(crate) fn again(&mut self, harp: &Harp) {
        if matches!(self.phase, RunPhase::Done | RunPhase::Left) {
            self.plan.runs += 1;
            self.number += 1;
        }
        self.fresh(harp);
    }

    /// The next run, without waiting for the end of this one, of which nothing is judged.
    pub(crate) fn skip(&mut self, harp: &Harp) -> Vec<Event> {
        match self.phase {
            RunPhase::Done | RunPhase::Left => Vec::new(),
            RunPhase::Model => self.end_model(),
            RunPhase::Shown | RunPhase::Held => {
                self.begin_run(harp);
                Vec::new()
            }
            _ if self.number >= self.plan.runs => self.leave(),
            _ => {
                self.begin_run(harp);
                // What was played and clicked for the run that is left stops.
                vec![Event::Paused]
            }
        }
    }

    /// Leaves; what was played of an unfinished run is not judged.
    pub(crate) fn leave(&mut self) -> Vec<Event> {
        if matches!(self.phase, RunPhase::Done | RunPhase::Left) {
            return Vec::new();
        }
        self.phase = RunPhase::Left;
        vec![Event::Ended(Ending::Left)]
    }
}
