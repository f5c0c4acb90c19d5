//! Progressions: chords bar by bar.

use crate::scale::words;
use crate::{Function, FunctionError};
use std::fmt;

/// A chord progression without a key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Progression {
    name: String,
    also: Vec<String>,
    bars: Vec<Vec<Function>>,
}

/// A text that is no progression: the mistake and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProgressionError {
    /// Byte offset of the mistake in the text.
    pub offset: usize,
    /// What is wrong there.
    pub mistake: ProgressionMistake,
}

/// What is wrong with a progression.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ProgressionMistake {
    /// A word that is no chord.
    Chord(FunctionError),
    /// A bar without a chord.
    EmptyBar,
}

/// A text that is no row of chords: which of its numerals is no chord, and what a chord looks like.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChangesError {
    /// The number of the mistaken numeral, counted from 1; 0 if the text has none at all.
    pub place: usize,
    /// How many numerals the text has.
    pub of: usize,
    /// What is wrong with it.
    pub mistake: FunctionError,
}

impl Progression {
    /// The changes of a song as people write them in one row: `ii-V-I`, `I, vi, IV, V`, `I7 | IV7 V7`. Without bar
    /// lines every chord has a bar of its own.
    ///
    /// ```
    /// use theory::Progression;
    ///
    /// let changes = Progression::read_changes("ii-V-I").unwrap();
    /// assert_eq!(changes.bars().len(), 3);
    /// let error = Progression::read_changes("ii-H-I").unwrap_err();
    /// assert_eq!((error.place, error.of), (2, 3));
    /// ```
    ///
    /// # Errors
    /// If there is no numeral, or one is no chord.
    pub fn read_changes(text: &str) -> Result<Self, ChangesError> {
        let numerals = |part: &str| -> Vec<String> {
            let parts = part.split(|c: char| c.is_whitespace() || "-–—,;→>".contains(c));
            parts.filter(|numeral| !numeral.is_empty()).map(str::to_owned).collect()
        };
        let lines: Vec<Vec<String>> = text.split('|').map(numerals).filter(|bar| !bar.is_empty()).collect();
        let of = lines.iter().map(Vec::len).sum();
        if of == 0 {
            return Err(ChangesError { place: 0, of, mistake: FunctionError(text.to_owned()) });
        }
        let mut place = 0;
        let mut chord = |numeral: String| {
            place += 1;
            numeral.parse::<Function>().map_err(|mistake| ChangesError { place, of, mistake })
        };
        let mut bars = Vec::new();
        for line in lines {
            let chords = line.into_iter().map(&mut chord).collect::<Result<Vec<Function>, _>>()?;
            if text.contains('|') {
                bars.push(chords);
            } else {
                bars.extend(chords.into_iter().map(|chord| vec![chord]));
            }
        }
        Ok(Self { name: text.trim().to_owned(), also: Vec::new(), bars })
    }

    /// A progression from its bars, such as `I7 | IV7 V7 | I7`.
    ///
    /// # Errors
    /// If a word is no chord or a bar has none.
    pub fn new(name: &str, bars: &str) -> Result<Self, ProgressionError> {
        let bars = bars.split('|').map(|bar| parse_bar(bars, bar)).collect::<Result<_, _>>()?;
        Ok(Self { name: name.to_owned(), also: Vec::new(), bars })
    }

    /// The same progression with other names it goes by.
    #[must_use]
    pub fn with_other_names(self, also: Vec<String>) -> Self {
        Self { also, ..self }
    }

    /// The name it goes by.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Other names for it.
    pub fn other_names(&self) -> &[String] {
        &self.also
    }

    /// The chords of each bar; a bar is shared evenly by its chords.
    pub fn bars(&self) -> &[Vec<Function>] {
        &self.bars
    }

    /// Each different chord once, in the order in which they come.
    pub fn chords(&self) -> Vec<Function> {
        let mut chords = Vec::new();
        for chord in self.bars.iter().flatten() {
            if !chords.contains(chord) {
                chords.push(*chord);
            }
        }
        chords
    }
}

fn parse_bar(whole: &str, bar: &str) -> Result<Vec<Function>, ProgressionError> {
    let start = bar.as_ptr() as usize - whole.as_ptr() as usize;
    let chords: Vec<Function> = words(bar)
        .map(|(offset, word)| {
            word.parse().map_err(|error| ProgressionError {
                offset: start + offset,
                mistake: ProgressionMistake::Chord(error),
            })
        })
        .collect::<Result<_, _>>()?;
    if chords.is_empty() {
        return Err(ProgressionError { offset: start, mistake: ProgressionMistake::EmptyBar });
    }
    Ok(chords)
}

impl fmt::Display for ProgressionMistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Chord(error) => error.fmt(f),
            Self::EmptyBar => {
                f.write_str("a bar needs at least one chord; take out the bar line or add a chord")
            }
        }
    }
}

impl fmt::Display for ProgressionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.mistake.fmt(f)
    }
}

impl std::error::Error for ProgressionError {}

impl fmt::Display for ChangesError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.place {
            0 => self.mistake.fmt(f),
            place => write!(f, "numeral {place} of {}: {}", self.of, self.mistake),
        }
    }
}

impl std::error::Error for ChangesError {}
