//! What is played when.

use super::{Rhythm, RhythmError, Shape, Swing};
use layout::{Harp, PitchClass, Way};
use scoring::reeds::Holes;
use scoring::timed::AskedNote;
use serde::Serialize;
use std::fmt;
use theory::ScaleInKey;

/// The most bars of one run: longer ones are practised in parts.
pub(super) const MOST_BARS: usize = 64;

/// Notes that follow each other sooner than this are not told apart, seconds.
const SHORTEST_S: f64 = 0.07;

/// A note of a run, in ticks from the first beat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct TimedNote {
    pub(super) start: u32,
    pub(super) length: u32,
    /// How it is played.
    pub way: Way,
    /// Whether it goes on from the note before without a new attack: slurred.
    pub joined: bool,
    /// The holes that sound together, where the material has chords; none where it is of notes. `way` is then the
    /// lowest one.
    pub holes: Holes,
}

impl TimedNote {
    /// How all that sounds is played: one way of a note, several of a chord.
    pub fn ways(&self) -> impl Iterator<Item = Way> + use<> {
        let way = self.way;
        self.holes
            .iter()
            .map(move |hole| Way { hole, ..way })
            .chain(Some(way).filter(|_| self.holes.is_empty()))
    }
}

/// A chord of a form, from where it begins until the next one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ChordAt {
    pub(super) start: u32,
    /// "C7".
    pub symbol: String,
    /// What it does in the key: "IV7".
    pub numeral: String,
}

/// What runs are called.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RunName {
    /// On this harp: "G blues, up and down".
    pub title: String,
    /// What their results are kept as, whatever the key of the harp: "blues in 2nd position, up and down".
    pub kept_as: String,
}

impl RunName {
    /// Of runs over a scale.
    pub fn of_scale(key: &ScaleInKey, shape: Shape, harp: &Harp) -> Self {
        Self {
            title: format!("{}, {shape}", key.title()),
            kept_as: format!("{}, {shape}", key.title_in_any_key(harp)),
        }
    }
}

impl From<String> for RunName {
    /// What has the same title on every harp.
    fn from(title: String) -> Self {
        Self { kept_as: title.clone(), title }
    }
}

/// Notes on a clock.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Material {
    /// What its runs are called.
    pub name: RunName,
    /// The rhythm it is written in; the tempo may change from run to run.
    pub rhythm: Rhythm,
    notes: Vec<TimedNote>,
    /// The chords it is played over; none if nothing says so.
    chords: Vec<ChordAt>,
}

/// Why notes are no run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MaterialError {
    /// There are none: nothing of the scale is within the player's ability, or within the range.
    Nothing,
    /// More bars than fit, and how many fit.
    TooLong(usize, usize),
    /// A bar, counted from 1, and its chord, of which the player has no note in the range.
    NoTone(usize, String),
}

impl fmt::Display for MaterialError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => f.write_str(
                "nothing of it lies within your ability and the range; --able or --range changes that",
            ),
            Self::NoTone(bar, chord) => write!(
                f,
                "bar {bar}: no note of {chord} lies within your ability and the range; --able or --range changes that"
            ),
            Self::TooLong(bars, most) => {
                write!(f, "{bars} bars are more than the {most} of one run; practise it in parts")
            }
        }
    }
}

impl std::error::Error for MaterialError {}

impl Material {
    /// Ways one after the other in the rhythm's notes; the last one is held to the end of its bar.
    ///
    /// # Errors
    /// If there are none, or more than fit in a run.
    pub fn of_ways(name: impl Into<RunName>, ways: &[Way], rhythm: Rhythm) -> Result<Self, MaterialError> {
        let (each, bar) = (rhythm.value.ticks(), rhythm.metre.bar());
        Self::fits((ways.len() as u64 * u64::from(each)).div_ceil(u64::from(bar)) as usize)?;
        let mut notes: Vec<(u32, u32, Way)> =
            (0..).zip(ways).map(|(i, way)| (i * each, each, *way)).collect();
        if let Some((start, length, _)) = notes.last_mut() {
            *length = (*start + each).div_ceil(bar) * bar - *start;
        }
        Self::of_notes(name.into(), notes, rhythm)
    }

    /// Notes with their beginnings and lengths in ticks, in order.
    ///
    /// # Errors
    /// If there are none, or more than fit in a run.
    pub(super) fn of_notes(
        name: RunName,
        notes: Vec<(u32, u32, Way)>,
        rhythm: Rhythm,
    ) -> Result<Self, MaterialError> {
        let timed =
            |(start, length, way)| TimedNote { start, length, way, joined: false, holes: Holes::NONE };
        let count = notes.len();
        let material =
            Self { name, rhythm, notes: notes.into_iter().map(timed).collect(), chords: Vec::new() };
        Self::fits(material.bars())?;
        if count == 0 { Err(MaterialError::Nothing) } else { Ok(material) }
    }

    /// Whether so many bars fit into a run.
    pub(super) fn fits(bars: usize) -> Result<(), MaterialError> {
        if bars > MOST_BARS { Err(MaterialError::TooLong(bars, MOST_BARS)) } else { Ok(()) }
    }

    /// This material over these chords.
    #[must_use]
    pub(super) fn with_chords(self, chords: Vec<ChordAt>) -> Self {
        Self { chords, ..self }
    }

    /// The chords of a bar, counted from 0; none if nothing says over what it is played.
    pub fn chords_of_bar(&self, bar: usize) -> impl Iterator<Item = &ChordAt> {
        let whole = self.rhythm.metre.bar();
        self.chords.iter().filter(move |chord| (chord.start / whole) as usize == bar)
    }

    /// The notes of a phrase in their order, at least one.
    pub(super) fn of_phrase(title: String, notes: Vec<TimedNote>, rhythm: Rhythm) -> Self {
        Self { name: title.into(), rhythm, notes, chords: Vec::new() }
    }

    /// The same in another swing.
    ///
    /// # Errors
    /// If the notes cannot be swung.
    pub fn swung(self, swing: Swing) -> Result<Self, RhythmError> {
        let Rhythm { tempo, metre, .. } = self.rhythm;
        let rhythm = Rhythm::of_notes(tempo, (metre, swing), self.notes.iter().map(|note| note.start))?;
        Ok(Self { rhythm, ..self })
    }

    /// Whether it is of chords: then it is judged by the reeds that sound together.
    pub fn is_of_chords(&self) -> bool {
        self.notes.first().is_some_and(|note| !note.holes.is_empty())
    }

    /// The notes, the first one first.
    pub fn notes(&self) -> &[TimedNote] {
        &self.notes
    }

    /// The fastest tempo at which its shortest note can still be told from the next one, beats a minute, if it is
    /// faster than that now. A note has to sound for 60 ms to be one, and needs a moment to begin.
    pub fn too_fast(&self) -> Option<f64> {
        let seconds = |note: &TimedNote| {
            self.rhythm.seconds(note.start + note.length) - self.rhythm.seconds(note.start)
        };
        let shortest_s = self.notes.iter().map(seconds).fold(f64::INFINITY, f64::min);
        (shortest_s < SHORTEST_S).then(|| (self.rhythm.tempo.bpm() * shortest_s / SHORTEST_S).floor())
    }

    /// How many bars it has.
    pub fn bars(&self) -> usize {
        let end = self.notes.iter().map(|note| note.start + note.length).max().unwrap_or(0);
        end.div_ceil(self.rhythm.metre.bar()) as usize
    }

    /// Seconds from the first beat to the end of the last bar.
    pub fn seconds(&self) -> f64 {
        self.bars() as f64 * self.rhythm.bar_s()
    }

    /// The same at another tempo.
    #[must_use]
    pub fn at(self, tempo: super::Tempo) -> Self {
        Self { rhythm: self.rhythm.at(tempo), ..self }
    }

    /// Only some bars of it, counted from 0, so that they begin at once.
    ///
    /// # Errors
    /// If there is no note in them.
    pub fn only_bars(&self, bars: std::ops::Range<usize>) -> Result<Self, MaterialError> {
        let bar = self.rhythm.metre.bar();
        let within = |note: &&TimedNote| bars.contains(&((note.start / bar) as usize));
        let from = bars.start as u32 * bar;
        let mut notes: Vec<TimedNote> = self
            .notes
            .iter()
            .filter(within)
            .map(|note| TimedNote { start: note.start - from, ..*note })
            .collect();
        if let Some(first) = notes.first_mut() {
            first.joined = false;
        }
        let chords = self.chords.iter().filter(|chord| bars.contains(&((chord.start / bar) as usize)));
        let chords = chords.map(|chord| ChordAt { start: chord.start - from, ..chord.clone() }).collect();
        if notes.is_empty() {
            Err(MaterialError::Nothing)
        } else {
            Ok(Self { notes, chords, ..self.clone() })
        }
    }

    /// The pitch classes of its notes on this harp.
    pub fn classes(&self, harp: &Harp) -> impl Iterator<Item = PitchClass> {
        self.notes.iter().filter_map(|note| Some(harp.note(note.way)?.pitch_class()))
    }

    /// The notes in seconds, as this harp sounds them; what it cannot play is left out.
    pub fn asked(&self, harp: &Harp) -> Vec<AskedNote> {
        let bar = self.rhythm.metre.bar();
        let asked = |note: &TimedNote| {
            let onset_s = self.rhythm.seconds(note.start);
            Some(AskedNote {
                way: note.way,
                note: harp.note(note.way)?,
                onset_s,
                length_s: self.rhythm.seconds(note.start + note.length) - onset_s,
                bar: (note.start / bar) as usize,
                joined: note.joined,
                holes: note.holes,
            })
        };
        self.notes.iter().filter_map(asked).collect()
    }
}
