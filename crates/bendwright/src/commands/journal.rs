//! `journal`: what is kept of the practice.

mod moving;
mod reporting;

use crate::args::{JournalArgs, JournalTask};
use crate::failure::Failure;
use crate::files;
use crate::keeping::{JournalPlace, NO_JOURNAL};
use crate::setup::Setup;
use course::{Past, ThingDay};
use journal::{Journal, JournalError, When};
use reporting::Wanted;
use std::collections::HashSet;
use std::io::{self, Write};

/// Runs the command.
///
/// # Errors
/// If there is no journal, it cannot be read, or the output cannot be written.
pub(crate) fn run(args: &JournalArgs, setup: &Setup) -> Result<(), Failure> {
    if let Some(JournalTask::Report { files, html, force, days }) = &args.task
        && (!files.is_empty() || setup.journal.as_ref().is_some_and(|place| place.file.exists()))
    {
        let wanted = Wanted { from: files, html: html.as_deref(), force: *force, days: *days };
        return reporting::run(&wanted, setup);
    }
    let place = setup.journal.as_ref().ok_or_else(|| Failure::world(NO_JOURNAL))?;
    match &args.task {
        Some(JournalTask::Export { columns: true, .. }) => return moving::columns(),
        Some(JournalTask::Import { files }) => return moving::import(&mut opened(place)?, files),
        Some(JournalTask::Remark { text: Some(text), day }) => {
            return moving::remark(place, text, day.as_deref());
        }
        Some(JournalTask::Restore { file }) => return moving::restore(place, file),
        _ => {}
    }
    let journal = match Journal::read(&place.file, When::now()) {
        Ok(journal) => journal,
        Err(JournalError::Empty(_)) => return nothing(place),
        Err(_) if !place.file.exists() => return nothing(place),
        Err(error) => return Err(Failure::world(error)),
    };
    match &args.task {
        None => show(&journal, place),
        Some(JournalTask::Check) => check(journal, place),
        Some(JournalTask::Backup) => {
            let copy = journal.back_up(When::now()).map_err(Failure::world)?;
            Ok(writeln!(io::stdout(), "Copied to {}.", files::shown(&copy))?)
        }
        Some(JournalTask::Remark { .. }) => remarks(&journal, place),
        Some(JournalTask::Forget { before, yes }) => {
            drop(journal);
            moving::forget((&mut opened(place)?, place), before, *yes)
        }
        Some(JournalTask::Export { csv, .. }) => moving::export(&journal, place.named(), csv.as_deref()),
        _ => Ok(()),
    }
}

/// The journal for writing.
fn opened(place: &JournalPlace) -> Result<Journal, Failure> {
    place.open().map_err(Failure::world)
}

/// What was remarked about a player, day by day.
fn remarks(journal: &Journal, place: &JournalPlace) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    for remark in journal.remarks(&place.who).map_err(Failure::world)? {
        writeln!(out, "{}  {}", remark.day, remark.words().replace(char::is_control, " "))?;
    }
    Ok(())
}

fn nothing(place: &JournalPlace) -> Result<(), Failure> {
    let file = files::shown(&place.file);
    Ok(writeln!(io::stdout(), "Nothing is kept yet. What you practise will be in {file}.")?)
}

fn many(count: i64, one: &str, more: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { more })
}

fn show(journal: &Journal, place: &JournalPlace) -> Result<(), Failure> {
    let counts = journal.counts().map_err(Failure::world)?;
    let mut out = io::stdout().lock();
    writeln!(out, "{}", files::shown(&place.file))?;
    writeln!(
        out,
        "{}, {}, {} with {}",
        many(counts.sessions, "session", "sessions"),
        many(counts.tries, "try", "tries"),
        many(counts.runs, "run in time", "runs in time"),
        many(counts.notes, "note", "notes")
    )?;
    writeln!(out, "(of all players, what the built-in player and recordings played included)")?;
    let past = journal.past(&place.who).map_err(Failure::world)?;
    if past.things.is_empty() {
        writeln!(out, "Nothing yet into a microphone (player: {}).", place.who)?;
    } else {
        writeln!(out, "Last into a microphone (player: {}):", place.who)?;
    }
    for ThingDay { day, name, of, good, tempo } in last(&past) {
        let how = tempo.map_or_else(
            || "landed".to_owned(),
            |tempo| {
                let clean =
                    past.clean_tempo(name).map_or_else(String::new, |tempo| format!(", clean at {tempo}"));
                format!("right, the last run at {tempo}{clean}")
            },
        );
        writeln!(out, "{day}  {name}: {good} of {of} {how}")?;
    }
    Ok(())
}

/// What came of each drill and each run on the last day it was practised, the latest first.
fn last(past: &Past) -> impl Iterator<Item = &ThingDay> {
    let mut seen = HashSet::new();
    past.things.iter().rev().filter(move |thing| seen.insert(&thing.name))
}

fn check(journal: Journal, place: &JournalPlace) -> Result<(), Failure> {
    let checked = journal.check().map_err(Failure::world)?;
    drop(journal);
    if checked.differing > 0 {
        opened(place)?.rebuild().map_err(Failure::world)?;
        writeln!(
            io::stdout(),
            "What is worked out from what you played did not fit it; it is worked out anew. What you played is all there."
        )?;
    }
    if checked.faults.is_empty() {
        return Ok(writeln!(
            io::stdout(),
            "All is well: {} tries and {} runs.",
            checked.counts.tries,
            checked.counts.runs
        )?);
    }
    Err(Failure::world(format!("the journal has faults: {}", checked.faults.join("; "))))
}
