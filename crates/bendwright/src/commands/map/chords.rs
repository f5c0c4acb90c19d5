//! The chords under the mouth and the places of a progression, as data.

use super::Asked;
use layout::{Breath, Harp};
use serde::Serialize;
use theory::{
    Chord, ChordGroup, Degree, Function, HarpChord, HoleRun, NoteName, Place, Progression, Purpose,
    ScaleInKey, chord_tones, for_player,
};

/// A chord on one breath.
#[derive(Debug, Serialize)]
pub(super) struct ChordData {
    /// Its names, the first that of the lowest place.
    pub(super) names: Vec<ChordName>,
    pub(super) notes: Vec<String>,
    pub(super) breath: Breath,
    /// Rows of neighbouring holes: any `at_least` of them in a row sound the chord.
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
    low: u8,
    high: u8,
    /// How many neighbouring holes are needed.
    at_least: u8,
    pub(super) words: String,
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

/// What the position is for.
#[derive(Debug, Serialize)]
pub(super) struct PurposeData {
    /// What is played in it; common practice, for Richter reeds only.
    pub(super) suits: Option<&'static str>,
    /// The chords on the first, fourth and fifth degree.
    chords: Vec<MainChordData>,
    /// The degrees that no reed sounds.
    lacks: Vec<String>,
    /// What the position is for, in words.
    pub(super) words: String,
}

#[derive(Debug, Serialize)]
struct MainChordData {
    numeral: &'static str,
    /// The chords on this degree that neighbouring holes sound; empty if there are none.
    triads: Vec<TriadData>,
}

#[derive(Debug, Serialize)]
struct TriadData {
    function: String,
    symbol: String,
    quality: &'static str,
    breath: Breath,
    runs: Vec<RunData>,
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
    /// The best place; none if no two of its notes lie together.
    pub(super) place: Option<GripData>,
    /// Its notes from the root up, each with the ways in reach.
    pub(super) tones: Vec<ToneData>,
}

/// A note of a chord and where it lies.
#[derive(Debug, Serialize)]
pub(super) struct ToneData {
    /// The degree above the chord's root.
    pub(super) degree: String,
    pub(super) name: String,
    /// The cheapest way in reach in each octave, from the lowest; none if none is in reach.
    pub(super) tab: Vec<String>,
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
    /// Every chord of a harp that has a name, sorted by how far its root lies above the tonic, chords of fewer notes
    /// first.
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

    /// Whether the chord has more than two notes.
    pub(super) fn is_full(&self) -> bool {
        self.notes.len() > 2
    }
}

impl PurposeData {
    pub(super) fn new(harp: &Harp, key: &ScaleInKey) -> Self {
        let purpose = Purpose::new(harp, key);
        let triad = |(chord, group): &(Chord, ChordGroup)| TriadData {
            function: chord.function(key).to_string(),
            symbol: chord.symbol(key),
            quality: chord.kind.name(),
            breath: group.breath,
            runs: group.runs().iter().map(RunData::from).collect(),
        };
        let chords = purpose.chords.iter().map(|chord| MainChordData {
            numeral: chord.numeral,
            triads: chord.triads.iter().map(triad).collect(),
        });
        Self {
            suits: purpose.suits,
            chords: chords.collect(),
            lacks: purpose.lacks.iter().map(Degree::to_string).collect(),
            words: format!("{}; {}.", purpose.chord_words(key), purpose.lack_words()),
        }
    }
}

impl From<&HoleRun> for RunData {
    fn from(run: &HoleRun) -> Self {
        Self {
            low: *run.holes.start(),
            high: *run.holes.end(),
            at_least: run.at_least,
            words: run.to_string(),
        }
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
    let reached = for_player(harp, &chord_tones(harp, key, function), &asked.ability);
    let tone = |(degree, name): (Degree, NoteName)| {
        let own = reached.iter().filter(|tone| tone.note.is.name == name);
        let tab = own.filter_map(|tone| tone.way).map(|way| asked.setup.tab.print(way));
        ToneData { degree: degree.to_string(), name: name.to_string(), tab: tab.collect() }
    };
    PlaceData {
        function: function.to_string(),
        symbol: chord.symbol(key),
        place: Place::all(harp, key, function).first().map(GripData::from),
        tones: function.kind.degrees().zip(chord.notes(key)).map(tone).collect(),
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
