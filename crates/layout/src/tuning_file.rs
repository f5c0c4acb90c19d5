//! A tuning as it stands in a TOML file.

use crate::{Breath, FileError, Note, Tuning, TuningError, plain_name, read_name, read_toml};
use serde::{Deserialize, Serialize};
use toml::Spanned;

/// A tuning with what is told about it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct KnownTuning {
    /// Its reeds.
    #[serde(flatten)]
    pub tuning: Tuning,
    /// Other names it goes by.
    pub also: Vec<String>,
    /// What it is good for, a sentence or two.
    pub about: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TuningFile {
    name: Spanned<String>,
    #[serde(default)]
    also: Vec<String>,
    #[serde(default)]
    about: String,
    blow: Spanned<Vec<Spanned<String>>>,
    draw: Spanned<Vec<Spanned<String>>>,
    home: Option<Spanned<String>>,
    #[serde(default)]
    labelled: Vec<Spanned<u8>>,
}

impl KnownTuning {
    /// Reads a tuning in the form of `assets/tunings/richter.toml`.
    ///
    /// # Errors
    /// At the first mistake: no TOML, an unknown key, no name, a word that is no note, a number of holes that no harp
    /// has.
    pub fn read(text: &str) -> Result<Self, FileError> {
        let file: TuningFile = read_toml(text)?;
        read_name(text, "tuning", &file.name)?;
        Ok(Self {
            tuning: file.tuning(text)?.with_labels(file.positions(text)?),
            also: file.also,
            about: file.about,
        })
    }

    /// Whether it goes by this name, in any case; hyphens count as spaces.
    pub fn is_called(&self, name: &str) -> bool {
        let name = plain_name(name);
        std::iter::once(self.tuning.name())
            .chain(self.also.iter().map(String::as_str))
            .any(|own| plain_name(own) == name)
    }
}

impl TuningFile {
    fn tuning(&self, text: &str) -> Result<Tuning, FileError> {
        let (blow, draw) = (notes(text, &self.blow)?, notes(text, &self.draw)?);
        let from = blow.first().copied();
        let reeds = |notes: &[Note]| notes.iter().map(|note| semitones(from, *note)).collect::<Vec<i8>>();
        let tuning = Tuning::new(self.name.get_ref().trim(), &reeds(&blow), &reeds(&draw))
            .map_err(|error| self.wrong_reeds(text, error))?;
        let Some(home) = &self.home else { return Ok(tuning) };
        let class: crate::PitchClass = home.get_ref().parse().map_err(|_| {
            let message = format!(
                "{:?} is no note; write a letter A to G, with # or b if needed, such as Bb",
                home.get_ref()
            );
            FileError::at_span(text, &home.span(), message)
        })?;
        Ok(tuning.with_home(from.map_or(0, |from| i32::from(from.pitch_class().semitones_to(class)))))
    }

    /// Where a mistake of the reeds stands.
    fn wrong_reeds(&self, text: &str, error: TuningError) -> FileError {
        let reed = |breath, hole: u8| match breath {
            Breath::Blow => self.blow.get_ref().get(usize::from(hole) - 1),
            Breath::Draw => self.draw.get_ref().get(usize::from(hole) - 1),
        };
        let span = match error {
            TuningError::Uneven(..) => self.draw.span(),
            TuningError::Holes(_) => self.blow.span(),
            TuningError::Far(hole, breath, _) => reed(breath, hole).map_or(0..0, Spanned::span),
        };
        FileError::at_span(text, &span, error.to_string())
    }

    fn positions(&self, text: &str) -> Result<Vec<u8>, FileError> {
        if let Some(wrong) = self.labelled.iter().find(|position| !(1..=12).contains(position.get_ref())) {
            let message = format!("there is no position {}; there are 1 to 12", wrong.get_ref());
            return Err(FileError::at_span(text, &wrong.span(), message));
        }
        if self.labelled.is_empty() {
            return Ok(vec![1]);
        }
        Ok(self.labelled.iter().map(|position| *position.get_ref()).collect())
    }
}

/// The notes of a list, or an error at the first word that is no note.
fn notes(text: &str, list: &Spanned<Vec<Spanned<String>>>) -> Result<Vec<Note>, FileError> {
    let note = |word: &Spanned<String>| {
        word.get_ref().parse().map_err(|_| {
            let message = format!(
                "{:?} is no note; write a letter A to G, # or b if needed, and the octave, such as Bb4",
                word.get_ref()
            );
            FileError::at_span(text, &word.span(), message)
        })
    };
    list.get_ref().iter().map(note).collect()
}

/// Semitones from one note up to another; MIDI numbers lie no further apart than an `i8` holds.
fn semitones(from: Option<Note>, to: Note) -> i8 {
    from.map_or(0, |from| to.midi().cast_signed() - from.midi().cast_signed())
}
