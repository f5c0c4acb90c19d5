//! Questions by ear on the full screen, and who answers them.

use super::Ui;
use crate::failure::Failure;
use crate::setup::HearFrom;
use practice::Order;
use practice::ear::EarPlan;
use screen::{Notice, ear_words};

impl Ui {
    /// Asks by ear. A recording was made before it could be asked anything.
    pub(super) fn ask_by_ear(&mut self, plan: EarPlan) -> Result<(), Failure> {
        self.open()?;
        let sounded = !self.hearing.is_recording();
        if sounded {
            self.to.tones.open();
        }
        let plan = EarPlan { sounded, ..plan };
        self.practising.order(Order::Ear(Box::new(plan)), &mut self.to);
        Ok(())
    }

    /// There is no loudspeaker. The built-in player hears the question as it is made.
    pub(super) fn cannot_sound(&mut self) {
        let plan = self.practising.exercise().by_ear().map(|by_ear| by_ear.plan().clone());
        if let Some(plan) = plan.filter(|_| self.hearing.is_microphone()) {
            self.practising.order(Order::CannotSound, &mut self.to);
            self.to.app.on_notice(&Notice::Say(ear_words::cannot_sound(&plan)));
        }
    }

    pub(super) fn switch(&mut self, from: HearFrom) {
        self.hearing.switch(from);
        // Runs begin anew: against what early and late count depends on who plays.
        let exercise = self.practising.exercise();
        let runs = exercise.running().filter(|_| exercise.is_on()).map(|running| running.plan().clone());
        let jam = exercise.jam().filter(|_| exercise.is_on()).map(|jam| jam.plan().clone());
        let by_ear = exercise.by_ear().filter(|_| exercise.is_on()).map(|by_ear| by_ear.plan().clone());
        let opened = match (runs, jam, by_ear) {
            (Some(plan), ..) => self.play_in_time(plan),
            (None, Some(plan), _) => self.jam(plan),
            (None, None, Some(plan)) => self.ask_by_ear(plan),
            (None, None, None) => self.open(),
        };
        self.complain_of(opened);
    }
}
