//! When the player was heard.

use pitch::reeds::Sounding;

/// From when on what was heard was loud enough to be the player's, or not: what [`Gated`](crate::Gated) said, in the
/// order of time.
#[derive(Clone, Debug)]
pub struct Presence {
    /// From this sample on, until the next.
    told: Vec<(u64, bool)>,
}

impl Default for Presence {
    /// Until something else is told, all that is heard may be the player.
    fn default() -> Self {
        Self { told: vec![(0, true)] }
    }
}

impl Presence {
    /// Takes what was told of a reading that was known at this sample.
    pub fn hear(&mut self, known: u64, is_player: bool) {
        self.told.push((known, is_player));
    }

    /// The reeds of `now`, or none if what was heard last was too faint to be the player: what is left of a band is
    /// still a band, and would be told as reeds.
    pub fn only_player(&self, now: Sounding) -> Sounding {
        let before = self.told.partition_point(|(known, _)| *known <= now.known);
        let is_player = before.checked_sub(1).is_none_or(|last| self.told[last].1);
        if is_player { now } else { Sounding::new(now.time, now.known, []) }
    }

    /// Forgets all but what was told last, which holds for whatever comes.
    pub fn forget(&mut self) {
        let last = self.told.last().is_none_or(|(_, is_player)| *is_player);
        self.told.clear();
        self.told.push((0, last));
    }
}
