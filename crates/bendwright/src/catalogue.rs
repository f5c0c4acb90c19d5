//! The drills and phrases there are: ours, and the player's own files.

use crate::failure::Failure;
use crate::files::{self, Mistake};
use crate::library::{Library, Practised, Written};
use crate::stderr;
use layout::{Harp, UnknownName};
use std::io::{self, Write};
use std::path::Path;

/// Every known drill or phrase that this harp can play. Mistakes in the player's own files are told at the start.
pub(crate) fn all<T: Practised>(library: &Library, harp: &Harp) -> Vec<T> {
    T::written(library).iter().filter_map(|it| it.parse(harp).ok()).collect()
}

/// Every known drill or phrase without a mistake, whether this or another harp can play it.
pub(crate) fn for_any_harp<T: Practised>(library: &Library) -> Vec<T> {
    T::written(library).iter().filter_map(|it| it.read().ok()).collect()
}

/// The first one of the list that this harp can play.
///
/// # Errors
/// If there is none.
pub(crate) fn first<T: Practised>(library: &Library, harp: &Harp) -> Result<T, Failure> {
    all(library, harp).into_iter().next().ok_or_else(|| {
        let what = T::WHAT;
        Failure::user(format!("no {what} fits the reeds of this harp; name a {what} file of your own"))
    })
}

/// Lists names and titles of those that this harp can play, and says which of ours it cannot.
///
/// # Errors
/// If the output cannot be written.
pub(crate) fn list<T: Practised>(
    library: &Library,
    harp: &Harp,
    named: impl Fn(&T) -> (String, String),
) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    for it in all::<T>(library, harp) {
        let (name, title) = named(&it);
        writeln!(out, "{name:<20} {title}")?;
    }
    let ours = T::written(library).iter().filter(|it| it.file.is_none());
    let beyond: Vec<&str> =
        ours.filter(|it| it.parse::<T>(harp).is_err()).map(|it| it.name.as_str()).collect();
    if !beyond.is_empty() {
        let tuning = harp.tuning().name();
        stderr::say(&format!("bendwright: not for {tuning} tuning: {}", beyond.join(", ")));
    }
    Ok(())
}

/// A known drill or phrase by its name or its title, or one from a file.
///
/// # Errors
/// If there is none of that name, it has a mistake, or it asks for what this harp cannot do.
pub(crate) fn find<T: Practised>(library: &Library, name: &str, harp: &Harp) -> Result<T, Failure> {
    let known = T::written(library);
    let is_name = known.iter().any(|known| known.name == name);
    let titled =
        |known: &&Written| known.read::<T>().is_ok_and(|it| it.title().eq_ignore_ascii_case(name.trim()));
    let found = match known.iter().find(titled).filter(|_| !is_name) {
        Some(titled) => titled.clone(),
        None => written(T::WHAT, known, name)?,
    };
    found.parse(harp).map_err(|error| Failure::user(found.mistake(error)))
}

/// A known drill, phrase or programme, `what`, by its name, or one from a file, as it stands there.
///
/// # Errors
/// If there is none of that name.
pub(crate) fn written(what: &'static str, known: &[Written], name: &str) -> Result<Written, Failure> {
    if let Some(known) = known.iter().find(|known| known.name == name) {
        return Ok(known.clone());
    }
    if Path::new(name).extension().is_none_or(|extension| !extension.eq_ignore_ascii_case("toml")) {
        let unknown = UnknownName::new(what, name, known.iter().map(|it| it.name.as_str()), []);
        return Err(Failure::user(format!("{unknown}; a {what} of your own is a file ending in .toml")));
    }
    let file = Path::new(name);
    let text = files::read(file).map_err(Failure::user)?;
    let text = text.ok_or_else(|| Failure::user(Mistake::about(file, "there is no such file")))?;
    Ok(Written::from_file(name, text))
}
