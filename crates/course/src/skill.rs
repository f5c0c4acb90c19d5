//! What is known of each bend and overbend that was practised.

use crate::{Belief, Day, NoteDay, Past, Spacing};
use layout::{Technique, Way};
use std::collections::BTreeMap;
use theory::{Ability, Mastery};

/// What is expected of a way that the player claims, before it was heard …
const CLAIMED: f64 = 0.7;
/// … and of one that he does not.
const NOT_CLAIMED: f64 = 0.25;

/// From this chance of landing on a way is called dependable.
pub(crate) const DEPENDABLE: f64 = 0.8;
/// From this chance on it is within reach, be it not every time: every second time.
pub(crate) const WITHIN_REACH: f64 = 0.5;
/// Below this chance it cannot be counted on.
const NOT_YET: f64 = 0.35;
/// Fewer tries than this overrule nothing that the player says of himself.
const LEAST_TRIES: u32 = 8;

/// The last days of practice that are taken in: less than a thousandth of a belief after them is owed to what came
/// before (`BEFORE`, `PER_DAY` and `PER_TRY` of the belief, ten tries a day).
const DAYS_THAT_COUNT: usize = 40;

/// What is known of a way to play.
#[derive(Clone, Debug, PartialEq)]
pub struct Skill {
    /// The way.
    pub way: Way,
    /// How well it is commanded, as of the day that was asked about.
    pub belief: Belief,
    /// When it comes back.
    pub spacing: Spacing,
    /// The days on which it was tried, the last of them last.
    pub days: Vec<NoteDay>,
}

/// What is known of every way to play that was practised, on a day.
#[derive(Clone, Debug, PartialEq)]
pub struct Skills {
    today: Day,
    claimed: Ability,
    known: BTreeMap<Way, Skill>,
}

impl Skills {
    /// What is known today of a player with this past, who claims so much.
    pub fn of(past: &Past, claimed: &Ability, today: Day) -> Self {
        let mut known: BTreeMap<Way, Skill> = BTreeMap::new();
        for heard in past.notes.iter().filter(|heard| heard.tries > 0) {
            // A clock that was set back must not make tomorrow's tries out of today's.
            let heard = NoteDay { day: heard.day.min(today), ..*heard };
            known.entry(heard.way).or_insert_with(|| Skill::unheard(heard.way, claimed)).add(heard);
        }
        for skill in known.values_mut() {
            skill.infer(today);
        }
        Self { today, claimed: claimed.clone(), known }
    }

    /// What is known of a way; what is expected, if it was never heard.
    pub fn of_way(&self, way: Way) -> Skill {
        self.known.get(&way).cloned().unwrap_or_else(|| Skill::unheard(way, &self.claimed))
    }

    /// Those that were heard, hole by hole.
    pub fn heard(&self) -> impl Iterator<Item = &Skill> {
        self.known.values()
    }

    /// The day.
    pub fn today(&self) -> Day {
        self.today
    }

    /// What the player claims.
    pub fn claimed(&self) -> &Ability {
        &self.claimed
    }

    /// What the player commands: what was heard, and where too little was, what he claims. Single ways of which he says
    /// himself how well he commands them stay as he says.
    pub fn ability(&self) -> Ability {
        let bends = self.known.values().filter(|skill| skill.way.technique != Technique::Natural);
        let heard = bends.filter_map(|skill| Some((skill.way, skill.mastery()?)));
        heard
            .filter(|(way, _)| !self.claimed.speaks_of(*way))
            .fold(self.claimed.clone(), |ability, (way, mastery)| ability.with(way, mastery))
    }
}

impl Skill {
    fn unheard(way: Way, claimed: &Ability) -> Self {
        let natural = way.technique == Technique::Natural;
        let expected = match claimed.mastery(way) {
            _ if natural => DEPENDABLE,
            Mastery::Sure => CLAIMED,
            Mastery::Learning => WITHIN_REACH,
            Mastery::NotYet => NOT_CLAIMED,
        };
        let belief = Belief::expecting(expected);
        Self { way, belief, spacing: Spacing::default(), days: Vec::new() }
    }

    /// Adds a day, or more tries of the last one.
    fn add(&mut self, heard: NoteDay) {
        match self.days.last_mut() {
            Some(last) if last.day == heard.day => *last = last.and(&heard),
            _ => self.days.push(heard),
        }
    }

    /// What follows from its days.
    fn infer(&mut self, today: Day) {
        for day in &self.days[self.days.len().saturating_sub(DAYS_THAT_COUNT)..] {
            self.belief.hear(day);
            self.spacing.hear(day.day, (day.landed, day.tries));
        }
        self.belief = self.belief.on(today);
    }

    /// The tries of the last day on which there were any.
    pub fn last(&self) -> Option<&NoteDay> {
        self.days.last()
    }

    /// Whether it was ever heard.
    pub fn is_heard(&self) -> bool {
        self.belief.tries() > 0
    }

    /// How well it is commanded; `None` where too little was heard to say.
    pub fn mastery(&self) -> Option<Mastery> {
        let (chance, (_, high)) = (self.belief.chance(), self.belief.interval());
        if self.belief.tries() < LEAST_TRIES {
            return None;
        }
        Some(match chance {
            _ if chance >= DEPENDABLE => Mastery::Sure,
            _ if chance < NOT_YET && high < WITHIN_REACH => Mastery::NotYet,
            _ => Mastery::Learning,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use theory::Level;

    fn way(tab: &str) -> Way {
        layout::TabStyle::default().read(tab).unwrap()
    }

    fn heard(tab: &str, day: i32, (landed, tries): (u32, u32)) -> NoteDay {
        NoteDay { day: Day(day), way: way(tab), tries, landed, measured: 0, cents: 0.0, cents_squared: 0.0 }
    }

    fn skills(notes: Vec<NoteDay>, claimed: &str) -> Skills {
        Skills::of(&Past { notes, ..Past::default() }, &claimed.parse().unwrap(), Day(10))
    }

    #[test]
    fn ability_is_what_was_heard_and_where_little_was_what_is_claimed() {
        let notes = vec![
            heard("-3'", 9, (1, 20)),
            heard("-4'", 9, (19, 20)),
            heard("-3''", 9, (10, 20)),
            heard("6o", 9, (19, 20)),
            heard("-2'", 9, (0, 3)),
            heard("8'", 9, (20, 20)),
        ];
        let ability = skills(notes, "draw-bends").ability();
        assert_eq!(ability.level(), Level::DrawBends);
        let told = |tab: &str| ability.mastery(way(tab));
        assert_eq!(
            ["-3'", "-4'", "-3''", "6o"].map(told),
            [Mastery::NotYet, Mastery::Sure, Mastery::Learning, Mastery::Sure]
        );
        assert_eq!(told("-2'"), Mastery::Sure, "three tries overrule nothing");
    }

    #[test]
    fn the_player_overrules_what_was_heard() {
        let notes = vec![heard("6o", 9, (0, 40)), heard("5o", 9, (0, 40))];
        let ability = skills(notes, "everything").ability();
        assert_eq!(
            (ability.mastery(way("6o")), ability.mastery(way("5o"))),
            (Mastery::NotYet, Mastery::NotYet)
        );
        let notes = vec![heard("6o", 9, (0, 40))];
        let ability = skills(notes, "draw-bends, 6o").ability();
        assert_eq!(ability.mastery(way("6o")), Mastery::Sure);
    }

    #[test]
    fn the_tries_of_the_last_day_are_told() {
        let notes = vec![heard("-3'", 1, (9, 10)), heard("-3'", 2, (8, 10)), heard("-3'", 3, (1, 10))];
        let skill = skills(notes, "draw-bends").of_way(way("-3'"));
        let told = |it: Option<NoteDay>| it.map(|it| (it.landed, it.tries));
        assert_eq!(told(skill.last().copied()), Some((1, 10)));
    }
}
