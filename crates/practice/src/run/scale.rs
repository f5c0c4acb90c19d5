//! Runs over a scale.

use layout::{Harp, Note, Way};
use oorandom::Rand32;
use serde::Serialize;
use std::fmt;
use std::str::FromStr;
use theory::{Ability, PlayerNote, ScaleInKey, ScaleMap, for_player};

use super::{Material, MaterialError, Rhythm, RhythmError, RunName};

/// Half steps of an octave.
const OCTAVE: i32 = 12;
/// Notes of a random walk.
const WALK: usize = 32;

/// In which order the notes of a scale are played.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Shape {
    /// From the lowest to the highest.
    Up,
    /// From the highest to the lowest.
    Down,
    /// Up and down again.
    Both,
    /// In thirds: 1 3, 2 4, 3 5.
    Thirds,
    /// In groups of three: 1 2 3, 2 3 4.
    Threes,
    /// In groups of four: 1 2 3 4, 2 3 4 5.
    Fours,
    /// In broken chords: 1 3 5, 2 4 6.
    Chords,
    /// By steps at random, home at both ends.
    Walk,
}

impl Shape {
    const ALL: [(Self, &'static str); 8] = [
        (Self::Up, "up"),
        (Self::Down, "down"),
        (Self::Both, "up and down"),
        (Self::Thirds, "thirds"),
        (Self::Threes, "threes"),
        (Self::Fours, "fours"),
        (Self::Chords, "broken chords"),
        (Self::Walk, "random walk"),
    ];

    /// The notes of a scale, by their index from the lowest, in this order. `seed` decides about a walk.
    fn order(self, count: usize, seed: u64) -> Vec<usize> {
        let groups = |offsets: &'static [usize]| -> Vec<usize> {
            let widest = offsets.iter().copied().max().unwrap_or(0);
            let up = (0..count.saturating_sub(widest))
                .flat_map(|from| offsets.iter().map(move |offset| from + offset));
            // The last group ends on the top note; home comes at the end.
            up.chain([0]).filter(|_| count > widest).collect()
        };
        match self {
            Self::Up => (0..count).collect(),
            Self::Down => (0..count).rev().collect(),
            Self::Both => (0..count).chain((0..count.saturating_sub(1)).rev()).collect(),
            Self::Thirds => groups(&[0, 2]),
            Self::Threes => groups(&[0, 1, 2]),
            Self::Fours => groups(&[0, 1, 2, 3]),
            Self::Chords => groups(&[0, 2, 4]),
            Self::Walk => walk(count, seed),
        }
    }
}

/// Steps of one or two notes, either way, that turn at the ends, and then the shortest way home.
fn walk(count: usize, seed: u64) -> Vec<usize> {
    let mut random = Rand32::new(seed);
    let (mut at, mut notes) = (0usize, vec![0usize]);
    while count > 1 && notes.len() < WALK - 1 {
        let step = 1 + random.rand_range(0..2) as usize;
        let up = at < step || (at + step < count && random.rand_range(0..2) == 0);
        at = if up { (at + step).min(count - 1) } else { at - step };
        notes.push(at);
    }
    notes.push(0);
    notes
}

impl FromStr for Shape {
    type Err = RhythmError;

    fn from_str(text: &str) -> Result<Self, RhythmError> {
        let wanted = text.trim().to_lowercase().replace('-', " ");
        let found = Self::ALL.iter().find(|(_, name)| *name == wanted);
        found.map(|(shape, _)| *shape).ok_or_else(|| {
            let all: Vec<&str> = Self::ALL.iter().map(|(_, name)| *name).collect();
            RhythmError(format!("there is no order {text:?}; there are: {}", all.join(", ")))
        })
    }
}

impl fmt::Display for Shape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(Self::ALL.iter().find(|(shape, _)| shape == self).map_or("", |(_, name)| name))
    }
}

/// A run over a scale in a key.
#[derive(Clone, Debug)]
pub struct ScaleRun<'a> {
    /// The scale.
    pub key: &'a ScaleInKey,
    /// In which order.
    pub shape: Shape,
    /// From where to where; `None` for the octave that costs the player least.
    pub range: Option<(Note, Note)>,
    /// What the player commands: notes beyond it are left out.
    pub ability: &'a Ability,
    /// Decides about a random walk.
    pub seed: u64,
}

impl ScaleRun<'_> {
    /// The run on a harp in a rhythm.
    ///
    /// # Errors
    /// If the player commands nothing of it, or it is longer than a run.
    pub fn material(&self, harp: &Harp, rhythm: Rhythm) -> Result<Material, MaterialError> {
        Material::of_ways(RunName::of_scale(self.key, self.shape, harp), &self.ways(harp), rhythm)
    }

    /// The ways of the run on a harp. A scale that has other notes on its way down has them there.
    pub fn ways(&self, harp: &Harp) -> Vec<Way> {
        let map = ScaleMap::new(harp, self.key);
        let rising = for_player(harp, map.notes(), self.ability);
        let Some((low, high)) = self.range.or_else(|| best_octave(&rising)) else { return Vec::new() };
        let within = |note: &&PlayerNote| (low..=high).contains(&note.note.note);
        let up: Vec<Way> = rising.iter().filter(within).filter_map(|note| note.way).collect();
        let falling: Vec<_> = map.run_down(high, low).into_iter().cloned().collect();
        let down: Vec<Way> =
            for_player(harp, &falling, self.ability).iter().filter_map(|note| note.way).collect();
        match self.shape {
            Shape::Down => down,
            Shape::Both => up.iter().chain(down.iter().skip(1)).copied().collect(),
            shape => {
                shape.order(up.len(), self.seed).into_iter().filter_map(|i| up.get(i).copied()).collect()
            }
        }
    }
}

/// The octave from home to home with the fewest notes out of reach; of several, the one whose notes cost least; of
/// those the lowest.
pub(super) fn best_octave(notes: &[PlayerNote]) -> Option<(Note, Note)> {
    let homes = notes.iter().filter(|note| note.note.is.step.semitones() == 0);
    let octaves = homes.filter_map(|home| {
        let (low, high) = (home.note.note, home.note.note.up(OCTAVE)?);
        let within = || notes.iter().filter(|note| (low..=high).contains(&note.note.note));
        let ends = within().next_back().is_some_and(|last| last.note.note == high);
        let gaps = within().filter(|note| !note.reachable()).count();
        ends.then(|| (gaps, within().map(|note| note.cost).sum::<u32>(), low, high))
    });
    let (_, _, low, high) = octaves.min()?;
    Some((low, high))
}
