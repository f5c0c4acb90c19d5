//! When an item has had enough tries.

use crate::Item;

/// An item that is wanted several times in a row gets this many tries at most where the drill names no number: enough
/// to learn something, and few enough to keep the lips fresh. Ours; common practice, no source.
pub(crate) const MOST_TRIES: u32 = 20;

/// How the tries at one item have gone.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Streak {
    /// Tries that landed one after the other, up to now.
    landed: u32,
    /// A note of the try that is going on did not land.
    broken: bool,
    /// The try that goes on is one more than the drill has, for which the player asked: there is no other after it.
    is_extra: bool,
}

impl Streak {
    /// One try more than the drill has.
    pub(crate) fn one_more() -> Self {
        Self { is_extra: true, ..Self::default() }
    }

    /// A note of the item was judged.
    pub(crate) fn note(&mut self, landed: bool) {
        self.broken |= !landed;
    }

    /// Tries that landed one after the other.
    pub(crate) fn landed(self) -> u32 {
        self.landed
    }

    /// The try of this number is over: whether there is another.
    pub(crate) fn goes_on(&mut self, item: &Item, attempt: u32) -> bool {
        self.landed = if self.broken { 0 } else { self.landed + 1 };
        self.broken = false;
        match item.in_a_row {
            _ if self.is_extra => false,
            Some(wanted) => self.landed < wanted && attempt < item.tries.max(wanted),
            None => attempt < item.tries,
        }
    }
}
