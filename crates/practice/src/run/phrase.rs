//! Phrases: notes of the player's own on a clock.

use super::{Material, TimedNote, phrase_read};
use crate::NotForHarp;
use crate::drill::not_for_harp;
use layout::{FileError, Harp};
use theory::{Level, Position};

/// A phrase or lick. Whether a harp can play it, [`Phrase::cannot_play`] says.
#[derive(Clone, Debug, PartialEq)]
pub struct Phrase {
    /// Short name, as given on the command line.
    pub name: String,
    /// What it is good for, a sentence or two.
    pub about: String,
    /// What to take care of (breath, reeds), if the phrase needs it said.
    pub caution: Option<String>,
    /// The tuning it is for, where it is for one only.
    pub tuning: Option<String>,
    /// The position it is thought in, where that is said.
    pub position: Option<Position>,
    /// What the player has to command for it, where that is said.
    pub needs: Option<Level>,
    /// Its title, and what is played when, at the tempo that is suggested.
    pub material: Material,
}

impl Phrase {
    /// Reads a phrase as a player writes it, in TOML:
    ///
    /// ```toml
    /// title = "Down to the whole step"   # needed
    /// about = "What it is good for"      # the rest, but for the bars, may be left out
    /// caution = "What to take care of"
    /// tuning = "Richter"                 # only for harps of this tuning
    /// position = 2                       # in which position it is thought
    /// needs = "draw-bends"               # plain, half-steps, draw-bends, bends, overblows, everything
    /// metre = "4/4"                      # 2/4, 3/4, 4/4, 5/4, 6/8, 12/8
    /// tempo = 84                         # beats a minute, 30 to 240
    /// swing = "2:1"                      # of eighths; straight if not given
    /// bars = """
    /// quarter -2   eighths -3' 4   half -4
    /// triplets -4 -4' 4   dotted quarter -3'   eighth -2   quarter rest
    /// quarter hold   eighth rest -2   half -2 to quarter -2''
    /// repeat bars 1 to 2
    /// """
    /// ```
    ///
    /// A line is a bar, and has to fill it. A length, in words, stands before the notes and holds until the next one:
    /// `whole`, `half`, `quarter`, `eighth`, `sixteenth`, one or many; `dotted` before it makes it half as long again,
    /// `triplets` behind it two thirds (`triplets` alone are those of eighths). A note is tab with the usual signs
    /// ([`layout::TabStyle::default`]). `rest` is a silence of that length; `hold` keeps the note before it for that
    /// length, over the bar line as well; `to` before a note joins it to the one before, without a new attack. `repeat
    /// bar 1` and `repeat bars 1 to 2` are those bars again.
    ///
    /// Holes in brackets are a chord: `eighths (-1 -2 -3) (-1 -2 -3)   quarter (1 2 3)`. A phrase with a chord is
    /// judged by the reeds that sound together: at most as many as the ear tells apart ([`pitch::reeds::MAX_VOICES`]),
    /// of one breath, within five holes, none of them bent, and none joined by `to`.
    ///
    /// # Errors
    /// If the text is no TOML, has an unknown key or a value out of range, a bar is too long or too short, or asks for
    /// something that `harp` cannot play: the first such mistake.
    pub fn parse(name: &str, text: &str, harp: &Harp) -> Result<Self, FileError> {
        phrase_read::read(name, text, Some(harp))
    }

    /// Reads a phrase for no harp in particular, as a list to choose from needs it; [`Phrase::cannot_play`] says
    /// whether a harp can play it.
    ///
    /// # Errors
    /// If the text is no TOML, has an unknown key or a value out of range, or a bar is too long or too short: the first
    /// such mistake.
    pub fn read(name: &str, text: &str) -> Result<Self, FileError> {
        phrase_read::read(name, text, None)
    }

    /// Why a harp is not for this phrase; nothing if it can play it all.
    pub fn cannot_play(&self, harp: &Harp) -> Option<NotForHarp> {
        let ways = self.material.notes().iter().flat_map(TimedNote::ways);
        not_for_harp(self.tuning.as_deref(), ways, harp)
    }
}
