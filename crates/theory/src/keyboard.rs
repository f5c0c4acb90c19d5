//! The cheapest way to each note of a harp for one player.

use crate::cost::{LEARNING, MISSING, OVERBLOW, cost_on, high};
use crate::{Ability, Mastery};
use layout::{Breath, Harp, Technique, Way};

/// Points for a blue note of a player who does not command its bend: the natural note above it, which the chord has
/// too, stands in. It costs less than any bend because nothing wrong sounds. Ours; common practice, no source.
const STAND_IN: u32 = 1;
/// Points for a blue note where the natural note above stands in and cannot be bent on this harp: nothing wrong sounds,
/// but only an overblow makes the blue note. It costs as much as an overblow.
const UNBENDABLE: u32 = OVERBLOW;

/// The cheapest way to each MIDI key, and what each key costs as a blue note.
pub(crate) struct Keyboard {
    keys: [(Option<Way>, u32); 128],
    blue: [Option<Blue>; 128],
    /// The lowest and the highest reed.
    pub(crate) low: u16,
    pub(crate) high: u16,
}

/// A blue note: the note a half step below a natural one of the chord.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Blue {
    /// The natural note above it.
    pub(crate) above: Way,
    /// What it costs, points.
    pub(crate) cost: u32,
}

impl Keyboard {
    /// The keyboard of a harp; `None` for a harp without a reed.
    pub(crate) fn new(harp: &Harp, ability: &Ability) -> Option<Self> {
        let mut keys = [(None, MISSING); 128];
        for way in harp.ways() {
            let (Some(note), Some(cost)) = (harp.note(way), cost_on(harp, way, ability)) else { continue };
            let key = &mut keys[usize::from(note.midi())];
            if cost < key.1 {
                *key = (Some(way), cost);
            }
        }
        let mut board = Self { keys, blue: [None; 128], low: u16::MAX, high: 0 };
        let holes = (1..=harp.holes()).flat_map(|hole| [(hole, Breath::Blow), (hole, Breath::Draw)]);
        for (hole, breath) in holes {
            let Some(reed) = harp.reed(hole, breath) else { continue };
            board.low = board.low.min(u16::from(reed.midi()));
            board.high = board.high.max(u16::from(reed.midi()));
            let above = Way::new(hole, breath, Technique::Natural);
            let below = usize::from(reed.midi()).checked_sub(1).and_then(|key| board.blue.get_mut(key));
            if let Some(key) = below {
                let cost = blue_cost(harp, above, ability);
                if key.is_none_or(|known| cost < known.cost) {
                    *key = Some(Blue { above, cost });
                }
            }
        }
        (board.low <= board.high).then_some(board)
    }

    /// The cheapest way to a key and what it costs, [`MISSING`] if there is none.
    pub(crate) fn at(&self, midi: u16) -> (Option<Way>, u32) {
        self.keys.get(usize::from(midi)).copied().unwrap_or((None, MISSING))
    }

    /// A key as a blue note, if a reed sounds the note a half step above it.
    pub(crate) fn blue(&self, midi: u16) -> Option<Blue> {
        self.blue.get(usize::from(midi)).copied().flatten()
    }

    /// The MIDI keys at which a stretch of `span` semitones can begin so that it fits on the harp. If the harp has less
    /// range than that, the stretch begins at its lowest reed and ends beyond its highest.
    pub(crate) fn starts(&self, span: u16) -> std::ops::RangeInclusive<u16> {
        self.low..=self.high.saturating_sub(span).max(self.low)
    }
}

/// What the note a half step below a natural one costs where the song wants it bent.
fn blue_cost(harp: &Harp, above: Way, ability: &Ability) -> u32 {
    let bendable = harp.bending_breath(above.hole) == Some(above.breath) && harp.deepest_bend(above.hole) > 0;
    let bend = match ability.mastery(Way { technique: Technique::Bend(1), ..above }) {
        Mastery::Sure => 0,
        Mastery::Learning => LEARNING.min(STAND_IN),
        Mastery::NotYet => STAND_IN,
    };
    high(above.hole) + if bendable { bend } else { UNBENDABLE }
}
