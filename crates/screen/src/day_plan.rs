//! Today's practice on the desk: its blocks in the order in which the player wants them, and where he stands in them.

use crate::in_time::Listed;
use course::{Asked, Block, Day, Item, Offer, Part, Past, Programme, Standing, Task, Today, What, Wish};
use layout::Harp;
use practice::Drill;
use std::collections::BTreeSet;
use theory::Ability;

/// The times to choose from for a day's practice, minutes.
const MINUTES: [u32; 8] = [5, 10, 15, 20, 25, 30, 45, 60];

/// After a block its result is shown for so long, seconds; then the next one comes by itself, because both hands
/// hold the harp.
const PAUSE_S: f64 = 8.0;

/// Where a block stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum State {
    /// It comes.
    Coming,
    /// It was practised today.
    Done,
    /// The player does without it today.
    LeftOut,
}

/// Today's practice.
#[derive(Clone, Debug)]
pub(crate) struct DayPlan {
    /// What was practised.
    pub(crate) past: Past,
    /// The day.
    pub(crate) today: Day,
    /// How long there is, minutes.
    pub(crate) minutes: u32,
    /// What the player claims to command.
    pub(crate) claimed: Ability,
    /// The programme that is followed, and since when.
    programme: Option<(Box<Programme>, Day)>,
    blocks: Vec<Block>,
    /// The names of the blocks in the player's own order; empty while the plan's order holds.
    order: Vec<String>,
    left_out: BTreeSet<String>,
    /// The blocks played to their end since the program began or the harp changed hands, even by the built-in player.
    done: BTreeSet<String>,
    /// The block that is chosen.
    pub(crate) chosen: usize,
    /// The block that is played, by its name, while the plan is under way.
    playing: Option<String>,
    /// Blocks that the player left before their end, while the plan is under way: they are not taken up at once.
    passed: BTreeSet<String>,
    /// When the last block ended, on the clock of the exercise, seconds; `None` where none has, or the player
    /// wants to look.
    ended_s: Option<f64>,
    /// Seconds until the next block comes by itself.
    pub(crate) comes_in_s: Option<f64>,
}

impl DayPlan {
    pub(crate) fn new((today, minutes): (Day, u32), claimed: Ability) -> Self {
        Self {
            past: Past::default(),
            today,
            minutes,
            claimed,
            programme: None,
            blocks: Vec::new(),
            order: Vec::new(),
            left_out: BTreeSet::new(),
            done: BTreeSet::new(),
            chosen: 0,
            playing: None,
            passed: BTreeSet::new(),
            ended_s: None,
            comes_in_s: None,
        }
    }

    /// Follows a programme from a day on, or none.
    pub(crate) fn follow(&mut self, programme: Option<(Programme, Day)>) {
        self.programme = programme.map(|(programme, began)| (Box::new(programme), began));
    }

    /// The programme that is followed, and where the player stands in it.
    pub(crate) fn standing(&self) -> Option<(&Programme, Standing<'_>)> {
        let (programme, began) = self.programme.as_ref()?;
        Some((programme, programme.standing(&self.past, *began, self.today)))
    }

    /// What the programme asks for at this point, as far as `drills` and `offers` have it.
    fn asked(&self, harp: &Harp, drills: &[Drill], offers: &[Offer]) -> Vec<Asked> {
        let Some((programme, standing)) = self.standing().filter(|(programme, _)| programme.suits(harp))
        else {
            return Vec::new();
        };
        let asked = |item: &Item| match &item.what {
            What::Note(way) => Some(Asked::Note(*way)),
            What::Drill(name) => {
                let drill = drills.iter().find(|drill| drill.name == *name)?;
                Some(Asked::Drill(Box::new(drill.clone())))
            }
            What::Phrase(_) | What::Scale { .. } => {
                let offer = offers.iter().find(|offer| item.is_kept_as(&offer.name))?;
                Some(Asked::InTime(offer.name.clone()))
            }
        };
        programme.items_now(&standing).into_iter().filter_map(asked).collect()
    }

    /// Makes the plan anew: something was practised, or the harp, the minutes, what is offered have changed.
    pub(crate) fn replan(&mut self, harp: &Harp, drills: &[Drill], offers: &[Offer]) {
        let chosen = self.blocks.get(self.chosen).map(Block::name);
        let asked = self.asked(harp, drills, offers);
        let Self { claimed, minutes, .. } = &*self;
        let wish = Wish { harp, claimed, minutes: *minutes, offers, asked: &asked };
        self.blocks = Today::plan(&self.past, self.today, &wish).blocks;
        // What is new in the plan comes behind what the player has put in order.
        let place = |block: &Block| self.order.iter().position(|name| *name == block.name());
        self.blocks.sort_by_key(|block| place(block).unwrap_or(self.order.len()));
        let same = chosen.and_then(|name| self.blocks.iter().position(|block| block.name() == name));
        self.chosen = same.or_else(|| self.next()).unwrap_or(0);
    }

    /// The blocks.
    pub(crate) fn blocks(&self) -> &[Block] {
        &self.blocks
    }

    /// Where a block stands.
    pub(crate) fn state(&self, block: &Block) -> State {
        let name = block.name();
        match () {
            // The name of a block that comes again is in `done` since its first time.
            () if block.done || block.part != Part::Again && self.done.contains(&name) => State::Done,
            () if self.left_out.contains(&name) => State::LeftOut,
            () => State::Coming,
        }
    }

    /// The first block that is to come.
    pub(crate) fn next(&self) -> Option<usize> {
        let comes = |block: &&(usize, &Block)| {
            self.state(block.1) == State::Coming && !self.passed.contains(&block.1.name())
        };
        let all: Vec<(usize, &Block)> = self.blocks.iter().enumerate().collect();
        let now = self.playing.as_ref().and_then(|name| self.blocks.iter().position(|it| it.name() == *name));
        // What was passed over before comes when the rest is done.
        let later = all.iter().filter(|(index, _)| now.is_some_and(|now| *index > now)).find(comes);
        later.or_else(|| all.iter().find(comes)).map(|(index, _)| *index)
    }

    /// About how many minutes are to come.
    pub(crate) fn minutes_left(&self) -> u32 {
        let coming = self.blocks.iter().filter(|block| self.state(block) == State::Coming);
        (coming.map(|block| block.about_s).sum::<f64>() / 60.0).round() as u32
    }

    /// More or fewer minutes.
    pub(crate) fn take_time(&mut self, more: bool) {
        let next = if more {
            MINUTES.into_iter().find(|minutes| *minutes > self.minutes)
        } else {
            MINUTES.into_iter().rev().find(|minutes| *minutes < self.minutes)
        };
        self.minutes = next.unwrap_or(self.minutes);
    }

    /// Does without the chosen block today, or with it after all.
    pub(crate) fn leave_out(&mut self) {
        let Some(name) = self.blocks.get(self.chosen).map(Block::name) else { return };
        if !self.left_out.remove(&name) {
            self.left_out.insert(name);
        }
    }

    /// Moves the chosen block before the one above it, or behind the one below.
    pub(crate) fn shift(&mut self, later: bool) {
        let to = if later { self.chosen + 1 } else { self.chosen.wrapping_sub(1) };
        if self.chosen < self.blocks.len() && to < self.blocks.len() {
            self.blocks.swap(self.chosen, to);
            self.chosen = to;
            self.order = self.blocks.iter().map(Block::name).collect();
        }
    }

    /// The plan is under way: this block is played.
    pub(crate) fn play(&mut self, index: usize) {
        self.chosen = index;
        self.playing = self.blocks.get(index).map(Block::name);
        self.wait();
    }

    /// Whether the blocks come one after the other by themselves.
    pub(crate) fn is_under_way(&self) -> bool {
        self.playing.is_some()
    }

    /// The player leaves the plan; what is left can be taken up again.
    pub(crate) fn interrupt(&mut self) {
        if let Some(next) = self.next().filter(|_| self.playing.is_some()) {
            self.chosen = next;
        }
        self.playing = None;
        self.passed.clear();
        self.wait();
    }

    /// What is played has come to its end.
    pub(crate) fn end(&mut self, now_s: f64) {
        if let Some(name) = self.playing.clone() {
            self.done.insert(name);
            self.ended_s = Some(now_s);
        }
    }

    /// The player left what is played before its end.
    pub(crate) fn pass(&mut self) {
        self.passed.extend(self.playing.clone());
        self.wait();
    }

    /// The player wants to look: the next block waits for a key.
    pub(crate) fn wait(&mut self) {
        (self.ended_s, self.comes_in_s) = (None, None);
    }

    /// Time goes on. True if whole seconds until the next block have changed.
    pub(crate) fn tick(&mut self, now_s: f64) -> bool {
        let Some(ended_s) = &mut self.ended_s else { return false };
        // Another stream counts from zero: now may lie before the end of the block.
        *ended_s = ended_s.min(now_s);
        let left_s = (PAUSE_S - (now_s - *ended_s)).max(0.0);
        let before = self.comes_in_s.replace(left_s);
        before.map(f64::ceil) != Some(left_s.ceil())
    }
}

/// A line of the list as an offer to the plan; `None` if it is not played in time on this harp.
pub(crate) fn offer(line: Listed<'_>, harp: &Harp) -> Option<Offer> {
    if line.cannot_play(harp).is_some() {
        return None;
    }
    let plan = line.plan(harp)?;
    let ways = plan.material.asked(harp).iter().map(|note| note.way).collect();
    // The count-in is a bar.
    let run_s = plan.material.seconds() + plan.material.rhythm.bar_s();
    Some(Offer { name: line.kept_as(harp)?, title: line.title(), ways, run_s })
}

/// What a block is for, in a word.
pub(crate) fn part(part: Part) -> &'static str {
    match part {
        Part::WarmUp => "warm up",
        Part::Due => "due",
        Part::Unheard => "first",
        Part::Weak => "hard",
        Part::Musical => "music",
        Part::Programme => "programme",
        Part::Again => "again",
        Part::New => "new",
    }
}

/// How many runs a block has; none of a drill.
pub(crate) fn runs(block: &Block) -> Option<u32> {
    match block.task {
        Task::Drill(_) => None,
        Task::InTime(_, runs) => Some(runs),
    }
}
