//! The blocks that are music: scales and phrases in time.

use super::order::BLOCK_S;
use super::{Block, Part, Reason, Task, Wish};
use crate::skill::WITHIN_REACH;
use crate::{Day, Past, Skills, Spacing};
use layout::{Technique, Way};

/// Something that can be played in time.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// What the journal calls its runs.
    pub name: String,
    /// Its title.
    pub title: String,
    /// The ways that it asks for.
    pub ways: Vec<Way>,
    /// About how long one run takes, with its count-in, seconds.
    pub run_s: f64,
}

/// After a run its verdict is shown for about so long, seconds.
const BETWEEN_S: f64 = 5.0;
/// Runs of one block: enough for a ladder to move, and not so many that they tire.
const RUNS: (u32, u32) = (2, 10);

/// What can be played in time, and what of it has a place already.
pub(super) struct Music<'a> {
    past: &'a Past,
    today: Day,
    /// What is within reach and has no place yet, and when it comes back; the next one last.
    left: Vec<(&'a Offer, Spacing)>,
    offers: &'a [Offer],
}

impl<'a> Music<'a> {
    pub(super) fn new(past: &'a Past, skills: &Skills, wish: &Wish<'a>) -> Self {
        let today = skills.today();
        let reached = |offer: &&Offer| {
            let bends = offer.ways.iter().filter(|way| way.technique != Technique::Natural);
            bends.into_iter().all(|way| skills.of_way(*way).belief.chance() >= WITHIN_REACH)
        };
        let mut left: Vec<(&Offer, Spacing)> =
            wish.offers.iter().filter(reached).map(|offer| (offer, spacing(past, &offer.name))).collect();
        // What is due comes first, the longest due first of all; then what was never played; then what was played
        // longest ago.
        left.sort_by_key(|(_, spacing)| match spacing.due() {
            Some(due) if due <= today => (0, due),
            None => (1, today),
            Some(due) => (2, due),
        });
        left.reverse();
        Self { past, today, left, offers: wish.offers }
    }

    /// The next one.
    pub(super) fn next(&mut self) -> Option<Block> {
        let (offer, _) = self.left.pop()?;
        Some(self.block(Part::Musical, offer))
    }

    /// What a programme asks for by name.
    pub(super) fn asked(&self, name: &str) -> Option<Block> {
        let offer = self.offers.iter().find(|offer| offer.name == name)?;
        Some(self.block(Part::Programme, offer))
    }

    /// The day on which something was practised last, by its name in the journal.
    pub(super) fn last(&self, name: &str) -> Option<Day> {
        self.past.last(name).map(|thing| thing.day)
    }

    fn block(&self, part: Part, offer: &Offer) -> Block {
        let one_s = offer.run_s + BETWEEN_S;
        let runs = ((BLOCK_S / one_s) as u32).clamp(RUNS.0, RUNS.1);
        Block {
            part,
            task: Task::InTime(offer.name.clone(), runs),
            title: offer.title.clone(),
            reasons: vec![Reason::plain(self.why(part, &offer.name))],
            about_s: f64::from(runs) * one_s,
            done: false,
        }
    }

    fn why(&self, part: Part, name: &str) -> String {
        let asks = if part == Part::Programme { "the programme asks for it; " } else { "" };
        let Some(last) = self.past.last(name) else {
            return format!("{asks}not played yet");
        };
        let when = last.day.spoken(self.today);
        match self.past.clean_tempo(name) {
            Some(tempo) => format!("{asks}clean at {tempo:.0}; last played {when}"),
            None => format!("{asks}{} of {} notes right {when}", last.good, last.of),
        }
    }
}

/// When something in time comes back: it is dependable on a day when four of five notes were right.
fn spacing(past: &Past, name: &str) -> Spacing {
    let mut spacing = Spacing::default();
    for thing in past.things.iter().filter(|it| it.name == name) {
        spacing.hear(thing.day, (thing.good, thing.of));
    }
    spacing
}
