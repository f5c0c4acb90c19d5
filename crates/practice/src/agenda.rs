//! Which item of a drill is asked for, which try at it, and how a drill ends: the same for notes and for chords.

use crate::streak::Streak;
use crate::{Drill, Ending, Item, Timebase};
use layout::Harp;

/// The last verdict of a drill is shown for this long at least, seconds.
const SHOWN_S: f64 = 1.2;
/// The drill is over after this much silence behind its last verdict, seconds.
const PAUSE_S: f64 = 0.5;

/// Where a drill stands, apart from pauses and from what is sounding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Stage {
    Asked,
    /// The last verdict of the drill is shown since this sample time; `None` until the next reading tells the time.
    Closing(Option<u64>),
    Over(Ending),
}

impl Stage {
    /// Whether the last verdict has been shown for long enough by this sample time, and the player been silent for long
    /// enough.
    pub(crate) fn is_shown(&mut self, base: Timebase, now: u64, silent_s: f64) -> bool {
        let Self::Closing(since) = self else { return false };
        let since = *since.get_or_insert(now);
        base.seconds(since, now) >= SHOWN_S && silent_s >= PAUSE_S
    }
}

/// The items of a drill in the order in which they are asked for, and which of them is asked for now.
#[derive(Clone, Debug)]
pub(crate) struct Agenda {
    drill: Drill,
    /// Indices of the items, in the order in which they are asked for.
    order: Vec<usize>,
    /// Index into `order`.
    at: usize,
    attempt: u32,
    streak: Streak,
}

impl Agenda {
    /// A drill, and the order in which its items are asked for: indices.
    pub(crate) fn new((drill, order): (Drill, Vec<usize>)) -> Self {
        Self { drill, order, at: 0, attempt: 1, streak: Streak::default() }
    }

    pub(crate) fn drill(&self) -> &Drill {
        &self.drill
    }

    pub(crate) fn order(&self) -> &[usize] {
        &self.order
    }

    /// How many items stand before the current one in the order.
    pub(crate) fn place(&self) -> usize {
        self.at
    }

    /// Index of the current item in the drill; at the end of the drill, of the last one.
    pub(crate) fn item(&self) -> usize {
        self.order.get(self.at).copied().unwrap_or(0)
    }

    /// The current item; `None` only of a drill without items.
    pub(crate) fn current(&self) -> Option<&Item> {
        self.drill.items.get(self.item())
    }

    /// The items after the current one, in their order.
    pub(crate) fn coming(&self) -> impl Iterator<Item = &Item> {
        self.order.iter().skip(self.at + 1).filter_map(|item| self.drill.items.get(*item))
    }

    /// Which try at the current item, counted from 1.
    pub(crate) fn attempt(&self) -> u32 {
        self.attempt
    }

    /// How many tries at this item have landed one after the other, and how many are wanted, where the drill asks for
    /// that.
    pub(crate) fn in_a_row(&self) -> Option<(u32, u32)> {
        Some((self.streak.landed(), self.current()?.in_a_row?))
    }

    /// Goes to the first item that this harp can play; `false` if there is none.
    pub(crate) fn begin(&mut self, harp: &Harp) -> bool {
        self.go_to(harp, 0)
    }

    /// Goes to the next item that this harp can play; `false` if there is none.
    pub(crate) fn next(&mut self, harp: &Harp) -> bool {
        self.go_to(harp, self.at + 1)
    }

    fn go_to(&mut self, harp: &Harp, from: usize) -> bool {
        let is_playable = |at: &usize| {
            let item = self.order.get(*at).and_then(|item| self.drill.items.get(*item));
            item.is_some_and(|item| item.ways().all(|way| harp.note(way).is_some()))
        };
        let Some(at) = (from..self.order.len()).find(is_playable) else { return false };
        (self.at, self.attempt, self.streak) = (at, 1, Streak::default());
        true
    }

    /// A note of the item, or its chord, was judged.
    pub(crate) fn note(&mut self, landed: bool) {
        self.streak.note(landed);
    }

    /// The try is over; `true` if the item gets another one, which is the current one from now on.
    pub(crate) fn tries_again(&mut self) -> bool {
        let item = self.order.get(self.at).and_then(|item| self.drill.items.get(*item));
        let more = item.is_some_and(|item| self.streak.goes_on(item, self.attempt));
        if more {
            self.attempt = self.attempt.saturating_add(1);
        }
        more
    }

    /// The current item gets one try more than the drill has.
    pub(crate) fn one_more(&mut self) {
        self.attempt = self.attempt.saturating_add(1);
        self.streak = Streak::one_more();
    }

    /// Goes back to an item for one try more than it had; `false` if it is the current one, or none of this drill.
    pub(crate) fn back_to(&mut self, item: usize, attempts: u32) -> bool {
        let place = self.order.iter().position(|other| *other == item);
        let Some(at) = place.filter(|at| *at != self.at) else { return false };
        (self.at, self.attempt) = (at, attempts);
        self.one_more();
        true
    }
}
