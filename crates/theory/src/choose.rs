//! Which harp and which position for a song.

use crate::cost::{MISSING, cost_on};
use crate::{Ability, Command, Position, ScaleInKey, ScaleNote};
use layout::{Breath, ConcertPitch, Harp, HarpKey, Note, PitchClass, Tunings, Way};
use serde::Serialize;

/// The least span of a song, semitones: every degree occurs in it.
const OCTAVE: u8 = 12;

/// What is to be played.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Song {
    /// Its scale on its tonic.
    pub scale: ScaleInKey,
    /// How far its lowest and highest note lie apart, semitones; counted as an octave at least.
    pub span: u8,
}

/// A harp and a position for a song, with what the scale costs the player there.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Choice {
    /// The harp.
    pub harp: Harp,
    /// The position in which it plays on the song's tonic.
    pub position: Position,
    /// The song's scale.
    pub scale: ScaleInKey,
    /// What a degree of the scale costs on average, in points ([`crate::cost`]), over the stretch of the harp where the
    /// song lies best.
    pub cost: f64,
    /// The same over the whole harp.
    pub cost_everywhere: f64,
    /// The notes of the scale in that stretch, from the lowest up.
    pub notes: Vec<ChoiceNote>,
}

/// A note of the song's scale on a harp.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct ChoiceNote {
    /// What sounds.
    pub note: Note,
    /// Its degree and name.
    pub is: ScaleNote,
    /// The cheapest way that the player reaches.
    pub way: Option<Way>,
    /// Whether the player is still learning that way.
    pub learning: bool,
    /// What it costs, [`MISSING`] if there is no way.
    pub cost: u32,
}

impl Song {
    /// A song over an octave and a fifth, as most are.
    pub fn new(scale: ScaleInKey) -> Self {
        Self { scale, span: 19 }
    }
}

impl Choice {
    /// What each degree of the scale costs, in the order of the scale: the mean over the octaves in which it occurs.
    /// [`Choice::cost`] is the mean of these, so that a harp on which no degree costs more never costs more itself.
    pub fn degree_costs(&self) -> Vec<f64> {
        let costs = self.notes.iter().map(|note| (note.is.step.semitones(), note.cost));
        StepCosts::new(costs).of(&steps(&self.scale)).collect()
    }
}

/// The harps of the twelve usual keys in each of the tunings, tuning by tuning.
pub fn usual_harps(tunings: &Tunings, concert: ConcertPitch) -> Vec<Harp> {
    let harps = |known| HarpKey::usual_keys().map(move |key| (key, known));
    tunings.iter().flat_map(harps).map(|(key, known)| Harp::new(key, known.tuning.clone(), concert)).collect()
}

/// The harps in the order of what the song's scale costs the player on them, the cheapest first. Of equally cheap ones
/// that comes first which is cheaper over the whole harp, then the lower position, then the order of `harps`.
pub fn choose(song: &Song, harps: &[Harp], ability: &Ability) -> Vec<Choice> {
    let mut choices: Vec<Choice> = harps.iter().filter_map(|harp| on_harp(song, harp, ability)).collect();
    choices.sort_by(|a, b| {
        let by_cost = a.cost.total_cmp(&b.cost).then(a.cost_everywhere.total_cmp(&b.cost_everywhere));
        by_cost.then(a.position.cmp(&b.position))
    });
    choices
}

/// The choice that one harp offers; `None` for a harp without a note.
fn on_harp(song: &Song, harp: &Harp, ability: &Ability) -> Option<Choice> {
    let keyboard = Keyboard::new(harp, ability)?;
    let steps = steps(&song.scale);
    let tonic = song.scale.tonic().pitch_class();
    let total = |low, high| {
        let costs = StepCosts::new(keyboard.costs(tonic, low, high));
        costs.of(&steps).sum::<f64>() / steps.len().max(1) as f64
    };
    let span = u16::from(song.span.max(OCTAVE));
    let (low, cost) = keyboard
        .starts(span)
        .map(|low| (low, total(low, low + span)))
        .min_by(|(_, a), (_, b)| a.total_cmp(b))?;
    let note_at = |midi: u16| {
        let note = Note::new(i32::from(midi))?;
        let (way, cost) = keyboard.at(midi);
        let learning = way.is_some_and(|way| ability.command(way) == Command::Learning);
        Some(ChoiceNote { note, is: song.scale.find(note)?, way, learning, cost })
    };
    Some(Choice {
        harp: harp.clone(),
        scale: song.scale.clone(),
        position: Position::of(harp, tonic),
        cost,
        cost_everywhere: total(keyboard.low, keyboard.high.max(keyboard.low + u16::from(OCTAVE))),
        notes: (low..=low + span).filter_map(note_at).collect(),
    })
}

/// The cheapest way to each MIDI key for one player on one harp.
struct Keyboard {
    keys: [(Option<Way>, u32); 128],
    /// The lowest and the highest reed.
    low: u16,
    high: u16,
}

impl Keyboard {
    fn new(harp: &Harp, ability: &Ability) -> Option<Self> {
        let mut keys = [(None, MISSING); 128];
        for way in harp.ways() {
            let (Some(note), Some(cost)) = (harp.note(way), cost_on(harp, way, ability)) else { continue };
            let key = &mut keys[usize::from(note.midi())];
            if cost < key.1 {
                *key = (Some(way), cost);
            }
        }
        let holes = (1..=harp.holes()).flat_map(|hole| [(hole, Breath::Blow), (hole, Breath::Draw)]);
        let reeds =
            holes.filter_map(|(hole, breath)| harp.reed(hole, breath)).map(|reed| u16::from(reed.midi()));
        let (low, high) = reeds.fold((u16::MAX, 0), |(low, high), reed| (low.min(reed), high.max(reed)));
        (low <= high).then_some(Self { keys, low, high })
    }

    fn at(&self, midi: u16) -> (Option<Way>, u32) {
        self.keys.get(usize::from(midi)).copied().unwrap_or((None, MISSING))
    }

    /// Where a stretch of `span` semitones can begin: anywhere as long as it fits. A shorter harp misses the rest.
    fn starts(&self, span: u16) -> std::ops::RangeInclusive<u16> {
        self.low..=self.high.saturating_sub(span).max(self.low)
    }

    /// Semitones above the tonic, and cost, of every key from `low` to `high`.
    fn costs(&self, tonic: PitchClass, low: u16, high: u16) -> impl Iterator<Item = (u8, u32)> + '_ {
        let above_tonic = move |midi: u16| ((midi + 12 - u16::from(tonic.semitones())) % 12) as u8;
        (low..=high).map(move |midi| (above_tonic(midi), self.at(midi).1))
    }
}

/// Semitones above the tonic of the scale's degrees.
fn steps(scale: &ScaleInKey) -> Vec<u8> {
    scale.notes().map(|note| note.step.semitones()).collect()
}

/// What the notes of a stretch cost together, and how many there are, by semitones above the tonic.
#[derive(Default)]
struct StepCosts([(u32, u32); 12]);

impl StepCosts {
    fn new(notes: impl Iterator<Item = (u8, u32)>) -> Self {
        let mut all = Self::default();
        for (step, cost) in notes {
            let (sum, count) = &mut all.0[usize::from(step % 12)];
            *sum += cost;
            *count += 1;
        }
        all
    }

    /// The mean cost of each of these steps.
    fn of(&self, steps: &[u8]) -> impl Iterator<Item = f64> {
        steps.iter().map(|step| {
            let (sum, count) = self.0[usize::from(step % 12)];
            f64::from(sum) / f64::from(count.max(1))
        })
    }
}
