//! The scale that a position is begun with.

use crate::Position;
use layout::{Breath, Harp, Note, Technique, Tuning, Way};

/// The scale that a teacher gives first in a position, and where on a Richter harp it needs the fewest bends.
///
/// Which scale comes first is common practice, no source, and practice disagrees: in the third position some begin with
/// blues, in the fifth with the whole minor scale, in the twelfth with its raised fourth. The scales here sound like
/// their position and ask the least of the player. Their notes and ends follow from the layout.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FirstScale {
    number: u8,
    /// The name of the scale.
    pub scale: &'static str,
    /// From where to where: an octave, home at both ends.
    ends: (Way, Way),
    /// Why this one, in a sentence.
    pub about: &'static str,
}

const fn blow(hole: u8) -> Way {
    Way { hole, breath: Breath::Blow, technique: Technique::Natural }
}

const fn draw(hole: u8) -> Way {
    Way { hole, breath: Breath::Draw, technique: Technique::Natural }
}

const fn first(number: u8, scale: &'static str, ends: (Way, Way), about: &'static str) -> FirstScale {
    FirstScale { number, scale, ends, about }
}

const ALL: [FirstScale; 6] = [
    first(
        1,
        "major",
        (blow(4), blow(7)),
        "The octave in the middle is the one that the harp was made for: no bend.",
    ),
    first(
        2,
        "blues",
        (draw(2), blow(6)),
        "The low octave, with two bends by a half step: the blue notes on 3 and 4 draw.",
    ),
    first(
        3,
        "Dorian",
        (draw(4), draw(8)),
        "Minor with a bright sixth, in the middle of the harp and without a bend.",
    ),
    first(4, "natural minor", (draw(6), draw(10)), "The plain minor scale; high up it needs no bend."),
    first(5, "minor pentatonic", (blow(5), blow(8)), "Five notes, all dark and none of them bent."),
    first(
        12,
        "major pentatonic",
        (draw(5), draw(9)),
        "The major scale without its fourth, which is a bend here, and its seventh.",
    ),
];

impl FirstScale {
    /// All of them, by their positions: 1 to 5 and 12. In the other positions home is no natural note, or has no fifth
    /// above it.
    pub fn all() -> impl Iterator<Item = Self> {
        ALL.into_iter()
    }

    /// The first scale of a position on a harp with Richter reeds; `None` if the reeds are others or it has none.
    pub fn of(position: Position, harp: &Harp) -> Option<Self> {
        Self::all().find(|first| first.number == position.number() && *harp.tuning() == Tuning::richter())
    }

    /// The position.
    pub fn position(self) -> Position {
        Position::new(self.number).unwrap_or_default()
    }

    /// The lowest and the highest note on a harp with Richter reeds; `None` with other ones.
    pub fn range(self, harp: &Harp) -> Option<(Note, Note)> {
        let (low, high) = self.ends;
        Self::of(self.position(), harp).and_then(|_| Some((harp.note(low)?, harp.note(high)?)))
    }
}
