//! The drills there are: ours, and the player's own files.

use crate::failure::Failure;
use crate::library::Library;
use layout::Harp;
use practice::Drill;
use std::fs;
use std::path::Path;

/// Every known drill that this harp can play. What is wrong with the player's own ones is said at the start.
pub(crate) fn all(library: &Library, harp: &Harp) -> Vec<Drill> {
    library.drills.iter().filter_map(|drill| drill.parse(harp).ok()).collect()
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
        let place = known.file.as_ref().map_or(name.to_owned(), |file| file.display().to_string());
        return known.parse(harp).map_err(|error| Failure::user(format!("{place}, {error}")));
    }
    if Path::new(name).extension().is_none_or(|extension| !extension.eq_ignore_ascii_case("toml")) {
        let known: Vec<_> = library.drills.iter().map(|drill| drill.name.as_str()).collect();
        return Err(Failure::user(format!(
            "no drill is called {name:?}; known: {}; a drill of your own is a file ending in .toml",
            known.join(", ")
        )));
    }
    let text = fs::read_to_string(name).map_err(|error| Failure::user(format!("{name}: {error}")))?;
    Drill::parse(name, &text, harp).map_err(|error| Failure::user(format!("{name}, {error}")))
}
