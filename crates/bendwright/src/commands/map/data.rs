//! What `map` says, as data: the JSON is this, and the text is written from it.

use super::Asked;
use super::chords::{ChordData, PairData, ProgressionData, PurposeData};
use layout::{Breath, Harp, TabStyle, Technique, Way};
use serde::Serialize;
use theory::{
    Ability, Direction, MapNote, Mastery, NoteName, PlayerNote, Reduced, ScaleInKey, ScaleMap, ScaleNote,
    cost, for_player,
};

/// Version of the form; it changes when a field changes its meaning or goes.
const SCHEMA: &str = "bendwright/map/2";

/// Everything about a scale on a harp.
#[derive(Debug, Serialize)]
pub(crate) struct MapData {
    schema: &'static str,
    pub(super) title: String,
    pub(super) harp: HarpData,
    pub(super) position: PositionData,
    /// What the position is for.
    pub(super) purpose: PurposeData,
    pub(super) scale: ScaleData,
    pub(super) ability: AbilityData,
    /// The notes of the scale over the harp, from the lowest, those of its way down included.
    pub(super) notes: Vec<NoteData>,
    pub(super) octaves: Vec<OctaveData>,
    /// Everything each hole can do, whether the scale has it or not.
    holes: Vec<HoleData>,
    /// What the player reaches of the scale, and of the scale that fills it.
    pub(super) reduced: ReducedData,
    pub(super) chords: Vec<ChordData>,
    pub(super) pairs: Vec<PairData>,
    pub(super) progression: ProgressionData,
    pub(super) tab_signs: Vec<SignData>,
}

#[derive(Debug, Serialize)]
pub(super) struct HarpData {
    pub(super) key: String,
    pub(super) tuning: String,
    holes: u8,
    /// What 1 blow sounds.
    one_blow: String,
    home: String,
    /// What makers stamp on it, the usual key first.
    stamped: Vec<String>,
    /// What has to be said where the key alone would mislead.
    pub(super) about_key: Option<String>,
    pub(super) temperament: String,
    pub(super) a4_hz: f64,
}

#[derive(Debug, Serialize)]
pub(super) struct PositionData {
    number: u8,
    pub(super) words: String,
    pub(super) customary_name: Option<&'static str>,
    pub(super) tonic: String,
    /// The scale that the plain notes form from the tonic.
    pub(super) mode: Option<String>,
    pub(super) tonic_ways: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(super) struct ScaleData {
    name: String,
    also: Vec<String>,
    pub(super) notes: Vec<ScaleNoteData>,
    /// The notes on the way down, written upwards; in nearly every scale they are those of the way up.
    pub(super) falling: Vec<ScaleNoteData>,
}

#[derive(Debug, PartialEq, Serialize)]
pub(super) struct ScaleNoteData {
    pub(super) degree: String,
    pub(super) also: Option<String>,
    pub(super) name: String,
}

#[derive(Debug, Serialize)]
pub(super) struct AbilityData {
    pub(super) level: &'static str,
    pub(super) about: &'static str,
    pub(super) words: String,
    /// Whether the player said so, on the command line or in the settings.
    pub(super) declared: bool,
}

/// A note of the scale at a certain height.
#[derive(Debug, Serialize)]
pub(super) struct NoteData {
    pub(super) note: String,
    midi: u8,
    pub(super) degree: String,
    /// On which way the scale has it.
    pub(super) direction: Direction,
    /// The cheapest way that the player reaches.
    pub(super) tab: Option<String>,
    pub(super) words: Option<String>,
    pub(super) cost: Option<u32>,
    learning: bool,
    /// Every way, the simplest technique first.
    pub(super) ways: Vec<WayData>,
    /// For a note out of reach: what can be played in its place, the nearest first.
    pub(super) instead: Vec<InsteadData>,
}

/// A way to play.
#[derive(Debug, Serialize)]
pub(super) struct WayData {
    pub(super) tab: String,
    pub(super) words: String,
    hole: u8,
    breath: Breath,
    technique: Technique,
    command: Mastery,
    /// Points; none if the player does not reach it.
    cost: Option<u32>,
}

#[derive(Debug, Serialize)]
pub(super) struct InsteadData {
    pub(super) note: String,
    pub(super) tab: String,
    semitones: i32,
}

#[derive(Debug, Serialize)]
pub(super) struct OctaveData {
    pub(super) low: String,
    pub(super) high: String,
    /// Whether it reaches from tonic to tonic; if not, the harp ends before.
    pub(super) whole: bool,
    /// Tab upwards; what is out of reach stands in square brackets, `–` where the harp has nothing.
    pub(super) up: Vec<String>,
    pub(super) down: Vec<String>,
}

#[derive(Debug, Serialize)]
struct HoleData {
    hole: u8,
    ways: Vec<HoleWayData>,
}

#[derive(Debug, Serialize)]
struct HoleWayData {
    #[serde(flatten)]
    way: WayData,
    note: String,
    midi: u8,
    hz: Option<f64>,
    /// The degree, if the scale has the note.
    degree: Option<String>,
}

#[derive(Debug, Serialize)]
pub(super) struct ReducedData {
    pub(super) filling: Option<String>,
    pub(super) degrees: String,
    pub(super) notes: String,
    pub(super) tab: String,
}

#[derive(Debug, Serialize)]
pub(super) struct SignData {
    pub(super) sign: String,
    pub(super) meaning: String,
}

/// What the parts are made from.
struct Maker<'a> {
    harp: &'a Harp,
    key: &'a ScaleInKey,
    ability: &'a Ability,
    tab: &'a TabStyle,
}

impl MapData {
    pub(super) fn new(asked: &Asked<'_>) -> Self {
        let (setup, choice) = (asked.setup, asked.choice);
        let maker = Maker { harp: &setup.harp, key: &choice.key, ability: &asked.ability, tab: &setup.tab };
        let map = ScaleMap::new(&setup.harp, &choice.key);
        let reduced = Reduced::new(&setup.harp, &choice.key, asked.filling.as_ref(), &asked.ability);
        let signs = setup.tab.legend().into_iter();
        Self {
            schema: SCHEMA,
            title: choice.title(&setup.harp),
            harp: harp(asked),
            position: position(asked),
            purpose: PurposeData::new(&setup.harp, &choice.key),
            scale: scale(&choice.key),
            ability: AbilityData {
                level: asked.ability.level().name(),
                about: asked.ability.level().about(),
                words: asked.ability.to_string(),
                declared: choice.ability.is_some(),
            },
            notes: maker.player_notes(map.notes_either_way()).iter().map(|note| maker.note(note)).collect(),
            octaves: maker.octaves(&map),
            holes: (1..=setup.harp.holes()).map(|hole| maker.hole(hole)).collect(),
            reduced: ReducedData {
                filling: asked.filling.as_ref().map(ScaleInKey::title),
                degrees: reduced.degrees(),
                notes: reduced.names(),
                tab: reduced.tab(&setup.tab),
            },
            chords: ChordData::all(&setup.harp, &choice.key),
            pairs: PairData::all(&setup.harp),
            progression: ProgressionData::new(asked),
            tab_signs: signs.map(|(sign, meaning)| SignData { sign, meaning }).collect(),
        }
    }
}

fn harp(asked: &Asked<'_>) -> HarpData {
    let harp = &asked.setup.harp;
    HarpData {
        key: harp.key().to_string(),
        tuning: harp.tuning().name().to_owned(),
        holes: harp.holes(),
        one_blow: NoteName::on(harp, harp.key().pitch_class()).with_octave(harp.key().blow_1()),
        home: harp.home().to_string(),
        stamped: harp.stamps().iter().map(ToString::to_string).collect(),
        about_key: harp.stamp_words(),
        temperament: asked.setup.temperament.as_ref().map_or("equal", |t| t.name()).to_owned(),
        a4_hz: harp.concert().a4_hz(),
    }
}

fn position(asked: &Asked<'_>) -> PositionData {
    let (harp, position) = (&asked.setup.harp, asked.choice.position);
    let ways = position.tonic_ways(harp);
    let tab = ways.iter().map(|(_, way)| asked.setup.tab.print(*way));
    PositionData {
        number: position.number(),
        words: position.to_string(),
        customary_name: position.customary_name(),
        tonic: asked.choice.key.tonic().to_string(),
        mode: position.mode(harp, &asked.setup.library.scales).map(|scale| scale.name().to_owned()),
        tonic_ways: tab.collect(),
    }
}

fn scale(key: &ScaleInKey) -> ScaleData {
    let data = |note: ScaleNote| ScaleNoteData {
        degree: note.step.degree.to_string(),
        also: note.step.also.map(|also| also.to_string()),
        name: note.name.to_string(),
    };
    ScaleData {
        name: key.scale().name().to_owned(),
        also: key.scale().other_names().to_vec(),
        notes: key.notes().map(data).collect(),
        falling: key.falling_notes().map(data).collect(),
    }
}

impl Maker<'_> {
    fn player_notes(&self, notes: &[MapNote]) -> Vec<PlayerNote> {
        for_player(self.harp, notes, self.ability)
    }

    fn way(&self, way: Way) -> WayData {
        WayData {
            tab: self.tab.print(way),
            words: way.to_string(),
            hole: way.hole,
            breath: way.breath,
            technique: way.technique,
            command: self.ability.mastery(way),
            cost: cost(self.harp, way, self.ability),
        }
    }

    fn note(&self, player: &PlayerNote) -> NoteData {
        let note = &player.note;
        let instead = player.substitutes.iter().map(|other| InsteadData {
            note: self.key.written(other.note),
            tab: self.tab.print(other.way),
            semitones: other.semitones,
        });
        NoteData {
            note: note.name(),
            midi: note.note.midi(),
            degree: note.is.step.degree.to_string(),
            direction: note.direction,
            tab: player.way.map(|way| self.tab.print(way)),
            words: player.way.map(|way| way.to_string()),
            cost: player.way.map(|_| player.cost),
            learning: player.way.is_some_and(|way| self.ability.mastery(way) == Mastery::Learning),
            ways: note.ways.iter().map(|way| self.way(*way)).collect(),
            instead: instead.collect(),
        }
    }

    fn octaves(&self, map: &ScaleMap) -> Vec<OctaveData> {
        let data = |octave: &theory::Octave<'_>| {
            let (low, high) = octave.range()?;
            let run = |notes: Vec<&MapNote>| {
                let notes: Vec<MapNote> = notes.into_iter().cloned().collect();
                self.player_notes(&notes).iter().map(|note| self.step(note)).collect()
            };
            Some(OctaveData {
                low: self.key.written(low),
                high: self.key.written(high),
                whole: octave.whole,
                up: run(map.run_up(low, high)),
                down: run(map.run_down(high, low)),
            })
        };
        map.octaves().iter().filter_map(data).collect()
    }

    /// A note of a run as tab.
    fn step(&self, player: &PlayerNote) -> String {
        match (player.way, player.note.simplest()) {
            (Some(way), _) => self.tab.print(way),
            (None, Some(way)) => format!("[{}]", self.tab.print(way)),
            (None, None) => "–".to_owned(),
        }
    }

    fn hole(&self, hole: u8) -> HoleData {
        let ways = self.harp.ways_of_hole(hole).filter_map(|way| {
            let note = self.harp.note(way)?;
            Some(HoleWayData {
                way: self.way(way),
                note: self.key.written(note),
                midi: note.midi(),
                hz: self.harp.hz(way),
                degree: self.key.find_either(note).map(|(own, _)| own.step.degree.to_string()),
            })
        });
        HoleData { hole, ways: ways.collect() }
    }
}

impl WayData {
    /// Whether the player does not command it.
    pub(super) fn is_out_of_reach(&self) -> bool {
        self.command == Mastery::NotYet
    }

    /// Whether it does not come every time yet.
    pub(super) fn is_learning(&self) -> bool {
        self.command == Mastery::Learning
    }
}
