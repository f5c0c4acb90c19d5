//! The progressions that are known by name, read from TOML.

use crate::Progression;
use crate::named::{Collection, Named, inside};
use layout::{FileError, read_toml};
use serde::Deserialize;
use toml::Spanned;

const OURS: &str = include_str!("../../../assets/progressions.toml");

/// Progressions in the order in which they are shown.
pub type Progressions = Collection<Progression>;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ProgressionFile {
    #[serde(default)]
    progression: Vec<Entry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    name: Spanned<String>,
    #[serde(default)]
    also: Vec<Spanned<String>>,
    bars: Spanned<String>,
}

impl Collection<Progression> {
    /// The progressions that come with the program.
    pub fn ours() -> Self {
        // A test reads the same text and fails if it has a mistake, so `unwrap_or_default` hides none.
        Self::read(OURS).unwrap_or_default()
    }

    /// The progressions of a TOML text in the form of `assets/progressions.toml`.
    ///
    /// # Errors
    /// If the text is no such file, a word is no chord, a bar is empty, or two progressions share a name.
    pub fn read(text: &str) -> Result<Self, FileError> {
        let file: ProgressionFile = read_toml(text)?;
        let mut progressions = Self::default();
        for entry in file.progression {
            progressions.check_names(std::iter::once(&entry.name).chain(&entry.also), text)?;
            let read = Progression::new(entry.name.get_ref(), entry.bars.get_ref())
                .map_err(|error| inside(text, &entry.bars, error.offset, error.to_string()))?;
            let also = entry.also.into_iter().map(Spanned::into_inner).collect();
            progressions.push(read.with_other_names(also));
        }
        Ok(progressions)
    }
}

impl Named for Progression {
    const WHAT: &'static str = "progression";

    fn name(&self) -> &str {
        self.name()
    }

    fn other_names(&self) -> &[String] {
        self.other_names()
    }
}
