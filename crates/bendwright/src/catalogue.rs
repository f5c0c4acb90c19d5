//! The drills there are: ours, and the player's own files.

use crate::failure::Failure;
use crate::files::{self, Mistake};
use crate::library::Library;
use layout::{Harp, UnknownName};
use practice::Drill;
use std::path::Path;

/// Every known drill that this harp can play. What is wrong with the player's own ones is said at the start.
pub(crate) fn all(library: &Library, harp: &Harp) -> Vec<Drill> {
    library.drills.iter().filter_map(|drill| drill.parse(harp).ok()).collect()
}

/// Every known drill without a mistake, whether this or another harp can play it.
pub(crate) fn for_any_harp(library: &Library) -> Vec<Drill> {
    library.drills.iter().filter_map(|drill| drill.read().ok()).collect()
}

/// The names of our own drills that ask for what this harp cannot do.
pub(crate) fn beyond<'a>(library: &'a Library, harp: &Harp) -> Vec<&'a str> {
    let ours = library.drills.iter().filter(|drill| drill.file.is_none());
    ours.filter(|drill| drill.parse(harp).is_err()).map(|drill| drill.name.as_str()).collect()
}

/// A known drill by its name, or a drill file.
///
/// # Errors
/// If there is no such drill, it has a mistake, or it asks for what this harp cannot do.
pub(crate) fn find(library: &Library, name: &str, harp: &Harp) -> Result<Drill, Failure> {
    if let Some(known) = library.drills.iter().find(|known| known.name == name) {
        let file = known.file.as_deref().unwrap_or(Path::new(name));
        return known.parse(harp).map_err(|error| Failure::user(Mistake::inside(file, error)));
    }
    if Path::new(name).extension().is_none_or(|extension| !extension.eq_ignore_ascii_case("toml")) {
        let known = library.drills.iter().map(|drill| drill.name.as_str());
        let unknown = UnknownName::new("drill", name, known, []);
        return Err(Failure::user(format!("{unknown}; a drill of your own is a file ending in .toml")));
    }
    let file = Path::new(name);
    let text = files::read(file).map_err(Failure::user)?;
    let text = text.ok_or_else(|| Failure::user(Mistake::about(file, "there is no such file")))?;
    Drill::parse(name, &text, harp).map_err(|error| Failure::user(Mistake::inside(file, error)))
}
