//! The one loop from what is heard to whoever wants to know: it feeds the exercise, and hands each of its events to the
//! built-in player, to the results that are told at the end, to the journal, and to a follower.

use crate::coach::Coach;
use crate::keeping::{JournalNews, Keeping};
use crate::pipeline::Heard;
use crate::results::Results;
use crate::words;
use journal::By;
use layout::Harp;
use pitch::Reading;
use practice::jam::{Jam, JamPhase};
use practice::run::{RunPhase, Running};
use practice::{Event, Exercise, Order};
use screen::Notice;

/// Whoever is told what happens: the screen, lines of text, a picture.
pub(crate) trait Follower {
    /// Takes what the exercise said.
    fn event(&mut self, event: &Event, exercise: &Exercise);

    /// Takes a reading, after the exercise has taken it.
    fn reading(&mut self, _reading: &Reading, _exercise: &Exercise) {}

    /// Looks at which reeds sound together, after the exercise has heard of them.
    fn reeds(&mut self, _exercise: &Exercise) {}

    /// Takes news of the sound: devices, levels, losses.
    fn notice(&mut self, notice: &Notice);
}

/// What is practised, and the built-in player if it plays.
pub(crate) struct Practising {
    exercise: Exercise,
    coach: Option<Coach>,
    results: Results,
    /// The journal, if one is kept, and who plays.
    keeping: Option<Keeping>,
    by: By,
}

impl Practising {
    /// At rest. What is practised goes to the journal, if there is one.
    pub(crate) fn new(exercise: Exercise, keeping: Option<Keeping>) -> Self {
        Self { exercise, coach: None, results: Results::default(), keeping, by: By::Player }
    }

    /// What the journal has to tell.
    pub(crate) fn journal_news(&self) -> Option<JournalNews> {
        self.keeping.as_ref()?.news()
    }

    /// Another player takes the harp: what is practised from now on is kept as his. A sentence if something of the
    /// player before could not be written.
    pub(crate) fn keep_for(&mut self, keeping: Keeping) -> Option<String> {
        self.keeping.replace(keeping)?.close()
    }

    /// Keeps a remark on what was practised last. False if no journal is kept.
    pub(crate) fn remark(&self, text: &str) -> bool {
        self.keeping.as_ref().map(|keeping| keeping.remark(text)).is_some()
    }

    /// Nothing more is practised: the journal is written to its end; a sentence if it could not be.
    pub(crate) fn close_journal(&mut self) -> Option<String> {
        self.keeping.take()?.close()
    }

    /// What is practised.
    pub(crate) fn exercise(&self) -> &Exercise {
        &self.exercise
    }

    /// What was practised so far.
    pub(crate) fn results(&self) -> &Results {
        &self.results
    }

    /// The harp in the player's hand.
    pub(crate) fn harp(&self) -> &Harp {
        self.exercise.harp()
    }

    /// Whether there is more to practise: the exercise is not over, and the built-in player, if it plays something of
    /// its own, is not at the end of it.
    pub(crate) fn goes_on(&self) -> bool {
        self.exercise.is_on() && !self.coach.as_ref().is_some_and(Coach::is_done)
    }

    /// Another source is open: its stream begins, and the built-in player plays, or no more. What is asked already is
    /// asked of the new player.
    pub(crate) fn listen_to(
        &mut self,
        coach: Option<Coach>,
        (sample_rate, by): (f64, By),
        to: &mut impl Follower,
    ) {
        (self.coach, self.by) = (coach, by);
        let events = self.exercise.restart(sample_rate);
        self.tell(&events, to);
        if let Some(coach) = &mut self.coach {
            coach.join(&self.exercise);
        }
    }

    /// Takes what the pipeline heard.
    pub(crate) fn hear(&mut self, heard: Heard, to: &mut impl Follower) {
        match heard {
            Heard::Readings(readings) => {
                for reading in &readings {
                    let events = self.exercise.hear(reading);
                    self.tell(&events, to);
                    to.reading(reading, &self.exercise);
                }
            }
            Heard::Reeds(sounding) => {
                let events = self.exercise.hear_reeds(&sounding);
                self.tell(&events, to);
                to.reeds(&self.exercise);
            }
            Heard::Masked(from, until) => self.exercise.mask(from, until),
            Heard::Gap => self.lose(to),
            Heard::Restarted(rate) => {
                let events = self.exercise.restart(rate);
                self.tell(&events, to);
            }
            Heard::Feed(event) => {
                for notice in words::feed_notices(event, self.coach.is_some()) {
                    to.notice(&notice);
                }
            }
            Heard::Complaint(complaint) => to.notice(&words::complaint_notice(complaint)),
            // The first screen has no room for a level that is good, and what is played is timed in samples. Where the
            // click came back, whoever sounds it gives the order to take the delay.
            Heard::Level(_) | Heard::Clock(_) | Heard::Returned(_) => {}
        }
    }

    /// Samples were lost.
    pub(crate) fn lose(&mut self, to: &mut impl Follower) {
        let events = self.exercise.gap();
        self.tell(&events, to);
    }

    /// Does what the player wants. The built-in player leaves off what is no longer asked for.
    pub(crate) fn order(&mut self, order: Order, to: &mut impl Follower) {
        let events = self.exercise.order(order);
        if let Some(coach) = &self.coach
            && events.iter().any(Coach::interrupts)
        {
            coach.hush();
        }
        self.tell(&events, to);
    }

    /// The beat comes from elsewhere: a run that goes on counts in again for the bar in which that happened.
    pub(crate) fn count_in_again(&mut self, to: &mut impl Follower) {
        let run = self.exercise.running().map(Running::phase);
        let jam = self.exercise.jam().map(Jam::phase);
        if matches!(run, Some(RunPhase::CountIn | RunPhase::Playing))
            || matches!(jam, Some(JamPhase::CountIn | JamPhase::Playing))
        {
            self.order(Order::Pause, to);
            self.order(Order::Pause, to);
        }
    }

    /// The one place where events are handed on.
    fn tell(&mut self, events: &[Event], to: &mut impl Follower) {
        for event in events {
            if let Some(coach) = &mut self.coach {
                coach.event(event, &self.exercise);
            }
            self.results.event(event, &self.exercise);
            if let Some(keeping) = &self.keeping {
                keeping.event(event, self.exercise.harp(), self.by);
            }
            to.event(event, &self.exercise);
        }
    }
}
