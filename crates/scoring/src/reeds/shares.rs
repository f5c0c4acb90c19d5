//! Which reeds sounded over a stretch, for how much of it.

use super::{HeardReed, Holes};
use layout::{Breath, Technique, Way};
use pitch::reeds::Sounding;

/// A reed sounds if at least `SOUNDS` of the readings show it, as a share, and is silent if at most `SILENT` of them
/// do.
const SOUNDS: f64 = 0.75;
const SILENT: f64 = 0.25;
/// A reed that was asked for is missing only if at most this share of the readings shows it: the upper reed of an
/// octave hides among the harmonics of the lower one, and is seen now and then only (in 4 to 25 readings of 100 where
/// it was hardest to see, on low F; in none where it was silent).
const MISSING: f64 = 0.03;

/// A reed that was not asked for leaks in if it is at most this far below the strongest one, decibels: at a tenth of
/// its amplitude. The ear for reeds tells nothing of a reed that is 26 dB below, and the level of one that is 20 dB
/// below to 1.5 dB (`practice/tests/reed_sets.rs`); a teacher hears a neighbour that loud as an unclean note (common
/// practice, no source).
pub const LEAK_DB: f64 = 20.0;

/// The most holes that are counted.
const HOLES: usize = 16;

/// What the readings of a stretch come to.
#[derive(Clone, Debug)]
pub(crate) struct Shares {
    readings: f64,
    /// Readings in which something sounds, by breath: blow, draw.
    of_breath: [f64; 2],
    /// Readings that show a reed, and the sum of its decibels below the strongest one, by breath and hole.
    reeds: [[(f64, f64); HOLES]; 2],
    /// Readings that cannot tell whether a reed sounds, by breath and hole.
    hidden: [[f64; HOLES]; 2],
}

/// What can be told of a reed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Is {
    Sounding,
    Silent,
    Unsure,
}

impl Is {
    fn of(share: f64) -> Self {
        Self::silent_to(share, SILENT)
    }

    fn silent_to(share: f64, silent: f64) -> Self {
        match share {
            share if share >= SOUNDS => Self::Sounding,
            share if share <= silent => Self::Silent,
            _ => Self::Unsure,
        }
    }
}

fn index(breath: Breath) -> usize {
    usize::from(breath == Breath::Draw)
}

impl Shares {
    pub(crate) fn of<'a>(soundings: impl Iterator<Item = &'a Sounding>) -> Self {
        let mut shares = Self {
            readings: 0.0,
            of_breath: [0.0; 2],
            reeds: [[(0.0, 0.0); HOLES]; 2],
            hidden: [[0.0; HOLES]; 2],
        };
        for sounding in soundings {
            shares.readings += 1.0;
            let Some(strongest) = sounding.voices().next() else { continue };
            let draws = strongest.reed.is_some_and(|reed| reed.draw);
            shares.of_breath[usize::from(draws)] += 1.0;
            for voice in sounding.voices() {
                let Some(reed) = voice.reed else { continue };
                let hole = usize::from(reed.hole).checked_sub(1);
                let own = hole.and_then(|hole| shares.reeds[usize::from(reed.draw)].get_mut(hole));
                if let Some((count, below)) = own {
                    *count += 1.0;
                    *below += f64::from(strongest.level_dbfs - voice.level_dbfs);
                }
            }
            for reed in sounding.unsure() {
                let hole = usize::from(reed.hole).checked_sub(1);
                let own = hole.and_then(|hole| shares.hidden[usize::from(reed.draw)].get_mut(hole));
                if let Some(count) = own {
                    *count += 1.0;
                }
            }
        }
        shares
    }

    /// How many readings there were.
    pub(crate) fn readings(&self) -> f64 {
        self.readings
    }

    /// Whether reeds of this breath sounded.
    pub(super) fn breath(&self, breath: Breath) -> Is {
        Is::of(self.of_breath[index(breath)] / self.readings.max(1.0))
    }

    /// Whether a reed sounded.
    pub(super) fn reed(&self, breath: Breath, hole: u8) -> Is {
        let count = self.cell(breath, hole).0;
        Is::of(count / self.readings.max(1.0))
    }

    /// The mean level of a reed below the strongest one, decibels; 0 of one that was never there.
    pub(super) fn below_db(&self, breath: Breath, hole: u8) -> f64 {
        let (count, below) = self.cell(breath, hole);
        below / count.max(1.0)
    }

    /// Whether a reed that was not asked for sounded: more than `LEAK_DB` below the strongest one it counts as silent.
    pub(super) fn leak(&self, breath: Breath, hole: u8) -> Is {
        if self.below_db(breath, hole) > LEAK_DB { Is::Silent } else { self.reed(breath, hole) }
    }

    /// Those holes of this breath that sounded, the lowest first, with their levels.
    pub(super) fn heard(&self, breath: Breath) -> Vec<HeardReed> {
        let sounds = |hole: &u8| self.reed(breath, *hole) == Is::Sounding;
        let told = |hole| HeardReed {
            way: Way::new(hole, breath, Technique::Natural),
            below_db: self.below_db(breath, hole),
        };
        all().filter(sounds).map(told).collect()
    }

    /// Of the asked holes those that are silent, of the others those that sound, and whether everything else is sure.
    pub(super) fn against(&self, breath: Breath, asked: Holes) -> (Holes, Holes, bool) {
        let share = |hole: u8| self.cell(breath, hole).0 / self.readings.max(1.0);
        let is = |hole: u8| match Is::silent_to(share(hole), MISSING) {
            _ if !asked.contains(hole) => self.leak(breath, hole),
            Is::Silent if self.is_hidden(breath, hole) => Is::Unsure,
            is => is,
        };
        let missing = asked.iter().filter(|hole| is(*hole) == Is::Silent).collect();
        let leaked = all().filter(|hole| !asked.contains(*hole) && is(*hole) == Is::Sounding).collect();
        (missing, leaked, all().all(|hole| is(hole) != Is::Unsure))
    }

    /// Whether more than `SILENT` of the readings cannot tell if a reed sounds, so that it may not be called silent.
    fn is_hidden(&self, breath: Breath, hole: u8) -> bool {
        let readings = usize::from(hole).checked_sub(1).and_then(|hole| self.hidden[index(breath)].get(hole));
        readings.is_some_and(|readings| *readings > SILENT * self.readings)
    }

    /// Those holes of a breath that are neither sounding nor surely silent, because other reeds hide theirs.
    pub(crate) fn hidden(&self, breath: Breath) -> Holes {
        let silent = |hole: u8| self.cell(breath, hole).0 <= MISSING * self.readings;
        all().filter(|hole| silent(*hole) && self.is_hidden(breath, *hole)).collect()
    }

    /// The breath of what sounded; `None` if something sounds in fewer than `least` readings, or if these do not agree.
    pub(crate) fn breath_of(&self, least: f64) -> Option<Breath> {
        let all: f64 = self.of_breath.iter().sum();
        let clear = |breath: &Breath| self.of_breath[index(*breath)] >= SOUNDS * all;
        [Breath::Blow, Breath::Draw].into_iter().find(|breath| all >= least && clear(breath))
    }

    /// The holes of a breath that sounded, and those that perhaps did; what is too weak is left out.
    pub(crate) fn holes(&self, breath: Breath) -> (Holes, Holes) {
        let is = |hole: u8| match self.cell(breath, hole).0 / self.readings.max(1.0) {
            _ if self.below_db(breath, hole) > LEAK_DB => Is::Silent,
            share => Is::silent_to(share, MISSING),
        };
        let those = |what: Is| all().filter(|hole| is(*hole) == what).collect();
        (those(Is::Sounding), those(Is::Unsure))
    }

    fn cell(&self, breath: Breath, hole: u8) -> (f64, f64) {
        let hole = usize::from(hole).checked_sub(1);
        hole.and_then(|hole| self.reeds[index(breath)].get(hole)).copied().unwrap_or_default()
    }
}

/// Every hole that a harp may have.
pub(super) fn all() -> impl Iterator<Item = u8> {
    1..=HOLES as u8
}
