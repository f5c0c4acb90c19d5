//! Ways in words, as players say them.

use crate::{Breath, Technique, Way};
use std::fmt;

/// A number of half steps in words, without an article: "half step", "whole step", "one and a half steps", "2 steps".
pub fn steps(half_steps: u8) -> String {
    match half_steps {
        0 => "no step".to_owned(),
        1 => "half step".to_owned(),
        2 => "whole step".to_owned(),
        3 => "one and a half steps".to_owned(),
        n if n % 2 == 0 => format!("{} steps", n / 2),
        n => format!("{} and a half steps", n / 2),
    }
}

/// A number of half steps with its article where it takes one: "a half step", "one and a half steps".
pub(crate) fn bend_words(half_steps: u8) -> String {
    let article = if matches!(half_steps, 1 | 2) { "a " } else { "" };
    format!("{article}{}", steps(half_steps))
}

impl fmt::Display for Way {
    /// "4 blow", "half step on 3 draw", "6 overblow", "7 overdraw".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (hole, breath) = (self.hole, self.breath.word());
        f.pad(&match (self.technique, self.breath) {
            (Technique::Natural, _) => format!("{hole} {breath}"),
            (Technique::Bend(depth), _) => format!("{} on {hole} {breath}", steps(depth)),
            (Technique::Overbend, Breath::Blow) => format!("{hole} overblow"),
            (Technique::Overbend, Breath::Draw) => format!("{hole} overdraw"),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_are_said_as_players_say_them() {
        let said = |hole, breath, technique| Way::new(hole, breath, technique).to_string();
        assert_eq!(said(4, Breath::Blow, Technique::Natural), "4 blow");
        assert_eq!(said(3, Breath::Draw, Technique::Bend(1)), "half step on 3 draw");
        assert_eq!(said(2, Breath::Draw, Technique::Bend(2)), "whole step on 2 draw");
        assert_eq!(said(3, Breath::Draw, Technique::Bend(3)), "one and a half steps on 3 draw");
        assert_eq!(said(3, Breath::Draw, Technique::Bend(4)), "2 steps on 3 draw");
        assert_eq!(said(3, Breath::Draw, Technique::Bend(5)), "2 and a half steps on 3 draw");
        assert_eq!(said(6, Breath::Blow, Technique::Overbend), "6 overblow");
        assert_eq!(said(10, Breath::Draw, Technique::Overbend), "10 overdraw");
    }
}
