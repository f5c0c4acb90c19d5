//! What goes out of the journal and comes into it.

use super::many;
use crate::failure::Failure;
use crate::files;
use crate::keeping::JournalPlace;
use course::Day;
use journal::{ExportError, ImportError, Imported, Journal, Noted, Older, TABLES, When};
use std::fs::{self, File};
use std::io::{self, BufRead, BufReader, BufWriter, IsTerminal, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// Characters of a remark: a page.
const LONGEST_REMARK: usize = 2_000;

/// What the tables and columns of an export mean.
pub(super) fn columns() -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    writeln!(
        out,
        "A line of JSON says its table by \"kind\"; as CSV each table is a file. The last line of JSON counts the others."
    )?;
    for table in &TABLES {
        writeln!(out, "\n{}: {}", table.name, table.about)?;
        for column in table.columns {
            let empty =
                if column.optional && !column.about.contains("empty") { "; may be empty" } else { "" };
            writeln!(out, "  {:<18} {}{empty}", column.name, column.about)?;
        }
    }
    Ok(())
}

/// Writes everything, or what one player has, to standard output or as tables into a folder.
pub(super) fn export(journal: &Journal, who: Option<&str>, csv: Option<&Path>) -> Result<(), Failure> {
    let Some(folder) = csv else {
        let mut out = BufWriter::new(io::stdout().lock());
        journal::export(journal, who, &mut out).map_err(|error| match error {
            ExportError::Journal(error) => Failure::world(error),
            ExportError::Out(error) => Failure::from(error),
        })?;
        return Ok(out.flush()?);
    };
    let wrong =
        |error: &io::Error| Failure::world(format!("{}: {}", files::shown(folder), files::reason(error)));
    fs::create_dir_all(folder).map_err(|error| wrong(&error))?;
    let mut said = Vec::new();
    // All tables are written before the first one has its name.
    let mut written = Vec::new();
    for table in &TABLES {
        let mut file = NamedTempFile::new_in(folder).map_err(|error| wrong(&error))?;
        let mut out = BufWriter::new(file.as_file_mut());
        let rows = journal::export_csv(journal, table, who, &mut out).map_err(|error| match error {
            ExportError::Journal(error) => Failure::world(error),
            ExportError::Out(error) => wrong(&error),
        })?;
        out.flush().map_err(|error| wrong(&error))?;
        drop(out);
        written.push((file, folder.join(format!("{}.csv", table.name))));
        said.push(format!("{rows} in {}.csv", table.name));
    }
    for (file, name) in written {
        file.persist(&name).map_err(|error| {
            Failure::world(format!("{}: {}", files::shown(&name), files::reason(&error.error)))
        })?;
    }
    Ok(writeln!(io::stdout(), "Written to {}: {}.", files::shown(folder), said.join(", "))?)
}

/// Takes in files that an export wrote, each of them whole or not at all.
pub(super) fn import(journal: &mut Journal, from: &[PathBuf]) -> Result<(), Failure> {
    for path in from {
        let file = File::open(path)
            .map_err(|error| Failure::user(format!("{}: {}", files::shown(path), files::reason(&error))))?;
        let Imported { new, known } =
            journal.import(BufReader::new(file)).map_err(|error| refused(path, &error))?;
        writeln!(io::stdout(), "{}: {new} entries are new, {known} were here already", files::shown(path))?;
    }
    Ok(())
}

pub(super) fn refused(path: &Path, error: &ImportError) -> Failure {
    let path = files::shown(path);
    let so = "nothing of this file was taken in; it has to be what `bendwright journal export` writes";
    match error {
        ImportError::Line(line, column, what) => {
            Failure::user(format!("{path}:{line}:{column}: {what}; {so}"))
        }
        ImportError::NotWhole(_) => Failure::user(format!("{path}: {error}; {so}")),
        ImportError::In(error) => Failure::user(format!("{path}: {}", files::reason(error))),
        ImportError::Journal(error) => Failure::world(error),
    }
}

/// Forgets what was practised before a day, once the player has said so.
pub(super) fn forget(
    (journal, place): (&mut Journal, &JournalPlace),
    before: &str,
    yes: bool,
) -> Result<(), Failure> {
    let day = day_named("--before", before)?;
    let who = place.named();
    let older = journal.older(who, day).map_err(Failure::world)?;
    let whose = who.map_or_else(|| "all players".to_owned(), str::to_owned);
    let Older { sessions, entries } = older;
    let mut out = io::stdout();
    if sessions == 0 {
        return Ok(writeln!(out, "Nothing of {whose} ended before {day}.")?);
    }
    let (sessions, entries) = (many(sessions, "session", "sessions"), many(entries, "entry", "entries"));
    let what = format!(
        "{sessions} of {whose} that ended before {day}, with {entries} (tries, runs and what else was kept)"
    );
    if !yes && !agreed(&what)? {
        return Ok(writeln!(out, "Nothing is forgotten.")?);
    }
    let copy = journal.back_up(When::now()).map_err(Failure::world)?;
    journal.forget(who, day).map_err(Failure::world)?;
    writeln!(out, "Forgotten: {what}.")?;
    Ok(writeln!(
        out,
        "A copy of how it was is {}; delete it and the others beside it if nothing is to remain.",
        files::shown(&copy)
    )?)
}

fn day_named(option: &str, text: &str) -> Result<Day, Failure> {
    text.parse().map_err(|error| Failure::user(format!("{option}: {error}")))
}

/// Keeps a remark about a day of a player's practice.
pub(super) fn remark(place: &JournalPlace, text: &str, day: Option<&str>) -> Result<(), Failure> {
    let now = When::now();
    let day = day.map(|day| day_named("--day", day)).transpose()?.or(now.day()).unwrap_or_default();
    let text = text.trim();
    if text.is_empty() || text.chars().count() > LONGEST_REMARK {
        return Err(Failure::user(format!("a remark has 1 to {LONGEST_REMARK} characters")));
    }
    place.keep(Noted::remark(text, Some(day), now)).map_err(Failure::world)?;
    Ok(writeln!(io::stdout(), "Remarked about {day} of {}.", place.who)?)
}

/// Asks on the terminal; without a terminal nobody can agree.
fn agreed(what: &str) -> Result<bool, Failure> {
    if !io::stdin().is_terminal() {
        return Err(Failure::user(format!("this forgets {what}; say --yes if you mean it")));
    }
    let mut out = io::stdout().lock();
    write!(out, "Forget {what}? Type yes: ")?;
    out.flush()?;
    let mut answer = String::new();
    io::stdin().lock().read_line(&mut answer)?;
    Ok(answer.trim() == "yes")
}

/// Puts a copy in the place of the journal.
pub(super) fn restore(place: &JournalPlace, copy: &Path) -> Result<(), Failure> {
    let aside = Journal::restore(&place.file, copy, When::now()).map_err(Failure::world)?;
    let aside =
        aside.map_or_else(String::new, |aside| format!(" What stood there is {} now.", files::shown(&aside)));
    Ok(writeln!(io::stdout(), "{} is the journal again.{aside}", files::shown(copy))?)
}
