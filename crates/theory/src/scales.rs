//! The scales that are known by name, read from TOML.

use crate::Scale;
use crate::named::{Collection, Named, inside};
use layout::{FileError, read_toml};
use serde::Deserialize;
use toml::Spanned;

const OURS: &str = include_str!("../../../assets/scales.toml");

/// Scales in the order in which they are shown.
pub type Scales = Collection<Scale>;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ScaleFile {
    #[serde(default)]
    scale: Vec<Entry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    name: Spanned<String>,
    #[serde(default)]
    also: Vec<Spanned<String>>,
    degrees: Spanned<String>,
    falling: Option<Spanned<String>>,
}

impl Collection<Scale> {
    /// The scales that come with the program.
    pub fn ours() -> Self {
        // A test reads the same text and fails if it has a mistake, so `unwrap_or_default` hides none.
        Self::read(OURS).unwrap_or_default()
    }

    /// The scales of a TOML text in the form of `assets/scales.toml`.
    ///
    /// # Errors
    /// If the text is no such file, a list of degrees is no scale, or two scales share a name.
    pub fn read(text: &str) -> Result<Self, FileError> {
        let file: ScaleFile = read_toml(text)?;
        let mut scales = Self::default();
        for entry in file.scale {
            scales.check_names(std::iter::once(&entry.name).chain(&entry.also), text)?;
            scales.push(entry.into_scale(text)?);
        }
        Ok(scales)
    }
}

impl Named for Scale {
    const WHAT: &'static str = "scale";

    fn name(&self) -> &str {
        self.name()
    }

    fn other_names(&self) -> &[String] {
        self.other_names()
    }
}

impl Entry {
    fn into_scale(self, text: &str) -> Result<Scale, FileError> {
        let also = self.also.into_iter().map(Spanned::into_inner).collect();
        let scale = Scale::new(self.name.get_ref(), self.degrees.get_ref())
            .map_err(|error| inside(text, &self.degrees, error.offset, error.to_string()))?
            .with_other_names(also);
        match &self.falling {
            None => Ok(scale),
            Some(falling) => scale
                .with_falling(falling.get_ref())
                .map_err(|error| inside(text, falling, error.offset, error.to_string())),
        }
    }
}
