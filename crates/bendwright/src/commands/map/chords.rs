//! The chords under the mouth and the places of a progression, as data.

use super::Asked;
use layout::{Breath, Harp};
use serde::Serialize;
use theory::{
    Chord, ChordGroup, Function, HarpChord, HoleRun, Place, Progression, ScaleInKey, chord_tones, for_player,
};

/// A chord on one breath.
#[derive(Debug, Serialize)]
pub(super) struct ChordData {
    /// Its names, the first that of the lowest place.
    pub(super) names: Vec<ChordName>,
    pub(super) notes: Vec<String>,
    pub(super) breath: Breath,
    /// Rows of neighbouring holes of which any so many sound it.
    pub(super) runs: Vec<RunData>,
    /// Pairs of holes with the tongue between them.
    splits: Vec<[u8; 2]>,
}

#[derive(Debug, PartialEq, Serialize)]
pub(super) struct ChordName {
    pub(super) function: String,
    pub(super) symbol: String,
}

#[derive(Debug, Serialize)]
pub(super) struct RunData {
    pub(super) low: u8,
    pub(super) high: u8,
    pub(super) at_least: u8,
}

/// Two holes on one breath, neighbours or with the tongue between them.
#[derive(Debug, Serialize)]
pub(super) struct PairData {
    interval: String,
    pub(super) semitones: u8,
    pub(super) breath: Breath,
    pub(super) low: u8,
    pub(super) high: u8,
}

/// A progression with the best place of each of its chords.
#[derive(Debug, Serialize)]
pub(super) struct ProgressionData {
    pub(super) name: String,
    pub(super) bars: Vec<Vec<String>>,
    pub(super) chords: Vec<PlaceData>,
}

#[derive(Debug, Serialize)]
pub(super) struct PlaceData {
    pub(super) function: String,
    pub(super) symbol: String,
    pub(super) notes: Vec<String>,
    /// The best place; none if no two of its notes lie together.
    pub(super) place: Option<GripData>,
    /// Its notes one after the other, for where there is no whole place.
    pub(super) tones: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(super) struct GripData {
    pub(super) words: String,
    breath: Breath,
    holes: Vec<u8>,
    /// Degrees of the chord above its root that do not sound.
    pub(super) missing: Vec<String>,
}

impl ChordData {
    /// Every chord of a harp that has a name, by how far its root lies above the tonic, small ones first.
    pub(super) fn all(harp: &Harp, key: &ScaleInKey) -> Vec<Self> {
        let mut groups = ChordGroup::all(harp);
        groups.sort_by_key(|group| {
            group
                .names
                .first()
                .map(|name| (name.function(key).degree.in_octave(), name.kind.degrees().count()))
        });
        groups.iter().map(|group| Self::new(group, key)).collect()
    }

    fn new(group: &ChordGroup, key: &ScaleInKey) -> Self {
        let name = |chord: &Chord| ChordName {
            function: chord.function(key).to_string(),
            symbol: chord.symbol(key),
        };
        let notes = group.names.iter().take(1).flat_map(|chord| chord.notes(key));
        Self {
            names: group.names.iter().map(name).collect(),
            notes: notes.map(|note| note.to_string()).collect(),
            breath: group.breath,
            runs: group.runs().iter().map(RunData::from).collect(),
            splits: group.splits().map(|grip| [grip.low, grip.high]).collect(),
        }
    }

    /// Whether it is more than two notes.
    pub(super) fn is_full(&self) -> bool {
        self.notes.len() > 2
    }
}

impl From<&HoleRun> for RunData {
    fn from(run: &HoleRun) -> Self {
        Self { low: *run.holes.start(), high: *run.holes.end(), at_least: run.at_least }
    }
}

impl PairData {
    /// Every pair of holes that sounds at once.
    pub(super) fn all(harp: &Harp) -> Vec<Self> {
        let pair = |chord: HarpChord| {
            let interval = chord.interval()?;
            Some(Self {
                interval: interval.to_string(),
                semitones: interval.semitones(),
                breath: chord.breath,
                low: chord.low,
                high: chord.high,
            })
        };
        HarpChord::all(harp).filter_map(pair).collect()
    }
}

impl ProgressionData {
    pub(super) fn new(asked: &Asked<'_>) -> Self {
        let progression: &Progression = asked.progression;
        let said = |bar: &Vec<Function>| bar.iter().map(Function::to_string).collect();
        Self {
            name: progression.name().to_owned(),
            bars: progression.bars().iter().map(said).collect(),
            chords: progression.chords().into_iter().map(|chord| place(asked, chord)).collect(),
        }
    }
}

fn place(asked: &Asked<'_>, function: Function) -> PlaceData {
    let (harp, key) = (&asked.setup.harp, &asked.choice.key);
    let chord = function.chord(key);
    let tones = for_player(harp, &chord_tones(harp, key, function), &asked.ability);
    let tones = tones.iter().filter_map(|tone| tone.way).map(|way| asked.setup.tab.print(way));
    PlaceData {
        function: function.to_string(),
        symbol: chord.symbol(key),
        notes: chord.notes(key).map(|note| note.to_string()).collect(),
        place: Place::all(harp, key, function).first().map(GripData::from),
        tones: tones.collect(),
    }
}

impl From<&Place> for GripData {
    fn from(place: &Place) -> Self {
        Self {
            words: place.holes.to_string(),
            breath: place.holes.breath,
            holes: place.holes.holes().collect(),
            missing: place.missing.iter().map(ToString::to_string).collect(),
        }
    }
}
