//! What the player wants of a drill of chords that goes on, and what the stream does to it.

use super::Chords;
use crate::agenda::Stage;
use crate::hidden::Hidden;
use crate::{Ending, Event, ReedSets, Timebase};
use layout::Harp;
use scoring::reeds::ReedsJudge;

impl Chords {
    /// Between these samples the player could not be told from what the program sounds.
    pub(crate) fn mask(&mut self, from: u64, until: u64) {
        self.hidden.add((from, until), self.base);
    }

    /// Samples were lost, or left out because of what the program sounds: of a try that was sounding nothing can be
    /// told, and it is asked again.
    pub(crate) fn gap(&mut self, harp: &Harp) -> Vec<Event> {
        self.sets.end();
        let began = self.judge.as_ref().and_then(ReedsJudge::began);
        // What sounds on may be the chord that was judged, or one of which nothing can be told.
        let gate = self.shut_gate();
        let verdict = self.judge.as_mut().and_then(ReedsJudge::gap);
        let left_out = self.hidden.goes_beyond(self.known, self.base);
        let verdict = verdict.map(|verdict| if left_out { verdict.hidden() } else { verdict });
        if self.stage != Stage::Asked || self.paused {
            return Vec::new();
        }
        let events =
            verdict.map_or(Vec::new(), |verdict| self.judged(harp, verdict, began.unwrap_or(self.known)));
        self.gate = gate;
        events
    }

    /// Goes on in a new stream, after a [`gap`](Chords::gap).
    pub(crate) fn restart(&mut self, base: Timebase) {
        self.base = base;
        self.sets = ReedSets::new(base);
        self.hidden = Hidden::default();
        (self.known, self.last_sound) = (0, None);
        match self.stage {
            Stage::Asked => self.ask(),
            Stage::Closing(_) => self.stage = Stage::Closing(None),
            Stage::Over(_) => {}
        }
    }

    /// Pauses, or goes on. A try that is sounding is dropped without a verdict.
    pub(crate) fn toggle_pause(&mut self) -> Vec<Event> {
        if matches!(self.stage, Stage::Over(_)) {
            return Vec::new();
        }
        self.paused = !self.paused;
        if self.stage == Stage::Asked {
            self.ask();
        }
        if self.paused { vec![Event::Paused] } else { self.asked() }
    }

    /// Leaves the current item for the next one.
    pub(crate) fn skip(&mut self, harp: &Harp) -> Vec<Event> {
        if matches!(self.stage, Stage::Over(_)) {
            return Vec::new();
        }
        let is_there = self.agenda.next(harp);
        self.asks_item(is_there)
    }

    /// Takes the current (or just judged) item once more; earlier results stay. After a verdict it is one more try than
    /// the drill has.
    pub(crate) fn again(&mut self) -> Vec<Event> {
        let sounds = self.judge.as_ref().is_some_and(|judge| judge.began().is_some());
        match self.stage {
            Stage::Asked if sounds => {}
            // Nothing has been played since the last verdict: the judged item is meant.
            Stage::Asked => {
                let last = self.results.last().filter(|tried| !tried.verdict.asks_again());
                if let Some(tried) = last {
                    self.agenda.back_to(tried.asked.item, tried.asked.attempt);
                }
            }
            Stage::Closing(_) | Stage::Over(_) => {
                self.agenda.one_more();
            }
        }
        self.ask();
        self.asked()
    }

    /// The player leaves. Says so unless the drill is over already.
    pub(crate) fn leave(&mut self) -> Vec<Event> {
        match self.stage {
            Stage::Over(_) => Vec::new(),
            // Everything was judged already; only the last verdict was still to be looked at.
            Stage::Closing(_) => self.over(Ending::Done),
            Stage::Asked => {
                let began = self.judge.as_ref().and_then(ReedsJudge::began).filter(|_| !self.gate.shut);
                let mut events: Vec<Event> = self
                    .asking()
                    .zip(began)
                    .map(|(asked, began)| Event::ChordUnfinished(asked, self.base.moment(began)))
                    .into_iter()
                    .collect();
                events.extend(self.over(Ending::Left));
                events
            }
        }
    }
}
