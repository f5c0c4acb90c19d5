//! The drills there are: ours, and the player's own files.

use crate::failure::Failure;
use layout::Harp;
use practice::Drill;
use std::fs;
use std::path::Path;

/// Every built-in drill, for this harp.
///
/// # Errors
/// If a drill asks for what this harp cannot do.
pub(crate) fn all(harp: &Harp) -> Result<Vec<Drill>, Failure> {
    practice::built_in().iter().map(|(name, text)| parse(name, text, harp)).collect()
}

/// A built-in drill by its name, or a drill file.
///
/// # Errors
/// If there is no such drill, or it has a mistake.
pub(crate) fn find(name: &str, harp: &Harp) -> Result<Drill, Failure> {
    if let Some((_, text)) = practice::built_in().iter().find(|(known, _)| *known == name) {
        return parse(name, text, harp);
    }
    if Path::new(name).extension().is_none_or(|extension| !extension.eq_ignore_ascii_case("toml")) {
        let known: Vec<_> = practice::built_in().iter().map(|(name, _)| *name).collect();
        return Err(Failure::user(format!(
            "no drill is called {name:?}; known: {}; a drill of your own is a file ending in .toml",
            known.join(", ")
        )));
    }
    let text = fs::read_to_string(name).map_err(|error| Failure::user(format!("{name}: {error}")))?;
    parse(name, &text, harp)
}

fn parse(name: &str, text: &str, harp: &Harp) -> Result<Drill, Failure> {
    Drill::parse(name, text, harp).map_err(|error| Failure::user(format!("{name}, {error}")))
}
