//! Where a scale lies on a harp and what each of its notes asks of the player.

use crate::{Direction, ScaleInKey, ScaleNote};
use layout::{Harp, Note, Technique, Way};
use serde::Serialize;

/// What a note asks of the player at the least, from the easiest to the impossible.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Need {
    /// A reed sounds it as it is.
    Nothing,
    /// A bend by this many half steps.
    Bend(u8),
    /// An overblow or an overdraw.
    Overbend,
    /// The harp cannot sound it.
    Impossible,
}

/// A note of a scale at a certain height, with all the ways to play it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct MapNote {
    /// What sounds.
    pub note: Note,
    /// Its degree and its written name.
    pub is: ScaleNote,
    /// Every way to play it, the simplest technique first; none if the harp cannot.
    pub ways: Vec<Way>,
    /// In which direction of the scale it is played.
    pub direction: Direction,
}

/// Every note of a scale over the range of a harp: from the lowest to the highest pitch that can be played at all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScaleMap {
    either: Vec<MapNote>,
    rising: Vec<MapNote>,
    falling: Vec<MapNote>,
}

/// A part of the range from one tonic to the next; at either end of the harp it may be cut short.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Octave<'a> {
    /// The notes from the lowest up; a whole octave begins and ends on the tonic.
    pub notes: &'a [MapNote],
    /// Whether both tonics lie in the harp's range.
    pub whole: bool,
}

impl From<Technique> for Need {
    fn from(technique: Technique) -> Self {
        match technique {
            Technique::Natural => Self::Nothing,
            Technique::Bend(depth) => Self::Bend(depth),
            Technique::Overbend => Self::Overbend,
        }
    }
}

impl MapNote {
    /// The way that asks for the simplest technique; the lower hole if two are equally simple.
    pub fn simplest(&self) -> Option<Way> {
        self.ways.first().copied()
    }

    /// What the note asks for at the least.
    pub fn need(&self) -> Need {
        self.simplest().map_or(Need::Impossible, |way| way.technique.into())
    }

    /// The written name with its octave, such as `B♭4`.
    pub fn name(&self) -> String {
        self.is.name.with_octave(self.note)
    }
}

impl ScaleMap {
    /// The notes of `scale` on `harp`.
    pub fn new(harp: &Harp, scale: &ScaleInKey) -> Self {
        let direction = |note| scale.find_either(note).map(|(_, direction)| direction);
        let notes = |find: &dyn Fn(Note) -> Option<ScaleNote>| {
            notes_on(harp, |note| Some((find(note)?, direction(note)?)))
        };
        Self {
            either: notes(&|note| scale.find_either(note).map(|(own, _)| own)),
            rising: notes(&|note| scale.find(note)),
            falling: notes(&|note| scale.find_falling(note)),
        }
    }

    /// Every note of the rising scale from the lowest up, those included that the harp cannot sound.
    pub fn notes(&self) -> &[MapNote] {
        &self.rising
    }

    /// The notes of the rising scale, and between them the notes that only the falling scale has.
    pub fn notes_either_way(&self) -> &[MapNote] {
        &self.either
    }

    /// How many notes of the range ask for what `counts` accepts.
    pub fn count(&self, counts: impl Fn(Need) -> bool) -> usize {
        self.rising.iter().filter(|note| counts(note.need())).count()
    }

    /// The octaves of the rising scale: [`Octave::all`].
    pub fn octaves(&self) -> Vec<Octave<'_>> {
        Octave::all(&self.rising)
    }

    /// The run upwards from one pitch to another, both included where the scale has them.
    pub fn run_up(&self, low: Note, high: Note) -> Vec<&MapNote> {
        between(&self.rising, low, high).collect()
    }

    /// The run downwards from `high` to `low`, by the falling scale.
    pub fn run_down(&self, high: Note, low: Note) -> Vec<&MapNote> {
        let mut run: Vec<&MapNote> = between(&self.falling, low, high).collect();
        run.reverse();
        run
    }

    /// The lowest and the highest pitch of the range, unless the scale has no note on this harp.
    pub fn range(&self) -> Option<(Note, Note)> {
        Some((self.rising.first()?.note, self.rising.last()?.note))
    }
}

impl MapNote {
    fn is_tonic(&self) -> bool {
        self.is.step.semitones() == 0
    }
}

impl<'a> Octave<'a> {
    /// The notes of a scale, from the lowest up, parted from tonic to tonic. What lies below the first tonic and above
    /// the last one comes as octaves that are not whole, with that tonic at one end.
    pub fn all(notes: &'a [MapNote]) -> Vec<Self> {
        let Some(last) = notes.len().checked_sub(1) else { return Vec::new() };
        let tonics: Vec<usize> = (0..=last).filter(|i| notes[*i].is_tonic()).collect();
        let mut bounds = tonics.clone();
        bounds.insert(0, 0);
        bounds.push(last);
        let octave = |pair: &[usize]| Self {
            notes: &notes[pair[0]..=pair[1]],
            whole: pair.iter().all(|bound| tonics.contains(bound)),
        };
        bounds.windows(2).filter(|pair| pair[0] < pair[1]).map(octave).collect()
    }

    /// The lowest and the highest pitch.
    pub fn range(&self) -> Option<(Note, Note)> {
        Some((self.notes.first()?.note, self.notes.last()?.note))
    }
}

fn between(notes: &[MapNote], low: Note, high: Note) -> impl Iterator<Item = &MapNote> {
    notes.iter().filter(move |n| (low..=high).contains(&n.note))
}

/// The notes over the playable range of a harp that `find` knows.
pub(crate) fn notes_on(harp: &Harp, find: impl Fn(Note) -> Option<(ScaleNote, Direction)>) -> Vec<MapNote> {
    let mut playable: Vec<(Note, Way)> =
        harp.ways().filter_map(|way| harp.note(way).map(|note| (note, way))).collect();
    playable.sort_by_key(|(note, way)| (*note, way.technique));
    let (Some((low, _)), Some((high, _))) = (playable.first(), playable.last()) else { return Vec::new() };
    let range = i32::from(low.midi())..=i32::from(high.midi());
    range
        .filter_map(Note::new)
        .filter_map(|note| {
            let ways = playable.iter().filter(|(n, _)| *n == note).map(|(_, way)| *way).collect();
            find(note).map(|(is, direction)| MapNote { note, is, ways, direction })
        })
        .collect()
}
