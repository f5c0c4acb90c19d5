//! Turning the dials of the map.

use super::{Mapping, harp_with};
use crate::keys::Dial;
use layout::{Harp, Temperament};
use theory::{Level, Position};

impl Mapping {
    /// Turns a dial one step forwards or back; gives the harp if that is another one now.
    pub(crate) fn turn(&mut self, dial: Dial, forward: bool, harp: &Harp) -> Option<Harp> {
        let changed = match dial {
            Dial::Tuning => self.other_tuning(forward, harp),
            Dial::Temperament => self.other_temperament(forward, harp),
            Dial::Position => {
                self.position = turned(self.position, forward);
                None
            }
            Dial::Scale => {
                self.scale = wrapped(self.scale, forward, self.library.scales.iter().count());
                None
            }
            Dial::Ability => {
                self.level = self.other_level(forward);
                None
            }
        };
        self.rebuild(changed.as_ref().unwrap_or(harp));
        changed
    }

    /// The next level up or down from the one looked at, which at first is the player's own; it stays at either end.
    fn other_level(&self, forward: bool) -> Option<Level> {
        let own = self.library.ability.level();
        let now = self.level.unwrap_or(own);
        let mut levels = Level::ALL.into_iter();
        let next =
            if forward { levels.find(|level| *level > now) } else { levels.rfind(|level| *level < now) };
        Some(next.unwrap_or(now)).filter(|level| *level != own)
    }

    fn other_tuning(&self, forward: bool, harp: &Harp) -> Option<Harp> {
        let tunings = &self.library.tunings;
        let now = tunings.iter().position(|known| known.tuning.name() == harp.tuning().name()).unwrap_or(0);
        let next = tunings.get(wrapped(now, forward, tunings.len()))?;
        Some(harp_with(harp, next.tuning.clone(), self.temperament(harp)))
    }

    fn other_temperament(&self, forward: bool, harp: &Harp) -> Option<Harp> {
        let known = &self.library.temperaments;
        let now = self.library.temperament_index(harp).unwrap_or(0);
        let next = known.get(wrapped(now, forward, known.len()))?;
        Some(harp_with(harp, harp.tuning().clone(), Some(next)))
    }

    /// The temperament of the harp's reeds, if it is one that has a name.
    pub(crate) fn temperament(&self, harp: &Harp) -> Option<&Temperament> {
        self.library.temperament_of(harp)
    }
}

/// The position after or before this one; the twelfth is followed by the first.
pub(crate) fn turned(position: Position, forward: bool) -> Position {
    let step = if forward { 0 } else { 10 };
    Position::new((position.number() + step) % 12 + 1).unwrap_or(position)
}

/// The next index of `count` or the one before, round and round.
pub(super) fn wrapped(index: usize, forward: bool, count: usize) -> usize {
    let count = count.max(1);
    if forward { (index + 1) % count } else { (index + count - 1) % count }
}
