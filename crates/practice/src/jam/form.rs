//! A form in a key: which chord sounds when.

use layout::{Harp, PitchClass};
use serde::Serialize;
use std::fmt;
use theory::{Chord, Degree, Function, Position, Progression, ScaleInKey};

/// The most bars of a form, and the most chords of a bar: a bar of four beats has no more.
const MOST_BARS: usize = 64;
const MOST_CHORDS: usize = 4;

/// A chord of a form.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FormChord {
    /// "D7".
    pub symbol: String,
    /// What it does in the key: "IV7".
    pub numeral: String,
    /// The chord itself.
    #[serde(skip)]
    pub chord: Chord,
    /// Its notes, the root first: the degree above the root, and the pitch class.
    pub tones: Vec<(Degree, PitchClass)>,
}

/// The chords of a progression in a key, bar by bar.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Form {
    /// The name of the progression.
    pub name: String,
    /// "twelve-bar in A".
    pub title: String,
    /// The name under which results are kept, the same for every key of harp: "twelve-bar in 2nd position".
    pub kept_as: String,
    /// The home note.
    pub tonic: PitchClass,
    bars: Vec<Vec<FormChord>>,
    /// How often it goes round; `None` for without end.
    choruses: Option<u32>,
}

/// Why a progression is no form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FormError {
    /// It has so many bars.
    TooLong(usize),
    /// A bar, counted from 1, has so many chords.
    TooMany(usize, usize),
}

impl Form {
    /// A progression in a key, whose scale says how its chords are written.
    ///
    /// # Errors
    /// If it has more than 64 bars, or more than four chords in one.
    pub fn new(progression: &Progression, key: &ScaleInKey, harp: &Harp) -> Result<Self, FormError> {
        let bars = progression.bars();
        if bars.len() > MOST_BARS {
            return Err(FormError::TooLong(bars.len()));
        }
        if let Some(crowded) = bars.iter().position(|bar| bar.len() > MOST_CHORDS) {
            return Err(FormError::TooMany(crowded + 1, bars[crowded].len()));
        }
        let (name, tonic) = (progression.name(), key.tonic());
        let position = Position::of(harp, tonic.pitch_class());
        Ok(Self {
            name: name.to_owned(),
            title: format!("{name} in {tonic}"),
            kept_as: format!("{name} in {position}"),
            tonic: tonic.pitch_class(),
            bars: bars
                .iter()
                .map(|bar| bar.iter().map(|chord| FormChord::new(*chord, key)).collect())
                .collect(),
            choruses: None,
        })
    }

    /// The scale that a progression is usually played with: a minor chord on the home note asks for the minor
    /// pentatonic scale, a seventh chord for the blues scale, any other for the major pentatonic scale. Common
    /// practice, no source.
    pub fn usual_scale(progression: &Progression) -> &'static str {
        let mut chords = progression.bars().iter().flatten();
        let home = chords.clone().find(|chord| chord.degree == Degree::TONIC).or_else(|| chords.next());
        match home {
            Some(home) if home.kind.is_minor() => "minor pentatonic",
            Some(home) if home.kind.suffix() == "7" => "blues",
            _ => "major pentatonic",
        }
    }

    /// This form so many times, and then one bar more with the chord of home, on which it ends.
    #[must_use]
    pub fn times(self, choruses: u32) -> Self {
        Self { choruses: Some(choruses.max(1)), ..self }
    }

    /// How often it goes round; `None` for until the player leaves.
    pub fn choruses(&self) -> Option<u32> {
        self.choruses
    }

    /// The bar with the last chord, counted from 0; `None` if it goes round without end.
    pub fn last_bar(&self) -> Option<usize> {
        self.choruses.map(|choruses| choruses as usize * self.bars.len())
    }

    /// How many bars it has.
    pub fn bars(&self) -> usize {
        self.bars.len()
    }

    /// The chords of a bar, counted from 0; the form goes round, to its last bar. They share the bar evenly.
    pub fn chords(&self, bar: usize) -> &[FormChord] {
        if self.last_bar().is_some_and(|last| bar >= last) {
            return self.home();
        }
        bar.checked_rem(self.bars.len()).and_then(|bar| self.bars.get(bar)).map_or(&[], Vec::as_slice)
    }

    /// The chord on which it ends: the first one on the home note, or the first one at all.
    fn home(&self) -> &[FormChord] {
        let mut chords = self.bars.iter().flat_map(|bar| bar.chunks(1));
        let is_home = |chord: &&[FormChord]| chord.iter().any(|chord| chord.chord.root == self.tonic);
        chords.clone().find(is_home).or_else(|| chords.next()).unwrap_or_default()
    }

    /// The chord so many bars from the first beat, and where it begins and ends, in bars; before the first beat the
    /// first one.
    pub fn chord_at(&self, bars: f64) -> Option<(&FormChord, f64, f64)> {
        let bar = bars.max(0.0).floor();
        let chords = self.chords(bar as usize);
        let each = 1.0 / chords.len().max(1) as f64;
        let which = (((bars.max(0.0) - bar) / each) as usize).min(chords.len().saturating_sub(1));
        let from = bar + which as f64 * each;
        Some((chords.get(which)?, from, from + each))
    }

    /// When the chord that sounds at a moment gives way to another one, in bars from the first beat, and that chord;
    /// `None` if the form has one chord only.
    pub fn next_change(&self, bars: f64) -> Option<(f64, &FormChord)> {
        let (now, _, mut at) = self.chord_at(bars)?;
        // Every chord comes within one time round.
        let end = bars.max(0.0) + self.bars.len() as f64;
        while at < end {
            // A hair beyond the boundary, which thirds of a bar do not meet exactly.
            let (next, _, until) = self.chord_at(at + 1e-9)?;
            if next.symbol != now.symbol {
                return Some((at, next));
            }
            at = until;
        }
        None
    }

    /// The changes from a moment until before another one, in bars from the first beat: each place where a chord begins
    /// that differs from the one before it. The very beginning is no change.
    pub fn changes(&self, from: f64, until: f64) -> Vec<(f64, &FormChord)> {
        let mut changes = Vec::new();
        let mut at = (from - 1e-6).max(0.0);
        while let Some((next, chord)) = self.next_change(at).filter(|(next, _)| *next < until - 1e-6) {
            changes.push((next, chord));
            at = next + 1e-9;
        }
        changes
    }
}

impl FormChord {
    fn new(function: Function, key: &ScaleInKey) -> Self {
        let chord = function.chord(key);
        let tones = function.kind.degrees().zip(function.pitch_classes(key));
        Self { symbol: chord.symbol(key), numeral: function.to_string(), chord, tones: tones.collect() }
    }

    /// The degree of a chord note above the root; `None` for any other note.
    pub fn degree(&self, class: PitchClass) -> Option<Degree> {
        self.tones.iter().find(|(_, tone)| *tone == class).map(|(degree, _)| *degree)
    }

    /// Whether a note is foreign to the chord and lies a half step above one of its notes, or below one if `above` is
    /// false.
    pub fn is_half_step_off(&self, class: PitchClass, above: bool) -> bool {
        let off = if above { 1 } else { 11 };
        let is_off = |(_, tone): &(Degree, PitchClass)| tone.semitones_to(class) == off;
        self.degree(class).is_none() && self.tones.iter().any(is_off)
    }
}

impl fmt::Display for FormError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLong(bars) => {
                write!(f, "{bars} bars are more than the {MOST_BARS} of a form; take a part of it")
            }
            Self::TooMany(bar, chords) => write!(
                f,
                "bar {bar} has {chords} chords, and {MOST_CHORDS} are the most; set the others into bars of their own with |"
            ),
        }
    }
}

impl std::error::Error for FormError {}
