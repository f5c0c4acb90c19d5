//! `journal report`: what changed in a while, of the player or of several side by side.

use super::moving::refused;
use crate::failure::Failure;
use crate::files::{self, Mistake};
use crate::keeping;
use crate::setup::Setup;
use ::report::{Class, Remark, Report, Request, Row};
use course::{Day, Past, Programme};
use journal::{Journal, When};
use std::collections::BTreeSet;
use std::fs::File;
use std::io::{self, BufRead, BufReader, ErrorKind, Write};
use std::path::{Path, PathBuf};
use theory::Ability;

/// How every journal begins, as a database of `SQLite` (its file format, section 1.3).
const SQLITE: &[u8] = b"SQLite format 3\0";

/// What is wanted.
pub(super) struct Wanted<'a> {
    /// Journals or exports; the player's own journal if there is none.
    pub(super) from: &'a [PathBuf],
    /// The page to write; Markdown on standard output if not given.
    pub(super) html: Option<&'a Path>,
    /// Write over a page that is there.
    pub(super) force: bool,
    pub(super) days: u32,
}

/// Writes the report.
///
/// # Errors
/// If a file is no journal and no export, cannot be read, or the report cannot be written.
pub(super) fn run(wanted: &Wanted<'_>, setup: &Setup) -> Result<(), Failure> {
    let of = Of { setup, days: wanted.days, today: keeping::today() };
    if wanted.from.is_empty() {
        let report = of.own()?;
        return put(wanted, || report.to_html(), || report.to_markdown());
    }
    let (rows, last) = of.all(wanted.from)?;
    if let ([_], Some(report)) = (&rows[..], last) {
        // The teacher's page of one student.
        return put(wanted, || report.to_html(), || report.to_markdown());
    }
    let class = Class::new(rows, of.today, of.days);
    put(wanted, || class.to_html(), || class.to_markdown())
}

fn put(
    wanted: &Wanted<'_>,
    html: impl FnOnce() -> String,
    markdown: impl FnOnce() -> String,
) -> Result<(), Failure> {
    let Some(file) = wanted.html else { return Ok(io::stdout().write_all(markdown().as_bytes())?) };
    let page = html();
    let written = if wanted.force {
        files::write(file, page.as_bytes())
    } else {
        files::write_new(file, page.as_bytes())
    };
    written.map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists => {
            let message = "that file is there already; name another one, or say --force to write over it";
            Failure::user(Mistake::about(file, message))
        }
        _ => Failure::world(Mistake::about(file, format!("cannot be written: {}", files::reason(&error)))),
    })?;
    Ok(writeln!(io::stdout(), "Written to {}.", files::shown(file))?)
}

/// What the reports have in common.
struct Of<'a> {
    setup: &'a Setup,
    days: u32,
    today: Day,
}

impl Of<'_> {
    /// The player's own page.
    fn own(&self) -> Result<Report, Failure> {
        let place = self.setup.journal.as_ref().ok_or_else(|| Failure::world("no journal is kept"))?;
        let journal = Journal::read(&place.file, When::now()).map_err(Failure::world)?;
        let claimed = self.setup.config_ability();
        self.report((&journal, &place.who), (&place.who, &claimed), self.setup.followed().as_ref())
    }

    /// The rows of all players in some files, and the report of the last player. The files are read one after the
    /// other, and only the rows are kept.
    fn all(&self, files: &[PathBuf]) -> Result<(Vec<Row>, Option<Report>), Failure> {
        let (mut rows, mut last, mut named) = (Vec::new(), None, BTreeSet::new());
        for file in files {
            let folder = tempfile::tempdir().map_err(|error| Failure::world(files::reason(&error)))?;
            let journal = open(file, folder.path())?;
            let players = journal.players().map_err(Failure::world)?;
            if players.is_empty() {
                return Err(Failure::user(Mistake::about(file, "nobody has practised in it")));
            }
            for player in &players {
                let name = name(player, file, &mut named);
                let report = self.report((&journal, player), (&name, &Ability::default()), None)?;
                rows.push(report.row().clone());
                last = Some(report);
            }
        }
        Ok((rows, last))
    }

    fn report(
        &self,
        (journal, player): (&Journal, &str),
        (name, claimed): (&str, &Ability),
        followed: Option<&(Programme, Day)>,
    ) -> Result<Report, Failure> {
        let past: Past = journal.past(player).map_err(Failure::world)?;
        let remarks = journal.remarks(player).map_err(Failure::world)?.into_iter();
        let remarks: Vec<Remark> = remarks.map(|it| Remark { day: it.day, text: it.words() }).collect();
        let standing = followed.map(|(programme, began)| programme.standing(&past, *began, self.today));
        Ok(Report::new(&Request {
            player: name,
            harp: &self.setup.harp,
            past: &past,
            claimed,
            today: self.today,
            days: self.days,
            programme: followed.map(|(programme, _)| programme).zip(standing.as_ref()),
            remarks: &remarks,
        }))
    }
}

/// What a player is called. A player without a name goes by the name of the file; a name that is taken is followed by
/// the name of the file in brackets.
fn name(player: &str, file: &Path, named: &mut BTreeSet<String>) -> String {
    let stem = file.file_stem().map(|stem| files::shown(Path::new(stem))).unwrap_or_default();
    let own = if player == keeping::NAMELESS { stem.clone() } else { player.to_owned() };
    let name = if named.contains(&own) { format!("{own} ({stem})") } else { own };
    named.insert(name.clone());
    name
}

/// A journal, or an export taken into a journal in this folder.
fn open(file: &Path, folder: &Path) -> Result<Journal, Failure> {
    let cannot = |error: &io::Error| {
        Failure::user(Mistake::about(file, format!("cannot be read: {}", files::reason(error))))
    };
    let kind = std::fs::metadata(file).map_err(|error| cannot(&error))?;
    if !kind.is_file() {
        return Err(Failure::user(Mistake::about(file, "this is no file; name a journal or an export")));
    }
    let mut read = BufReader::new(File::open(file).map_err(|error| cannot(&error))?);
    if read.fill_buf().map_err(|error| cannot(&error))?.starts_with(SQLITE) {
        return Journal::read(file, When::now()).map_err(Failure::world);
    }
    let (mut journal, _) =
        Journal::open(&folder.join("journal.sqlite"), When::now()).map_err(Failure::world)?;
    journal.import(read).map_err(|error| refused(file, &error))?;
    Ok(journal)
}
