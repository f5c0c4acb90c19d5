//! What `choose` says, as data: the JSON is this, and the text is written from it.

use layout::TabStyle;
use serde::Serialize;
use theory::{Ability, Choice, ChoiceNote, ScaleInKey, Song};

/// Version of the form; it changes when a field changes its meaning or goes.
const SCHEMA: &str = "bendwright/choose/1";

/// The choices for a song.
#[derive(Debug, Serialize)]
pub(super) struct ChooseData {
    schema: &'static str,
    pub(super) song: SongData,
    pub(super) ability: AbilityData,
    /// The choices, the cheapest first.
    pub(super) choices: Vec<ChoiceData>,
    /// The best choice of each tuning on which the song would cost less.
    pub(super) cheaper_elsewhere: Vec<ChoiceData>,
}

#[derive(Debug, Serialize)]
pub(super) struct SongData {
    pub(super) title: String,
    key: String,
    scale: String,
    pub(super) notes: Vec<String>,
    pub(super) span_half_steps: u8,
}

#[derive(Debug, Serialize)]
pub(super) struct AbilityData {
    level: &'static str,
    pub(super) about: &'static str,
    pub(super) words: String,
    /// Whether the player said so, on the command line or in the settings.
    pub(super) declared: bool,
}

#[derive(Debug, Serialize)]
pub(super) struct ChoiceData {
    pub(super) title: String,
    harp: String,
    tuning: String,
    position: u8,
    /// Mean cost of a degree over the stretch where the song lies best, points.
    pub(super) cost: f64,
    /// The same over the whole harp.
    cost_everywhere: f64,
    degrees: Vec<DegreeData>,
    /// The notes of the scale in that stretch, from the lowest.
    notes: Vec<NoteData>,
    pub(super) reasons: Vec<String>,
}

#[derive(Debug, Serialize)]
struct DegreeData {
    degree: String,
    note: String,
    cost: f64,
}

#[derive(Debug, Serialize)]
struct NoteData {
    note: String,
    midi: u8,
    degree: String,
    tab: Option<String>,
    learning: bool,
    cost: u32,
}

impl ChooseData {
    /// From the song, what the player commands (and whether that was said), the choices, and those of other tunings.
    pub(super) fn new(
        song: &Song,
        (ability, declared): (&Ability, bool),
        (choices, elsewhere): (&[Choice], &[Choice]),
        tab: &TabStyle,
    ) -> Self {
        let all = |list: &[Choice]| list.iter().map(|choice| ChoiceData::new(choice, tab)).collect();
        Self {
            schema: SCHEMA,
            song: SongData::new(&song.scale, song.span),
            ability: AbilityData {
                level: ability.level().name(),
                about: ability.level().about(),
                words: ability.to_string(),
                declared,
            },
            choices: all(choices),
            cheaper_elsewhere: all(elsewhere),
        }
    }
}

impl SongData {
    fn new(scale: &ScaleInKey, span: u8) -> Self {
        Self {
            title: scale.title(),
            key: scale.tonic().to_string(),
            scale: scale.scale().name().to_owned(),
            notes: scale.notes().map(|note| note.name.to_string()).collect(),
            span_half_steps: span,
        }
    }
}

impl ChoiceData {
    fn new(choice: &Choice, tab: &TabStyle) -> Self {
        let degrees = choice.scale.notes().zip(choice.degree_costs()).map(|(note, cost)| DegreeData {
            degree: note.step.degree.to_string(),
            note: note.name.to_string(),
            cost,
        });
        let note = |note: &ChoiceNote| NoteData {
            note: note.is.name.with_octave(note.note),
            midi: note.note.midi(),
            degree: note.is.step.degree.to_string(),
            tab: note.way.map(|way| tab.print(way)),
            learning: note.learning,
            cost: note.cost,
        };
        Self {
            title: choice.title(),
            harp: choice.harp.key().to_string(),
            tuning: choice.harp.tuning().name().to_owned(),
            position: choice.position.number(),
            cost: choice.cost,
            cost_everywhere: choice.cost_everywhere,
            degrees: degrees.collect(),
            notes: choice.notes.iter().map(note).collect(),
            reasons: choice.reasons(tab),
        }
    }
}
