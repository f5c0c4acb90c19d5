//! What is known by name: ours, and the player's own files beside the settings file.
//!
//! `tunings/*.toml`, `drills/*.toml`, `scales.toml`, `progressions.toml` and `temperaments.toml` have the form of our own
//! files in `assets/`. A file with a mistake is said and left out; it never keeps the program from starting.

use crate::config;
use layout::{FileError, Harp, Temperament, Tunings};
use practice::{Drill, DrillError};
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use theory::{Progressions, Scales};

/// Everything known by name.
#[derive(Clone, Debug)]
pub(crate) struct Library {
    /// Tunings.
    pub(crate) tunings: Tunings,
    /// Temperaments, equal temperament first.
    pub(crate) temperaments: Vec<Temperament>,
    /// Scales.
    pub(crate) scales: Scales,
    /// Progressions.
    pub(crate) progressions: Progressions,
    /// Drills, ours first; one of the player's own replaces ours of the same name.
    pub(crate) drills: Vec<DrillText>,
}

/// A drill as it stands in its file; which harp it is for is known later.
#[derive(Clone, Debug)]
pub(crate) struct DrillText {
    /// The name it goes by.
    pub(crate) name: String,
    /// The player's file, if it is none of ours.
    pub(crate) file: Option<PathBuf>,
    text: String,
}

impl Default for Library {
    /// What comes with the program.
    fn default() -> Self {
        let ours = practice::built_in().iter();
        let ours =
            ours.map(|(name, text)| DrillText { name: (*name).into(), file: None, text: (*text).into() });
        Self {
            tunings: Tunings::ours(),
            temperaments: Temperament::ours(),
            scales: Scales::ours(),
            progressions: Progressions::ours(),
            drills: ours.collect(),
        }
    }
}

impl Library {
    /// Ours and what lies in `folder`; and a sentence for each file that could not be used.
    pub(crate) fn load(folder: Option<&Path>) -> (Self, Vec<String>) {
        let mut library = Self::default();
        let mut problems = Vec::new();
        if let Some(folder) = folder {
            let mut reader = Reader { problems: &mut problems };
            library.add(folder, &mut reader);
        }
        (library, problems)
    }

    fn add(&mut self, folder: &Path, reader: &mut Reader<'_>) {
        for file in reader.toml_files(&folder.join("tunings")) {
            reader.read(&file, |text| self.tunings.add(text));
        }
        reader.read(&folder.join("temperaments.toml"), |text| {
            let own = Temperament::read(text)?;
            self.temperaments.retain(|ours| own.iter().all(|own| own.name() != ours.name()));
            self.temperaments.extend(own);
            Ok(())
        });
        reader.read(&folder.join("scales.toml"), |text| {
            let own = Scales::read(text)?;
            self.scales = std::mem::take(&mut self.scales).with(own);
            Ok(())
        });
        reader.read(&folder.join("progressions.toml"), |text| {
            let own = Progressions::read(text)?;
            self.progressions = std::mem::take(&mut self.progressions).with(own);
            Ok(())
        });
        for file in reader.toml_files(&folder.join("drills")) {
            let name = file.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
            reader.read(&file, |text| {
                let own = DrillText { name, file: Some(file.clone()), text: text.to_owned() };
                match self.drills.iter_mut().find(|known| known.name == own.name) {
                    Some(known) => *known = own,
                    None => self.drills.push(own),
                }
                Ok(())
            });
        }
    }

    /// A sentence for each drill of the player's own that has a mistake or that this harp cannot play.
    pub(crate) fn drill_problems(&self, harp: &Harp) -> Vec<String> {
        let own = self.drills.iter().filter_map(|drill| Some((drill, drill.file.as_ref()?)));
        own.filter_map(|(drill, file)| drill.parse(harp).err().map(|error| left_out(file, &error))).collect()
    }
}

impl DrillText {
    /// The drill for a harp.
    ///
    /// # Errors
    /// If it has a mistake or asks for what this harp cannot do.
    pub(crate) fn parse(&self, harp: &Harp) -> Result<Drill, DrillError> {
        Drill::parse(&self.name, &self.text, harp)
    }
}

/// Reads files and notes what is wrong with them.
struct Reader<'a> {
    problems: &'a mut Vec<String>,
}

impl Reader<'_> {
    /// Hands the text of a file on; a file that does not exist is no problem.
    fn read(&mut self, file: &Path, take: impl FnOnce(&str) -> Result<(), FileError>) {
        match config::read(file) {
            Ok(text) => {
                if let Err(error) = take(&text) {
                    self.problems.push(left_out(file, &error));
                }
            }
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => {
                self.problems.push(format!("{} cannot be read and is left out: {error}", file.display()));
            }
        }
    }

    /// The TOML files of a folder in the order of their names; none if there is no such folder.
    fn toml_files(&mut self, folder: &Path) -> Vec<PathBuf> {
        let entries = match fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(error) => {
                if error.kind() != ErrorKind::NotFound {
                    self.problems.push(format!("{} cannot be listed: {error}", folder.display()));
                }
                return Vec::new();
            }
        };
        let files = entries.filter_map(|entry| Some(entry.ok()?.path()));
        let is_toml = |file: &PathBuf| {
            file.is_file() && file.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("toml"))
        };
        let mut files: Vec<PathBuf> = files.filter(is_toml).collect();
        files.sort();
        files
    }
}

fn left_out(file: &Path, error: &FileError) -> String {
    format!("{}, {error}; this file is left out", file.display())
}
