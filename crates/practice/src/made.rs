//! Drills that are made while practising: of one note, of what did not land, of the notes of a scale.

use crate::streak::MOST_TRIES;
use crate::{Drill, Item, PlayOrder, Session, Tried};
use layout::Way;
use scoring::Target;

/// How often a single note has to land one after the other before it counts as learnt for today. Common practice, no
/// source.
const IN_A_ROW: u32 = 3;
/// How long a note of a run is held, seconds: long enough to be judged, and short enough to hear the run as one.
const RUN_HOLD_S: f64 = 1.0;

impl Drill {
    /// Ways one after the other, each held for a second: a scale, say.
    pub fn of_ways(title: String, ways: impl IntoIterator<Item = Way>) -> Self {
        let item = |way| Item::single(Target { way, cents: 0.0, hold_s: RUN_HOLD_S }, 1);
        Self { items: ways.into_iter().map(item).collect(), ..Self::made("notes", title) }
    }

    /// A drill of this name without items, to be made while practising.
    pub fn made(name: &str, title: String) -> Self {
        Self {
            name: name.to_owned(),
            title,
            about: String::new(),
            caution: None,
            tuning: None,
            items: Vec::new(),
            order: PlayOrder::Written,
        }
    }
}

impl Session {
    /// A drill of the note that went worst, until it lands three times in a row; nothing if every note was centred.
    pub fn weakest(&self) -> Option<Drill> {
        let way = self.summary().weakest?;
        let tried = self.results().iter().rev().find(|tried| tried.way() == way)?;
        let asked = self.drill().items.get(tried.asked.item)?;
        let tolerance = asked.tolerance;
        let item = Item {
            in_a_row: Some(IN_A_ROW),
            tolerance,
            clean: asked.clean,
            ..Item::single(tried.asked.target, MOST_TRIES)
        };
        let made = Drill::made("one-note", format!("{way}, three in a row"));
        Some(Drill { caution: self.drill().caution.clone(), items: vec![item], ..made })
    }

    /// A drill of those items that were tried and did not land; nothing if all did. The notes of a joined item stay
    /// together.
    pub fn missed(&self) -> Option<Drill> {
        let (drill, order) = (self.drill(), self.order());
        let missed = order.iter().filter(|index| self.has_missed(**index));
        let items: Vec<Item> = missed.filter_map(|index| drill.items.get(*index)).cloned().collect();
        if items.is_empty() {
            return None;
        }
        let again = "what did not land";
        let title = match drill.title.strip_suffix(again) {
            Some(_) => drill.title.clone(),
            None => format!("{}: {again}", drill.title),
        };
        Some(Drill { title, items, order: PlayOrder::Written, ..drill.clone() })
    }

    /// Whether a try at an item did not land; of an item that has to land several times in a row, whether its last
    /// tries fell short of that.
    fn has_missed(&self, index: usize) -> bool {
        let counted = |tried: &&Tried| tried.asked.item == index && !tried.verdict.asks_again();
        let mut tries: Vec<(u32, bool)> = Vec::new();
        for tried in self.results().iter().filter(counted) {
            let landed = tried.has_landed();
            match tries.last_mut() {
                Some((attempt, whole)) if *attempt == tried.asked.attempt => *whole &= landed,
                _ => tries.push((tried.asked.attempt, landed)),
            }
        }
        let wanted = self.drill().items.get(index).and_then(|item| item.in_a_row);
        match wanted {
            _ if tries.is_empty() => false,
            Some(wanted) => tries.iter().rev().take_while(|(_, landed)| *landed).count() < wanted as usize,
            None => tries.iter().any(|(_, landed)| !landed),
        }
    }
}
