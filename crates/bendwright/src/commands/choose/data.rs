//! What `choose` says, as data: the JSON is this, and the text is written from it.

use super::Ranked;
use super::beside::Beside;
use super::song::Asked;
use layout::TabStyle;
use serde::Serialize;
use theory::{Choice, ChoiceNote, Song};

/// Version of the form; it changes when a field changes its meaning or goes. Since version 2 the cost counts home and
/// chords besides the notes, and the notes include those of the song's chords.
const SCHEMA: &str = "bendwright/choose/2";

/// The choices for a song.
#[derive(Debug, Serialize)]
pub(super) struct ChooseData {
    schema: &'static str,
    pub(super) song: SongData,
    pub(super) ability: AbilityData,
    /// The choices, the cheapest first.
    pub(super) choices: Vec<ChoiceData>,
    /// Where another position won: the second, and why it did not.
    pub(super) second_position: Option<BesideData>,
    /// For a blues of which it is not said whether it is minor: the best choice if it is.
    pub(super) if_minor_blues: Option<ChoiceData>,
    /// The best choice of each tuning on which the song would cost less by more than a tie.
    pub(super) cheaper_elsewhere: Vec<ChoiceData>,
}

#[derive(Debug, Serialize)]
pub(super) struct SongData {
    pub(super) title: String,
    key: String,
    scale: String,
    pub(super) notes: Vec<String>,
    pub(super) span_half_steps: u8,
    /// Its lowest and highest note, if its pitch is fixed.
    pub(super) range: Option<[String; 2]>,
    pub(super) feel: &'static str,
    /// What it was assumed to be and why, if no scale was named.
    pub(super) assumed: Option<String>,
    /// The name of its changes, if it has any.
    pub(super) form: Option<String>,
    pub(super) chords: Vec<ChordData>,
}

#[derive(Debug, Serialize)]
pub(super) struct ChordData {
    pub(super) function: String,
    /// The part of the bars that it fills.
    share: f64,
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
pub(super) struct BesideData {
    pub(super) choice: ChoiceData,
    pub(super) why_behind: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(super) struct ChoiceData {
    pub(super) title: String,
    harp: String,
    tuning: String,
    position: u8,
    /// What a note of the song costs, points: the sum of the parts.
    pub(super) cost: f64,
    /// The cost with the notes of the whole harp instead of those where the song lies best.
    cost_everywhere: f64,
    parts: PartsData,
    degrees: Vec<DegreeData>,
    /// The notes of the song in the stretch where it lies best, from the lowest.
    notes: Vec<NoteData>,
    pub(super) reasons: Vec<String>,
}

/// What the cost is made of, points.
#[derive(Debug, Serialize)]
struct PartsData {
    notes: f64,
    home: f64,
    chords: f64,
    harp: f64,
    custom: f64,
}

#[derive(Debug, Serialize)]
struct DegreeData {
    degree: String,
    note: String,
    cost: f64,
    /// How much it matters against the others.
    weight: f64,
}

#[derive(Debug, Serialize)]
struct NoteData {
    note: String,
    midi: u8,
    degree: String,
    tab: Option<String>,
    learning: bool,
    cost: u32,
    /// For a blue note: the natural note from which the song wants it bent.
    bent_from: Option<String>,
}

impl ChooseData {
    /// From what was asked, the rankings, whether the player said what they command, and how many choices to show.
    pub(super) fn new(
        asked: &Asked,
        ranked: &Ranked<'_>,
        beside: &Beside,
        (declared, most): (bool, usize),
    ) -> Self {
        let ability = &ranked.ability;
        let tab = &ranked.setup.tab;
        let choice = |choice: &Choice| ChoiceData::new(choice, tab);
        Self {
            schema: SCHEMA,
            song: SongData::new(asked),
            ability: AbilityData {
                level: ability.level().name(),
                about: ability.level().about(),
                words: ability.to_string(),
                declared,
            },
            choices: in_order(&ranked.choices, most, tab),
            second_position: beside
                .second
                .as_ref()
                .map(|(second, why)| BesideData { choice: choice(second), why_behind: why.clone() }),
            if_minor_blues: beside.minor_blues.as_ref().map(choice),
            cheaper_elsewhere: ranked.elsewhere.iter().map(choice).collect(),
        }
    }
}

/// The first choices of a ranking, each with what custom had to do with its place.
fn in_order(ranking: &[Choice], most: usize, tab: &TabStyle) -> Vec<ChoiceData> {
    let place = |(index, choice): (usize, &Choice)| {
        let behind = &ranking[index + 1..];
        let mut data = ChoiceData::new(choice, tab);
        data.reasons.extend(choice.tie(behind).map(|tie| tie.words(choice)));
        if index == 0 {
            let near = choice.nearly_tied(behind).next();
            data.reasons.extend(near.map(|near| {
                format!("hardly better than the {}: {:.2} points", near.title(), near.cost - choice.cost)
            }));
        }
        data
    };
    ranking.iter().take(most).enumerate().map(place).collect()
}

impl SongData {
    fn new(asked: &Asked) -> Self {
        let song: &Song = &asked.song;
        let scale = &song.scale;
        let chord =
            |chord: theory::SongChord| ChordData { function: chord.function.to_string(), share: chord.share };
        Self {
            title: scale.title(),
            key: scale.tonic().to_string(),
            scale: scale.scale().name().to_owned(),
            notes: scale.notes().map(|note| note.name.to_string()).collect(),
            span_half_steps: song.span,
            range: song.range.map(|(low, high)| [low, high].map(|note| scale.written(note))),
            feel: song.feel().name(),
            assumed: asked.assumed.clone(),
            form: song.form().map(|form| form.name().to_owned()),
            chords: song.chords().into_iter().map(chord).collect(),
        }
    }
}

impl ChoiceData {
    fn new(choice: &Choice, tab: &TabStyle) -> Self {
        let degree = |degree: &theory::ChoiceDegree| DegreeData {
            degree: degree.is.step.degree.to_string(),
            note: degree.is.name.to_string(),
            cost: degree.cost,
            weight: degree.weight,
        };
        let note = |note: &ChoiceNote| NoteData {
            note: note.is.name.with_octave(note.note),
            midi: note.note.midi(),
            degree: note.is.step.degree.to_string(),
            tab: note.way.map(|way| tab.print(way)),
            learning: note.learning,
            cost: note.cost,
            bent_from: note.bent_from.map(|above| tab.print(above)),
        };
        let parts = choice.parts;
        Self {
            title: choice.title(),
            harp: choice.harp.key().to_string(),
            tuning: choice.harp.tuning().name().to_owned(),
            position: choice.position.number(),
            cost: choice.cost,
            cost_everywhere: choice.cost_everywhere,
            parts: PartsData {
                notes: parts.notes,
                home: parts.home,
                chords: parts.chords,
                harp: parts.harp,
                custom: parts.custom,
            },
            degrees: choice.degrees.iter().map(degree).collect(),
            notes: choice.notes.iter().map(note).collect(),
            reasons: choice.reasons(tab),
        }
    }
}
