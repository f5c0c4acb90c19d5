//! When an item has had enough tries.

use crate::Item;

/// An item that is wanted several times in a row gets this many tries at most where the drill names no number: enough to
/// learn something, and few enough to keep the lips fresh. Ours; common practice, no source.
pub(crate) const MOST_TRIES: u32 = 20;

/// How the tries at one item have gone.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Streak {
    /// Tries that landed one after the other, up to now.
    landed: u32,
    /// A note of the try that is going on did not land.
    broken: bool,
    /// The try after which there is no more, where the player asked for one more than the drill has.
    last: Option<u32>,
}

impl Streak {
    /// One try more than the drill has: the one of this number.
    pub(crate) fn one_more(attempt: u32) -> Self {
        Self { last: Some(attempt), ..Self::default() }
    }

    /// A note of the item was judged.
    pub(crate) fn note(&mut self, landed: bool) {
        self.broken |= !landed;
    }

    /// Tries that landed one after the other.
    pub(crate) fn landed(&self) -> u32 {
        self.landed
    }

    /// The try of this number is over: whether there is another.
    pub(crate) fn goes_on(&mut self, item: &Item, attempt: u32) -> bool {
        self.landed = if self.broken { 0 } else { self.landed + 1 };
        self.broken = false;
        match (self.last, item.in_a_row) {
            (Some(last), _) => attempt < last,
            (None, Some(wanted)) => self.landed < wanted && attempt < item.tries.max(wanted),
            (None, None) => attempt < item.tries,
        }
    }
}
