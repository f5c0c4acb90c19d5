//! Why something is practised today, in words.

use super::{Part, Reason};
use crate::{NoteDay, Skill, Skills};
use layout::{Technique, Way};
use practice::Lean;

/// Speaks of bends in a block.
pub(super) struct Words<'a> {
    pub(super) part: Part,
    pub(super) all: &'a Skills,
}

impl Words<'_> {
    /// Why this bend.
    pub(super) fn why(&self, skill: &Skill) -> Reason {
        let why = skill.last().map_or_else(|| self.why_unheard(), |last| self.why_heard(skill, last));
        Reason { way: Some(skill.way), why }
    }

    fn why_heard(&self, skill: &Skill, last: &NoteDay) -> String {
        let when = last.day.spoken(self.all.today());
        let came = format!("{} of {} landed {when}{}", last.landed, last.tries, off(last));
        match self.part {
            _ if skill.spacing.is_stuck() => format!("{came}; it needs time: every third day"),
            Part::Programme => format!("{came}; the programme asks for it"),
            Part::Due if skill.spacing.is_growing() => {
                let days = self.all.today().since(last.day);
                format!("{came}; does it still after {days} days?")
            }
            _ => came,
        }
    }

    fn why_unheard(&self) -> String {
        let why = match self.part {
            Part::Programme => "the programme asks for it",
            Part::New => "new, a step beyond what you can count on",
            _ => "not heard from you yet",
        };
        why.to_owned()
    }
}

/// ", 22 cents short on average", of what was measured that day; nothing where that is too little to hear.
pub(crate) fn off(day: &NoteDay) -> String {
    match day.mean_cents().filter(|cents| cents.abs() >= Lean::HEARD_CENTS) {
        Some(cents) => format!(", {:.0} cents {} on average", cents.abs(), side(day.way, cents)),
        None => String::new(),
    }
}

/// How a distance from a note is called, in cents, sharp positive: a bend stops short of its depth or goes past it, a
/// natural note is flat or sharp.
pub fn side(way: Way, cents: f64) -> &'static str {
    match (way.technique, cents > 0.0) {
        (Technique::Bend(_), true) | (Technique::Overbend, false) => "short",
        (Technique::Bend(_), false) | (Technique::Overbend, true) => "past",
        (Technique::Natural, true) => "sharp",
        (Technique::Natural, false) => "flat",
    }
}

/// "a, b and c".
pub(crate) fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [before @ .., last] => format!("{} and {last}", before.join(", ")),
    }
}

/// With a capital letter.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
