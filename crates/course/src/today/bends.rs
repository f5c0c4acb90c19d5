//! The blocks that are made of single notes.

use super::order::{BLOCK_S, by_difficulty};
use super::reason::{self, Words};
use super::{Block, Part, Reason, Wish};
use crate::skill::{DEPENDABLE, WITHIN_REACH};
use crate::{Day, Skill, Skills};
use layout::{Breath, Harp, Technique, Way};
use practice::{Asks, Drill, Item};
use scoring::Target;
use theory::Level;

/// How long a note of a warm-up is held, seconds.
const LONG_HOLD_S: f64 = 4.0;
/// How long a bend is held, seconds: long enough to hear whether it sags.
const HOLD_S: f64 = 1.5;
/// How long the notes of a slide are held, seconds.
const SLIDE_HOLD_S: f64 = 0.8;
/// So many dependable bends are checked in one block, or …
const CHECKED: usize = 4;
/// … so many are worked on.
const WORKED_ON: usize = 3;
/// Each bend has its turn so often in a block: enough tries to grade it, and not so many that they are repeated to
/// death.
const ROUNDS: (usize, usize) = (2, 5);
/// Dependable bends that warm up.
const WARMING: usize = 2;

/// What is offered as new to a player who does not claim more: overdraws and the overblows of the outer holes are for
/// those who ask for them. Common practice, no source.
const OFFERED: Level = Level::Overblows;

/// So many bends are in work at a time that do not come every second time yet. Ours.
const IN_WORK: usize = 6;

const CAUTION: &str =
    "Bend with the mouth, not with force: a gentle breath spares reeds and lips. Stop if you feel dizzy.";
const CAUTION_BREATH: &str =
    "Breathe normally between the notes. Stop if you feel dizzy or your fingers tingle.";

/// The bends of a harp, and which of them have a place in today's practice already.
pub(super) struct Bends<'a> {
    skills: &'a Skills,
    harp: &'a Harp,
    /// From the easiest.
    ways: Vec<Way>,
    taken: Vec<Way>,
    new: Option<Way>,
}

impl<'a> Bends<'a> {
    pub(super) fn new(skills: &'a Skills, wish: &Wish<'a>) -> Self {
        let mut bends =
            Self { skills, harp: wish.harp, ways: by_difficulty(wish.harp), taken: Vec::new(), new: None };
        bends.new = bends.beyond();
        bends.taken.extend(bends.new);
        bends
    }

    fn today(&self) -> Day {
        self.skills.today()
    }

    fn skills(&self) -> impl Iterator<Item = Skill> + '_ {
        self.ways.iter().map(|way| self.skills.of_way(*way))
    }

    fn free(&self) -> impl Iterator<Item = Skill> + '_ {
        self.skills().filter(|skill| !self.taken.contains(&skill.way))
    }

    /// Long tones, and bends that can be counted on.
    pub(super) fn warm_up(&mut self, minutes: u32) -> Block {
        let natural = |hole, breath| Way::new(hole, breath, Technique::Natural);
        let tones = [(4, Breath::Blow), (4, Breath::Draw), (3, Breath::Draw), (6, Breath::Blow)];
        let tones = tones.into_iter().cycle().take(4 * minutes as usize);
        let mut items: Vec<Item> =
            tones.map(|(hole, breath)| single(natural(hole, breath), LONG_HOLD_S, 1)).collect();
        let mut sure: Vec<Skill> = self.skills().filter(is_dependable).collect();
        sure.sort_by(|a, b| b.belief.chance().total_cmp(&a.belief.chance()));
        sure.truncate(WARMING);
        items.extend(sure.iter().map(|skill| single(skill.way, HOLD_S, 2)));
        let bends = joined(sure.iter().map(|skill| skill.way));
        let reasons = vec![Reason::plain(if bends.is_empty() {
            "steady breath first: long notes without a bend".to_owned()
        } else {
            format!("steady breath first, then what you can count on: {bends}")
        })];
        let made = Drill::made("warm-up", "Warm-up: long notes".to_owned());
        let drill = Drill { caution: Some(CAUTION_BREATH.to_owned()), items, ..made };
        Block::of_drill(Part::WarmUp, drill, reasons)
    }

    /// What comes back today, the longest due first; where nothing does, what is claimed and was never heard.
    pub(super) fn due(&mut self) -> Option<Block> {
        let today = self.today();
        let mut due: Vec<Skill> = self.free().filter(|skill| skill.spacing.is_due(today)).collect();
        due.sort_by(|a, b| {
            (a.spacing.due()).cmp(&b.spacing.due()).then(a.belief.chance().total_cmp(&b.belief.chance()))
        });
        if due.is_empty() {
            let claimed = |way: Way| self.skills.claimed().reaches(way) && self.is_ready(way);
            due = self.free().filter(|skill| is_unproven(skill) && claimed(skill.way)).collect();
            due.truncate(CHECKED);
            return self.block(Part::Unheard, &due);
        }
        // What is dependable is checked four at a time; what is not is worked on three at a time.
        let first = is_dependable(due.first()?);
        due.retain(|skill| is_dependable(skill) == first);
        due.truncate(if first { CHECKED } else { WORKED_ON });
        self.block(Part::Due, &due)
    }

    /// What is hardest of what is being learnt, unless it rests.
    pub(super) fn weak(&mut self) -> Option<Block> {
        let today = self.today();
        let rests = |skill: &Skill| skill.spacing.is_stuck() && !skill.spacing.is_due(today);
        let mut weak: Vec<Skill> =
            self.free().filter(|skill| skill.is_heard() && !is_dependable(skill) && !rests(skill)).collect();
        weak.sort_by(|a, b| a.belief.chance().total_cmp(&b.belief.chance()));
        weak.truncate(WORKED_ON);
        self.block(Part::Weak, &weak)
    }

    /// Something just beyond what is commanded.
    pub(super) fn new_thing(&mut self) -> Option<Block> {
        let skill = self.skills.of_way(self.new.take()?);
        self.block(Part::New, &[skill])
    }

    /// The easiest bend that was never heard and is not expected to come, while fewer than `IN_WORK` bends are in work.
    /// Otherwise the bend in work that waited longest, unless it rests. Nothing is new before everything easier that
    /// the player claims was heard.
    fn beyond(&self) -> Option<Way> {
        let today = self.today();
        let proven = |skill: &Skill| !is_unproven(skill) || !self.skills.claimed().reaches(skill.way);
        let offered = |skill: &Skill| OFFERED.includes(skill.way) || self.skills.claimed().reaches(skill.way);
        let not_yet = self.skills().take_while(proven).filter(|skill| offered(skill) && !can(skill));
        let (in_work, unheard): (Vec<Skill>, Vec<Skill>) =
            not_yet.filter(|skill| self.is_ready(skill.way)).partition(|skill| !is_unproven(skill));
        let rests = |skill: &&Skill| skill.spacing.is_stuck() && !skill.spacing.is_due(today);
        let waited = in_work.iter().filter(|skill| !rests(skill)).min_by_key(|skill| skill.spacing.due());
        let new = unheard.first().filter(|_| in_work.len() < IN_WORK);
        new.or(waited).map(|skill| skill.way)
    }

    /// Whether it is time for a bend: a deeper one waits until the one above it comes every second time.
    fn is_ready(&self, way: Way) -> bool {
        match way.technique {
            Technique::Bend(depth) if depth > 1 => {
                let above = self.skills.of_way(Way { technique: Technique::Bend(depth - 1), ..way });
                !is_unproven(&above) && can(&above)
            }
            _ => true,
        }
    }

    /// What a programme asks for, three at a time.
    pub(super) fn asked(&self, ways: &[Way]) -> Vec<Block> {
        let has = ways.iter().filter(|way| self.harp.note(**way).is_some());
        let skills: Vec<Skill> = has.map(|way| self.skills.of_way(*way)).collect();
        skills.chunks(WORKED_ON).map(|pair| bends_block(Part::Programme, pair, self.skills)).collect()
    }

    fn block(&mut self, part: Part, skills: &[Skill]) -> Option<Block> {
        if skills.is_empty() {
            return None;
        }
        self.taken.extend(skills.iter().map(|skill| skill.way));
        Some(bends_block(part, skills, self.skills))
    }
}

/// Whether it comes every second time.
fn can(skill: &Skill) -> bool {
    skill.belief.chance() >= WITHIN_REACH
}

/// Whether it was heard often enough to be counted on.
fn is_dependable(skill: &Skill) -> bool {
    !is_unproven(skill) && skill.belief.chance() >= DEPENDABLE
}

/// Whether it has hardly been heard: it has a due day only once it was practised enough on one day.
fn is_unproven(skill: &Skill) -> bool {
    skill.spacing.due().is_none()
}

fn bends_block(part: Part, skills: &[Skill], all: &Skills) -> Block {
    let ways: Vec<Way> = skills.iter().map(|skill| skill.way).collect();
    let round = |round| ways.iter().flat_map(move |way| round_of(*way, round));
    let one_s = Drill { items: round(1).collect(), ..Drill::made("", String::new()) }.about_s();
    let rounds = ((BLOCK_S / one_s) as usize).clamp(ROUNDS.0, ROUNDS.1);
    let items = (0..rounds).flat_map(round);
    let tab = layout::TabStyle::default();
    let name = ways.iter().map(|way| tab.print(*way)).collect::<Vec<_>>().join(" ");
    let title = match ways.len() {
        0..=2 => reason::capital(&joined(ways.iter().copied())),
        3 => "Three bends in turn".to_owned(),
        _ => "Four bends in turn".to_owned(),
    };
    let made = Drill::made(&name, title);
    let drill = Drill { caution: Some(CAUTION.to_owned()), items: items.collect(), ..made };
    let words = Words { part, all };
    Block::of_drill(part, drill, skills.iter().map(|skill| words.why(skill)).collect())
}

/// Once through a bend: in the first round its natural note to hear where it starts, then the bend twice, then the
/// slide to it.
fn round_of(way: Way, round: usize) -> Vec<Item> {
    let slide = [way.natural(), way].map(|way| Target { way, cents: 0.0, hold_s: SLIDE_HOLD_S });
    let slide =
        Item { asks: Asks::Notes(slide.to_vec()), clean: false, tries: 1, in_a_row: None, tolerance: None };
    let alone = single(way, HOLD_S, 2);
    match (round, way.technique) {
        (_, Technique::Natural) => vec![alone],
        (0, _) => vec![single(way.natural(), HOLD_S, 1), slide, alone],
        // An overbend is not slid to: the other reed takes over.
        (_, Technique::Overbend) => vec![alone],
        _ => vec![alone, slide],
    }
}

fn single(way: Way, hold_s: f64, tries: u32) -> Item {
    Item::single(Target { way, cents: 0.0, hold_s }, tries)
}

/// "half step on 3 draw, whole step on 2 draw and 6 overblow".
fn joined(ways: impl Iterator<Item = Way>) -> String {
    reason::listed(&ways.map(|way| way.to_string()).collect::<Vec<_>>())
}
