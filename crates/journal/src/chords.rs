//! What is kept of chords, and of notes that were to sound alone.

use crate::store::{way, word};
use practice::{ChordTried, Tried};
use rusqlite::{Transaction, params};
use scoring::reeds::Clean;

/// Adds a try at a chord.
pub(crate) fn add(
    rows: &Transaction<'_>,
    (session, number): (i64, usize),
    tried: &ChordTried,
) -> rusqlite::Result<()> {
    let tab = |ways: &mut dyn Iterator<Item = layout::Way>| ways.map(way).collect::<Vec<_>>().join(" ");
    let (target, verdict) = (tried.asked.target, &tried.verdict);
    let heard = tab(&mut verdict.heard.iter().map(|heard| heard.way));
    let heard = (!heard.is_empty()).then(|| word(rows, &heard)).transpose()?;
    rows.prepare_cached("INSERT INTO chord VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)")?.execute(
        params![
            session,
            number,
            tried.asked.item,
            tried.asked.attempt,
            word(rows, &tab(&mut target.ways()))?,
            (1000.0 * target.hold_s).round() as i64,
            word(rows, verdict.outcome.word())?,
            heard,
            (1000.0 * verdict.held_s).round() as i64,
        ],
    )?;
    Ok(())
}

/// Adds whether a note stayed alone, where that was asked.
pub(crate) fn add_clean(
    rows: &Transaction<'_>,
    (session, number): (i64, usize),
    tried: &Tried,
) -> rusqlite::Result<()> {
    let Some(clean) = tried.clean else { return Ok(()) };
    let (hole, below_db) = match clean {
        Clean::Leaked(hole, below_db) => (Some(hole), Some(below_db)),
        Clean::Alone | Clean::CannotTell => (None, None),
    };
    rows.prepare_cached("INSERT INTO clean VALUES (?1, ?2, ?3, ?4, ?5)")?.execute(params![
        session,
        number,
        word(rows, clean.word())?,
        hole,
        below_db
    ])?;
    Ok(())
}
