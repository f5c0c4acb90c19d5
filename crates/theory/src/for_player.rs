//! A map seen with a player's eyes: what can be reached, and what stands nearest to the gaps.

use crate::cost::{MISSING, cheapest};
use crate::{Ability, MapNote};
use layout::{Harp, Note, Way};
use serde::Serialize;

/// A note of a map, for one player.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PlayerNote {
    /// The note with every way to play it.
    pub note: MapNote,
    /// The cheapest way that the player reaches.
    pub way: Option<Way>,
    /// What that way costs, in points ([`crate::cost`]); [`MISSING`] if there is none.
    pub cost: u32,
    /// For a note out of reach: what can be played in its place.
    pub substitutes: Vec<Substitute>,
}

/// A note of the same map that can stand for one out of reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Substitute {
    /// What sounds.
    pub note: Note,
    /// How the player plays it.
    pub way: Way,
    /// Semitones from the note out of reach up to this one; negative if it lies lower.
    pub semitones: i32,
}

impl PlayerNote {
    /// Whether the player reaches it.
    pub fn reachable(&self) -> bool {
        self.way.is_some()
    }
}

/// The notes of a map with what each costs a player. A note out of reach names its substitutes: the nearest note of
/// the map below and above that can be reached, and the same note an octave away, the nearest first.
///
/// ```
/// use layout::Harp;
/// use theory::{Ability, Level, Position, ScaleInKey, ScaleMap, Scales, for_player};
///
/// let harp = Harp::richter("C".parse().unwrap());
/// let blues = ScaleInKey::new(Scales::ours().find("blues").unwrap().clone(), "G".parse().unwrap());
/// let map = ScaleMap::new(&harp, &blues);
/// let notes = for_player(&harp, map.notes(), &Ability::new(Level::Plain));
/// let gaps = notes.iter().filter(|note| !note.reachable());
/// assert_eq!(gaps.map(|note| note.note.name()).collect::<Vec<_>>().join(" "), "D♭4 F4 B♭4 D♭5 B♭5 D♭6 B♭6 D♭7");
/// ```
pub fn for_player(harp: &Harp, notes: &[MapNote], ability: &Ability) -> Vec<PlayerNote> {
    let reached: Vec<Option<(Way, u32)>> =
        notes.iter().map(|note| cheapest(harp, &note.ways, ability)).collect();
    let with_reach = notes.iter().zip(&reached);
    with_reach
        .clone()
        .map(|(note, reach)| {
            let substitutes = match reach {
                Some(_) => Vec::new(),
                None => substitutes(note, with_reach.clone().filter_map(|(n, r)| Some((n.note, (*r)?.0)))),
            };
            let (way, cost) = reach.map_or((None, MISSING), |(way, cost)| (Some(way), cost));
            PlayerNote { note: note.clone(), way, cost, substitutes }
        })
        .collect()
}

/// The nearest reachable notes below and above, and those an octave away.
fn substitutes(gap: &MapNote, reachable: impl Iterator<Item = (Note, Way)> + Clone) -> Vec<Substitute> {
    let all = reachable.map(|(note, way)| {
        let semitones = i32::from(note.midi()) - i32::from(gap.note.midi());
        Substitute { note, way, semitones }
    });
    let below = all.clone().filter(|s| s.semitones < 0).max_by_key(|s| s.semitones);
    let above = all.clone().filter(|s| s.semitones > 0).min_by_key(|s| s.semitones);
    let octaves = all.filter(|s| s.semitones.abs() == 12);
    let mut found: Vec<Substitute> = below.into_iter().chain(above).chain(octaves).collect();
    found.sort_by_key(|s| (s.semitones.abs(), s.semitones));
    found.dedup();
    found
}
