//! What sounds when a way is played, or why the harp cannot play it.

use crate::words::{bend_words, steps};
use crate::{Breath, Harp, Note, Technique, Way};
use std::fmt;

/// Why a harp cannot play a way; the text says what it can do instead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CannotPlay {
    /// There is no such hole (hole, holes of the harp).
    NoHole(u8, u8),
    /// Both reeds of the hole sound the same note, so neither bends nor overbends.
    EqualReeds(u8),
    /// The hole bends on the other breath (hole, the breath it bends on).
    BendsOn(u8, Breath),
    /// The reeds are a half step apart: nothing lies between them (hole, the breath of the higher reed).
    NoBend(u8, Breath),
    /// The bend asked for is deeper than the hole goes.
    TooDeep {
        /// Hole and breath, natural.
        way: Way,
        /// Half steps asked for.
        asked: u8,
        /// Half steps it can do.
        deepest: u8,
    },
    /// A bend by 0 half steps.
    BendOfNothing,
    /// The overbend is on the other breath (hole, the breath it is on).
    OverbendsOn(u8, Breath),
    /// The pitch lies outside MIDI's note numbers.
    OutOfRange,
}

impl Harp {
    /// What sounds when this way is played.
    ///
    /// A hole bends on the breath of its higher reed, as far as one semitone above the lower one (harmonica list
    /// archive, 1994; both reeds enclose every bend: Bahnson, Antaki & Beery, JASA 103 (1998)). An overbend sounds one
    /// semitone above the higher reed, on the breath of the lower one (common practice, no source; "outside the
    /// interval of the reeds": the same paper).
    ///
    /// # Errors
    /// If the harp cannot do it: the reason.
    pub fn play(&self, way: Way) -> Result<Note, CannotPlay> {
        if !(1..=self.holes()).contains(&way.hole) {
            return Err(CannotPlay::NoHole(way.hole, self.holes()));
        }
        let reed = self.reed(way.hole, way.breath).ok_or(CannotPlay::OutOfRange)?;
        match way.technique {
            Technique::Natural => Ok(reed),
            Technique::Bend(depth) => self.bend(way, depth, reed),
            Technique::Overbend => self.overbend(way),
        }
    }

    /// The note of a bend by `depth` half steps from `reed`.
    fn bend(&self, way: Way, depth: u8, reed: Note) -> Result<Note, CannotPlay> {
        let higher = self.bending_breath(way.hole).ok_or(CannotPlay::EqualReeds(way.hole))?;
        let deepest = self.deepest_bend(way.hole);
        if depth == 0 {
            Err(CannotPlay::BendOfNothing)
        } else if deepest == 0 {
            Err(CannotPlay::NoBend(way.hole, higher))
        } else if higher != way.breath {
            Err(CannotPlay::BendsOn(way.hole, higher))
        } else if depth > deepest {
            Err(CannotPlay::TooDeep { way: way.natural(), asked: depth, deepest })
        } else {
            reed.up(-i32::from(depth)).ok_or(CannotPlay::OutOfRange)
        }
    }

    /// The note of an overbend.
    fn overbend(&self, way: Way) -> Result<Note, CannotPlay> {
        let higher = self.bending_breath(way.hole).ok_or(CannotPlay::EqualReeds(way.hole))?;
        if higher == way.breath {
            return Err(CannotPlay::OverbendsOn(way.hole, higher.other()));
        }
        self.reed(way.hole, higher).and_then(|reed| reed.up(1)).ok_or(CannotPlay::OutOfRange)
    }
}

impl fmt::Display for CannotPlay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::NoHole(hole, holes) => write!(f, "there is no hole {hole}; the holes are 1 to {holes}"),
            Self::EqualReeds(hole) => {
                write!(f, "both reeds of hole {hole} sound the same note, so it neither bends nor overbends")
            }
            Self::BendsOn(hole, breath) => write!(f, "hole {hole} bends on the {} only", breath.word()),
            Self::NoBend(hole, breath) => write!(
                f,
                "hole {hole} has no half step to bend to; its {} reed is a half step above the other one",
                breath.word()
            ),
            Self::TooDeep { way, asked, deepest } => {
                write!(f, "{way} bends {} at most, not {}", bend_words(deepest), steps(asked))
            }
            Self::BendOfNothing => f.write_str("a bend goes down by a half step at least"),
            Self::OverbendsOn(hole, breath) => {
                let (has, has_not) = match breath {
                    Breath::Blow => ("overblow", "overdraw"),
                    Breath::Draw => ("overdraw", "overblow"),
                };
                write!(f, "hole {hole} has an {has}, no {has_not}")
            }
            Self::OutOfRange => f.write_str("that pitch lies outside the range of note numbers, 0 to 127"),
        }
    }
}

impl std::error::Error for CannotPlay {}
