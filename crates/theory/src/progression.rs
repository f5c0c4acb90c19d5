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

impl Progression {
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
