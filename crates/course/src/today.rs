//! What to practise today, and why.

mod bends;
mod music;
mod order;
mod reason;

use crate::{Day, Past, Skills};
use bends::Bends;
use layout::{Harp, Technique, Way};
use order::{Slot, slots};
use practice::Drill;
use std::fmt;
use theory::Ability;

pub use music::Offer;
pub use order::by_difficulty;
pub use reason::side;

/// A block counts as done from this share of the tries that it asks for.
const DONE: f64 = 0.5;
/// Less time than this is not worth another block, seconds.
const ENOUGH_S: f64 = 120.0;
/// What landed less often than this today comes back today.
const AGAIN_BELOW: f64 = 0.5;

/// What a plan is made for.
#[derive(Clone, Debug)]
pub struct Wish<'a> {
    /// The harp.
    pub harp: &'a Harp,
    /// What the player claims to command.
    pub claimed: &'a Ability,
    /// How long there is, minutes.
    pub minutes: u32,
    /// What could be played in time, the best to begin with first.
    pub offers: &'a [Offer],
    /// What a programme asks for, in its order; empty without one.
    pub asked: &'a [Asked],
}

/// Something that a programme asks for each day.
#[derive(Clone, Debug, PartialEq)]
pub enum Asked {
    /// A note: a bend, an overbend, a natural one.
    Note(Way),
    /// A drill, as it is.
    Drill(Box<Drill>),
    /// Something in time: the name of an [`Offer`].
    InTime(String),
}

/// What a block is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// To breathe and listen, and what is dependable.
    WarmUp,
    /// What comes back today.
    Due,
    /// What is claimed and was not heard yet.
    Unheard,
    /// What is hardest of what is being learnt.
    Weak,
    /// Music.
    Musical,
    /// What the programme asks for.
    Programme,
    /// What failed today, once more.
    Again,
    /// Something just beyond what is commanded.
    New,
}

/// What is played in a block.
#[derive(Clone, Debug, PartialEq)]
pub enum Task {
    /// A drill.
    Drill(Box<Drill>),
    /// An [`Offer`], by its name, so many runs of it.
    InTime(String, u32),
}

/// Why something is practised.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason {
    /// The bend that it speaks of, if it speaks of one.
    pub way: Option<Way>,
    /// Why: "4 of 10 landed on Tuesday, 22 cents short on average".
    pub why: String,
}

/// A short block of a day's practice.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// What it is for.
    pub part: Part,
    /// What is played.
    pub task: Task,
    /// What is played, in words.
    pub title: String,
    /// Why; the most telling one first.
    pub reasons: Vec<Reason>,
    /// About how long it takes, seconds.
    pub about_s: f64,
    /// Whether it was practised today already.
    pub done: bool,
}

/// What to practise today, in the order in which it is to be practised.
///
/// It is made from what was practised before today, so it is the same all day, and an interrupted practice is taken up
/// where it was left; what was practised today already is marked as done, and what failed comes back once more. Blocks
/// are short and what they ask for alternates; the new thing comes last (interference: Allen, Psychology of Music,
/// 2012). The evidence for blocks that alternate is mixed: they helped in some studies of wind players (Carter & Grahn,
/// Frontiers in Psychology 7:1251, 2016; Stambaugh, Journal of Research in Music Education 58:368–383, 2011) and made
/// no difference in others, so nothing is promised.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Today {
    /// The blocks.
    pub blocks: Vec<Block>,
}

impl Today {
    /// What to practise today.
    pub fn plan(past: &Past, today: Day, wish: &Wish<'_>) -> Self {
        let before = past.before(today);
        let skills = Skills::of(&before, wish.claimed, today);
        let mut bends = Bends::new(&skills, wish);
        let mut music = music::Music::new(&before, &skills, wish);
        let mut blocks = Vec::new();
        for slot in slots(wish.minutes, !wish.asked.is_empty()) {
            let block = match slot {
                Slot::WarmUp(minutes) => Some(bends.warm_up(minutes)),
                Slot::Due => bends.due(),
                Slot::Weak => bends.weak().or_else(|| bends.due()),
                Slot::Musical => music.next(),
                Slot::New => bends.new_thing(),
            };
            // Where there is nothing of a kind, something else takes its time.
            blocks.extend(block.or_else(|| bends.due()).or_else(|| music.next()));
        }
        // As long as there is time for another block, there is one; the new thing stays the last.
        let last = blocks.pop_if(|block| block.part == Part::New);
        let took_s = |blocks: &[Block]| blocks.iter().chain(&last).map(|block| block.about_s).sum::<f64>();
        let mut more = [Slot::Due, Slot::Weak, Slot::Musical].into_iter().cycle();
        let mut idle = 0;
        while idle < 2 && took_s(&blocks) + ENOUGH_S <= 60.0 * f64::from(wish.minutes) {
            let block = match more.next() {
                Some(Slot::Due) => bends.due(),
                Some(Slot::Weak) => bends.weak(),
                _ => music.next(),
            };
            // Music is a change from bends; where no bend is left, two more pieces are enough.
            idle = if block.as_ref().is_some_and(|block| block.part != Part::Musical) { 0 } else { idle + 1 };
            blocks.extend(block);
        }
        blocks.extend(last);
        order::ask(&mut blocks, asked_blocks(&bends, &music, wish), wish.minutes);
        let mut plan = Self { blocks };
        plan.mark(past, today);
        plan
    }

    /// About how long the rest takes, seconds.
    pub fn left_s(&self) -> f64 {
        self.blocks.iter().filter(|block| !block.done).map(|block| block.about_s).sum()
    }

    /// Marks what was practised today, and lets come back what failed.
    fn mark(&mut self, past: &Past, today: Day) {
        let mut again = None;
        for block in &mut self.blocks {
            let name = block.name();
            let Some(thing) = past.things.iter().find(|it| it.day == today && it.name == name) else {
                continue;
            };
            block.done = f64::from(thing.of) >= DONE * f64::from(block.asks());
            let failed = f64::from(thing.good) < AGAIN_BELOW * f64::from(thing.of);
            if block.done
                && failed
                && matches!(block.part, Part::Due | Part::Unheard | Part::Weak | Part::Programme)
            {
                // Once more is done when its tries are there as well.
                let twice = f64::from(thing.of) >= (1.0 + DONE) * f64::from(block.asks());
                again = again.or(Some((block.clone(), (thing.good, thing.of), twice)));
            }
        }
        if let Some((block, (good, of), done)) = again {
            let reasons =
                vec![Reason::plain(format!("{good} of {of} landed today: once more, before the day ends"))];
            let at = self.blocks.iter().position(|it| it.part == Part::New).unwrap_or(self.blocks.len());
            self.blocks.insert(at, Block { part: Part::Again, reasons, done, ..block });
        }
    }
}

/// A block for each thing that a programme asks for; what this harp cannot play is left out.
fn asked_blocks(bends: &Bends<'_>, music: &music::Music<'_>, wish: &Wish<'_>) -> Vec<Block> {
    let ways: Vec<Way> = wish
        .asked
        .iter()
        .filter_map(|asked| if let Asked::Note(way) = asked { Some(*way) } else { None })
        .collect();
    let mut blocks = bends.asked(&ways);
    for asked in wish.asked {
        match asked {
            Asked::Drill(drill) if drill.cannot_play(wish.harp).is_none() => blocks.push(Block::of_drill(
                Part::Programme,
                drill.as_ref().clone(),
                vec![Reason::plain("the programme asks for it")],
            )),
            Asked::Note(_) | Asked::Drill(_) => {}
            Asked::InTime(name) => blocks.extend(music.asked(name)),
        }
    }
    // Where there is no time for all of it, what waited longest comes first.
    blocks.sort_by_key(|block| music.last(&block.name()));
    blocks
}

impl Reason {
    fn plain(why: impl Into<String>) -> Self {
        Self { way: None, why: why.into() }
    }
}

impl fmt::Display for Reason {
    /// "whole step on 3 draw: 4 of 10 landed on Tuesday".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.way {
            Some(way) => write!(f, "{way}: {}", self.why),
            None => f.write_str(&self.why),
        }
    }
}

impl Block {
    fn of_drill(part: Part, drill: Drill, reasons: Vec<Reason>) -> Self {
        let (title, about_s) = (drill.title.clone(), drill.about_s());
        Self { part, task: Task::Drill(Box::new(drill)), title, reasons, about_s, done: false }
    }

    /// What the journal calls what is played.
    pub fn name(&self) -> String {
        match &self.task {
            Task::Drill(drill) => format!("drill {}", drill.name),
            Task::InTime(name, _) => name.clone(),
        }
    }

    /// The bends and overbends that a drill asks for, each once, in its order; none of what is played in time.
    pub fn bends(&self) -> Vec<Way> {
        let Task::Drill(drill) = &self.task else { return Vec::new() };
        let mut bends: Vec<Way> = Vec::new();
        for way in drill.items.iter().flat_map(practice::Item::ways) {
            if way.technique != Technique::Natural && !bends.contains(&way) {
                bends.push(way);
            }
        }
        bends
    }

    /// How many tries it asks for; a run counts as one.
    fn asks(&self) -> u32 {
        match &self.task {
            Task::Drill(drill) => drill.items.iter().map(|item| item.tries * item.parts() as u32).sum(),
            Task::InTime(..) => 1,
        }
    }
}

#[cfg(test)]
mod tests;
