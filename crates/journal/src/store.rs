//! Entries, written as rows.

use crate::entry::{Delay, Noted, What};
use crate::{By, Journal, JournalError, When, answers, chords, derive, remarks, trace};
use practice::RunJudged;
use practice::Tried;
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};
use scoring::timed::NoteVerdict;

/// Who practises since when: what a row of `session` says.
#[derive(Clone, Debug)]
pub struct Sitting {
    /// What it is called in every copy of the journal.
    name: String,
    player: String,
    began: When,
    program: String,
}

impl Sitting {
    /// A session of a player that begins now.
    pub fn new(player: &str, program: &str, now: When) -> Self {
        let (player, program) = (player.to_owned(), program.to_owned());
        Self { name: now.unique(), player, began: now, program }
    }

    /// The same session under another name, for a file that knows nothing of it yet.
    pub(crate) fn rename(&mut self, now: When) {
        self.name = now.unique();
    }

    /// Who practises.
    pub fn player(&self) -> &str {
        &self.player
    }
}

impl Journal {
    /// Adds entries of a session, all of them or none; the first has this number, counted from 1. An entry whose number
    /// is there already is the same entry, from a commit that succeeded although it was reported as failed.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub fn add(&mut self, sitting: &Sitting, first: usize, entries: &[Noted]) -> Result<(), JournalError> {
        let file = self.file.clone();
        self.added(sitting, first, entries).map_err(|error| JournalError::of(&file, error))
    }

    fn added(&mut self, sitting: &Sitting, first: usize, entries: &[Noted]) -> rusqlite::Result<()> {
        let rows = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let session = session(&rows, sitting)?;
        for (number, noted) in (first..).zip(entries) {
            let what = word(&rows, &noted.what.name())?;
            let harp = noted.harp.as_ref().map(|harp| word(&rows, harp)).transpose()?;
            let new = rows
                .prepare_cached("INSERT OR IGNORE INTO entry VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)")?
                .execute(params![
                    session,
                    number,
                    noted.when.unix_ms,
                    noted.when.offset_s,
                    noted.by.word(),
                    noted.what.kind(),
                    what,
                    harp
                ])?;
            match &noted.what {
                _ if new == 0 => continue,
                What::Try(tried) => {
                    add_try(&rows, (session, number), tried)?;
                    chords::add_clean(&rows, (session, number), tried)?;
                    if noted.by == By::Player {
                        trace::add(&rows, (session, number), (sitting, noted.when), tried)?;
                    }
                }
                What::Chord(tried) => chords::add(&rows, (session, number), tried)?,
                What::Run(judged) => add_run(&rows, (session, number), judged)?,
                What::Answer(answered) => answers::add(&rows, (session, number), answered)?,
                What::Remark(remark) => remarks::add(&rows, (session, number), remark, noted.when)?,
                What::Delay(delay) => add_delay(&rows, (session, number), delay)?,
                What::Began(_) | What::Ended(_) => {}
            }
            derive::add(&rows, session, number)?;
        }
        rows.commit()
    }
}

fn session(rows: &Transaction<'_>, sitting: &Sitting) -> rusqlite::Result<i64> {
    rows.execute(
        "INSERT OR IGNORE INTO session (name, player, began_ms, offset_s, program) VALUES (?1, ?2, ?3, ?4, ?5)",
        params![sitting.name, sitting.player, sitting.began.unix_ms, sitting.began.offset_s, sitting.program],
    )?;
    rows.query_row("SELECT id FROM session WHERE name = ?1", [&sitting.name], |row| row.get(0))
}

/// The number of a text that comes again and again.
pub(crate) fn word(rows: &Connection, text: &str) -> rusqlite::Result<i64> {
    let known = rows
        .prepare_cached("SELECT id FROM word WHERE text = ?1")?
        .query_row([text], |row| row.get(0))
        .optional()?;
    if let Some(id) = known {
        return Ok(id);
    }
    rows.prepare_cached("INSERT INTO word (text) VALUES (?1)")?.execute([text])?;
    Ok(rows.last_insert_rowid())
}

fn milliseconds(seconds: f64) -> i64 {
    (seconds * 1000.0).round() as i64
}

fn add_try(rows: &Transaction<'_>, (session, number): (i64, usize), tried: &Tried) -> rusqlite::Result<()> {
    let (target, verdict) = (tried.asked.target, &tried.verdict);
    let figures = verdict.figures;
    let vibrato = figures.and_then(|figures| figures.vibrato);
    rows.prepare_cached(
        "INSERT INTO try VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, \
         ?21, ?22, ?23)",
    )?
    .execute(params![
        session,
        number,
        tried.asked.item,
        tried.asked.note,
        tried.asked.attempt,
        word(rows, &way(target.way))?,
        target.cents,
        milliseconds(target.hold_s),
        tried.tolerance.in_tune_cents,
        word(rows, verdict.outcome.word())?,
        figures.map(|f| f.cents_off),
        figures.map(|f| f.depth_semitones),
        figures.map(|f| milliseconds(f.reach_s)),
        figures.map(|f| milliseconds(f.held_s)),
        figures.map(|f| f.spread_cents),
        figures.map(|f| f.drift_cents_per_s),
        figures.map(|f| f.overshoot_cents),
        figures.map(|f| f.sigma_cents),
        figures.map(|f| f.level_spread_db),
        figures.map(|f| f.hnr_db),
        vibrato.map(|v| v.rate_hz),
        vibrato.map(|v| v.depth_cents),
        tried.feedback.name(),
    ])?;
    Ok(())
}

fn add_run(
    rows: &Transaction<'_>,
    (session, number): (i64, usize),
    judged: &RunJudged,
) -> rusqlite::Result<()> {
    let (whole, tempo) = (judged.verdict.whole, judged.rhythm.tempo.bpm());
    rows.prepare_cached(
        "INSERT INTO run VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16)",
    )?
    .execute(params![
        session,
        number,
        word(rows, &judged.rhythm.words())?,
        tempo,
        judged.tolerance.in_tune_cents,
        whole.timed,
        whole.asked,
        whole.played,
        whole.in_pitch,
        whole.in_time,
        whole.right,
        whole.clean,
        whole.late_s.map(|s| 1000.0 * s),
        whole.spread_s.map(|s| 1000.0 * s),
        whole.uneven_s.map(|s| 1000.0 * s),
        whole.rushing.map(|faster| tempo * (1.0 + faster)),
    ])?;
    for (place, note) in (0..).zip(&judged.verdict.notes) {
        add_note(rows, (session, number, place), note)?;
    }
    Ok(())
}

fn add_note(
    rows: &Transaction<'_>,
    (session, number, place): (i64, usize, usize),
    note: &NoteVerdict,
) -> rusqlite::Result<()> {
    rows.prepare_cached("INSERT INTO run_note VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)")?
        .execute(params![
            session,
            number,
            place,
            note.asked.bar,
            word(rows, &way(note.asked.way))?,
            milliseconds(note.asked.onset_s),
            note.played.map(|played| milliseconds(played.onset_s)),
            note.late_s.map(milliseconds),
            note.cents.map(|cents| (10.0 * cents).round() as i64),
            word(rows, note.word())?,
            note.is_right(),
        ])?;
    Ok(())
}

fn add_delay(rows: &Transaction<'_>, (session, number): (i64, usize), delay: &Delay) -> rusqlite::Result<()> {
    let milliseconds = 1000.0 * delay.seconds;
    rows.prepare_cached("INSERT INTO delay VALUES (?1, ?2, ?3, ?4, ?5)")?.execute(params![
        session,
        number,
        delay.input,
        delay.output,
        milliseconds
    ])?;
    Ok(())
}

/// A way as the tab of the program writes it, whatever the player's own tab looks like.
pub(crate) fn way(way: layout::Way) -> String {
    layout::TabStyle::default().print(way)
}
