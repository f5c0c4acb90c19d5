//! How the pitch went in the last tries at each way, for a picture of them. Traces are kept beside the raw rows and
//! cannot be worked out from them.

use crate::store::{Sitting, way};
use crate::{Journal, JournalError, When, store};
use layout::{TabStyle, Way};
use practice::Tried;
use rusqlite::{Transaction, params};
use scoring::Trace;

/// How many tries at a way are kept.
const KEPT: usize = 8;

/// What stands where nothing sounded.
const NOTHING: i16 = i16::MIN;

/// Adds the trace of a try, and lets go of the oldest ones at its way.
pub(crate) fn add(
    rows: &Transaction<'_>,
    (session, number): (i64, usize),
    (sitting, when): (&Sitting, When),
    tried: &Tried,
) -> rusqlite::Result<()> {
    if tried.trace.tenths.is_empty() {
        return Ok(());
    }
    let way = store::word(rows, &way(tried.way()))?;
    rows.prepare_cached("INSERT INTO trace VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?.execute(params![
        sitting.player(),
        way,
        when.unix_ms,
        session,
        number,
        bytes(&tried.trace)
    ])?;
    rows.prepare_cached(
        "DELETE FROM trace WHERE player = ?1 AND way = ?2 AND (at_ms, session, number) <=
           (SELECT at_ms, session, number FROM trace WHERE player = ?1 AND way = ?2
            ORDER BY at_ms DESC, session DESC, number DESC LIMIT 1 OFFSET ?3)",
    )?
    .execute(params![sitting.player(), way, KEPT])?;
    Ok(())
}

impl Journal {
    /// How the pitch went in the last tries of a player, at most eight at each way, the latest one last.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub fn traces(&self, player: &str) -> Result<Vec<(Way, Trace)>, JournalError> {
        let read = || -> rusqlite::Result<Vec<(Way, Trace)>> {
            let mut query = self.connection.prepare_cached(
                "SELECT word.text, tenths_of_cents FROM trace JOIN word ON word.id = trace.way
                 WHERE player = ?1 ORDER BY at_ms, session, number",
            )?;
            let rows =
                query.query_map([player], |row| Ok((row.get::<_, String>(0)?, row.get::<_, Vec<u8>>(1)?)))?;
            let mut traces = Vec::new();
            for row in rows {
                let (tab, bytes) = row?;
                // A later program may have written a way that this one does not know.
                let Ok(way) = TabStyle::default().read(&tab) else { continue };
                let (pairs, _) = bytes.as_chunks::<2>();
                let tenths = pairs.iter().map(|pair| i16::from_le_bytes(*pair));
                let tenths = tenths.map(|tenths| Some(tenths).filter(|it| *it != NOTHING)).collect();
                traces.push((way, Trace { tenths }));
            }
            Ok(traces)
        };
        read().map_err(|error| JournalError::of(&self.file, error))
    }
}

fn bytes(trace: &Trace) -> Vec<u8> {
    trace.tenths.iter().flat_map(|tenths| tenths.unwrap_or(NOTHING).to_le_bytes()).collect()
}
