//! What was practised day by day, read.

use crate::{Journal, JournalError};
use course::{Day, NoteDay, PaceDay, Past, PlayedDay, ThingDay};
use layout::{TabStyle, Way};
use rusqlite::{Row, params};
use std::collections::HashMap;

const NOTES: &str = "SELECT day, way, tries, landed, measured, thousandths, squared_thousandths
    FROM note_day WHERE player = ?1 AND day >= ?2 ORDER BY day, way";
const THINGS: &str = "SELECT day, what, counted, good, tempo
    FROM thing_day WHERE player = ?1 AND day >= ?2 ORDER BY day, what";
const PACES: &str = "SELECT day, what, tempo, runs, clean
    FROM pace_day WHERE player = ?1 AND day >= ?2 ORDER BY day, what, tempo";
const PLAYED: &str = "SELECT day, milliseconds FROM played_day WHERE player = ?1 AND day >= ?2 ORDER BY day";

impl Journal {
    /// What a player practised, day by day. What the built-in player or a recording played does not count.
    ///
    /// # Errors
    /// If the file cannot be read.
    pub fn past(&self, player: &str) -> Result<Past, JournalError> {
        let mut past = Past::default();
        self.renew(&mut past, player, Day(i32::MIN))?;
        Ok(past)
    }

    /// Reads again what was practised from a day on.
    pub(crate) fn renew(&self, past: &mut Past, player: &str, from: Day) -> Result<(), JournalError> {
        let read = Read { journal: self, player, from };
        read.all(past).map_err(|error| JournalError::of(&self.file, error))
    }
}

struct Read<'a> {
    journal: &'a Journal,
    player: &'a str,
    from: Day,
}

impl Read<'_> {
    fn all(&self, past: &mut Past) -> rusqlite::Result<()> {
        // One transaction, so that all tables are read as of one moment, whatever another program writes meanwhile.
        let moment = self.journal.connection.unchecked_transaction()?;
        let words = self.words()?;
        let ways: HashMap<i64, Way> =
            words.iter().filter_map(|(id, text)| Some((*id, TabStyle::default().read(text).ok()?))).collect();
        let name = |row: &Row<'_>| -> rusqlite::Result<String> {
            Ok(words.get(&row.get(1)?).cloned().unwrap_or_default())
        };
        past.notes.retain(|it| it.day < self.from);
        self.rows(NOTES, &mut past.notes, |row| {
            let Some(way) = ways.get(&row.get(1)?).copied() else { return Ok(None) };
            let thousandths = |column| row.get::<_, i64>(column).map(|sum| sum as f64 / 1000.0);
            Ok(Some(NoteDay {
                day: Day(row.get(0)?),
                way,
                tries: row.get(2)?,
                landed: row.get(3)?,
                measured: row.get(4)?,
                cents: thousandths(5)?,
                cents_squared: thousandths(6)?,
            }))
        })?;
        past.things.retain(|it| it.day < self.from);
        self.rows(THINGS, &mut past.things, |row| {
            let (day, of, good, tempo) = (Day(row.get(0)?), row.get(2)?, row.get(3)?, row.get(4)?);
            Ok(Some(ThingDay { day, name: name(row)?, of, good, tempo }))
        })?;
        past.paces.retain(|it| it.day < self.from);
        self.rows(PACES, &mut past.paces, |row| {
            let (day, tempo, runs, clean) = (Day(row.get(0)?), row.get(2)?, row.get(3)?, row.get(4)?);
            Ok(Some(PaceDay { day, name: name(row)?, tempo, runs, clean }))
        })?;
        past.played.retain(|it| it.day < self.from);
        self.rows(PLAYED, &mut past.played, |row| {
            let seconds = (row.get::<_, i64>(1)? / 1000) as u32;
            Ok(Some(PlayedDay { day: Day(row.get(0)?), seconds }))
        })?;
        moment.finish()
    }

    fn words(&self) -> rusqlite::Result<HashMap<i64, String>> {
        let mut query = self.journal.connection.prepare_cached("SELECT id, text FROM word")?;
        query.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect()
    }

    fn rows<T>(
        &self,
        query: &str,
        into: &mut Vec<T>,
        read: impl Fn(&Row<'_>) -> rusqlite::Result<Option<T>>,
    ) -> rusqlite::Result<()> {
        let mut query = self.journal.connection.prepare_cached(query)?;
        let mut rows = query.query(params![self.player, self.from.0])?;
        while let Some(row) = rows.next()? {
            into.extend(read(row)?);
        }
        Ok(())
    }
}
