//! What is worked out from the raw rows and kept beside them, so that ten years need not be read again every morning.
//!
//! Each statement adds rows one by one to what is there, in whatever order they come: so the same statement serves one
//! new entry and all of them.

use crate::{Journal, JournalError};
use rusqlite::{Connection, TransactionBehavior, params};

/// Version of the statements below, to be changed with them. A file whose tables were made by another version is worked
/// out anew when it is opened.
pub(crate) const RULE: i64 = 2;

/// The tables that are worked out.
const TABLES: [&str; 4] = ["note_day", "thing_day", "pace_day", "played_day"];

/// The player's day of an entry, which begins at 4 in the morning as in [`crate::When::day`]. 5 000 000 days are added
/// before the division and taken away after it, because SQL divides towards zero and a day before 1970 is negative.
macro_rules! day {
    () => {
        "(entry.at_ms + 1000 * entry.offset_s - 14400000 + 432000000000000) / 86400000 - 5000000"
    };
}
pub(crate) use day;

/// Only entries that the player played count. Tries with an outcome of `Verdict::asks_again` are left out. A distance
/// counts (`near`) unless the try was another note or unsteady, as in the summary of a drill.
macro_rules! statements {
    ($of:literal) => {
        [
            concat!(
                "INSERT INTO note_day
                 SELECT player, ", day!(), ", way, 1, outcome.text = 'landed', near, iif(near, CAST(round(1000 * off_cents) AS INTEGER), 0),
                        iif(near, CAST(round(1000 * off_cents * off_cents) AS INTEGER), 0)
                 FROM (SELECT *, off_cents IS NOT NULL AND text NOT IN ('another note', 'unsteady') AS near
                       FROM try JOIN word ON word.id = try.outcome) AS outcome
                 JOIN entry USING (session, number) JOIN session ON session.id = entry.session
                 WHERE by = 'player' AND outcome.text NOT IN ('not heard', 'cannot tell') ", $of, "
                 ON CONFLICT DO UPDATE SET tries = tries + 1, landed = landed + excluded.landed, measured = measured + excluded.measured,
                   thousandths = thousandths + excluded.thousandths,
                   squared_thousandths = squared_thousandths + excluded.squared_thousandths"
            ),
            concat!(
                "INSERT INTO thing_day
                 SELECT player, ", day!(), ", what, 1,
                        word.text = 'landed' AND NOT EXISTS (SELECT 1 FROM clean JOIN word AS how ON how.id = clean.outcome
                          WHERE clean.session = try.session AND clean.number = try.number AND how.text = 'leaked in'), NULL, NULL
                 FROM try JOIN entry USING (session, number) JOIN session ON session.id = entry.session
                 JOIN word ON word.id = try.outcome
                 WHERE by = 'player' AND word.text NOT IN ('not heard', 'cannot tell') ", $of, "
                 ON CONFLICT DO UPDATE SET counted = counted + 1, good = good + excluded.good"
            ),
            concat!(
                "INSERT INTO thing_day
                 SELECT player, ", day!(), ", what, 1, word.text = 'right', NULL, NULL
                 FROM chord JOIN entry USING (session, number) JOIN session ON session.id = entry.session
                 JOIN word ON word.id = chord.outcome
                 WHERE by = 'player' AND word.text NOT IN ('not heard', 'cannot tell') ", $of, "
                 ON CONFLICT DO UPDATE SET counted = counted + 1, good = good + excluded.good"
            ),
            concat!(
                "INSERT INTO thing_day
                 SELECT player, ", day!(), ", what, asked, right, tempo, at_ms
                 FROM run JOIN entry USING (session, number) JOIN session ON session.id = entry.session
                 WHERE by = 'player' ", $of, "
                 ON CONFLICT DO UPDATE SET counted = counted + excluded.counted, good = good + excluded.good,
                   tempo = iif((excluded.last_ms, excluded.tempo) > (last_ms, tempo), excluded.tempo, tempo),
                   last_ms = max(last_ms, excluded.last_ms)"
            ),
            concat!(
                "INSERT INTO pace_day
                 SELECT player, ", day!(), ", what, tempo, 1, clean
                 FROM run JOIN entry USING (session, number) JOIN session ON session.id = entry.session
                 WHERE by = 'player' AND timed ", $of, "
                 ON CONFLICT DO UPDATE SET runs = runs + 1, clean = clean + excluded.clean"
            ),
            concat!(
                "INSERT INTO played_day
                 SELECT player, ", day!(), ", min(entry.at_ms - before.at_ms, 120000)
                 FROM entry JOIN entry AS before ON before.session = entry.session AND before.number = entry.number - 1
                 JOIN session ON session.id = entry.session
                 WHERE entry.by = 'player' AND entry.kind <> 'began' AND entry.at_ms > before.at_ms ", $of, "
                 ON CONFLICT DO UPDATE SET milliseconds = milliseconds + excluded.milliseconds"
            ),
        ]
    };
}

const OF_ALL: [&str; 6] = statements!("");
const OF_ONE: [&str; 6] = statements!("AND entry.session = ?1 AND entry.number = ?2");

/// By which rule the tables of a file are made.
pub(crate) fn rule(connection: &Connection) -> rusqlite::Result<i64> {
    connection.query_row("SELECT rule FROM derived", [], |row| row.get(0))
}

/// Adds an entry that has just been written, with all its rows.
pub(crate) fn add(rows: &Connection, session: i64, number: usize) -> rusqlite::Result<()> {
    for statement in OF_ONE {
        rows.prepare_cached(statement)?.execute(params![session, number])?;
    }
    Ok(())
}

/// Works everything out anew.
pub(crate) fn rebuild(rows: &Connection) -> rusqlite::Result<()> {
    for table in TABLES {
        rows.execute(&format!("DELETE FROM {table}"), [])?;
    }
    for statement in OF_ALL {
        rows.execute(statement, [])?;
    }
    rows.execute("UPDATE derived SET rule = ?1", [RULE])?;
    Ok(())
}

/// How many rows of the tables are not those that would be worked out now.
pub(crate) fn differing(connection: &Connection) -> rusqlite::Result<u64> {
    let count = |query: &str| connection.query_row(query, [], |row| row.get::<_, u64>(0));
    let mut differing = 0;
    // A temporary table hides the table of the file with the same name, so the statements write to the temporary one.
    for table in TABLES {
        let text: String =
            connection
                .query_row("SELECT sql FROM main.sqlite_master WHERE name = ?1", [table], |row| row.get(0))?;
        connection.execute_batch(&text.replacen("CREATE TABLE", "CREATE TEMP TABLE", 1))?;
    }
    let worked_out = OF_ALL.iter().try_for_each(|statement| connection.execute(statement, []).map(|_| ()));
    for table in TABLES {
        for (one, other) in [("main", "temp"), ("temp", "main")] {
            let query = format!("SELECT * FROM {one}.{table} EXCEPT SELECT * FROM {other}.{table}");
            differing += count(&format!("SELECT count(*) FROM ({query})"))?;
        }
        connection.execute_batch(&format!("DROP TABLE temp.{table}"))?;
    }
    worked_out.map(|()| differing)
}

impl Journal {
    /// Works out anew what is kept beside the raw rows.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub fn rebuild(&mut self) -> Result<(), JournalError> {
        let mut anew = || {
            let rows = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            rebuild(&rows)?;
            rows.commit()
        };
        anew().map_err(|error| JournalError::of(&self.file, error))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::When;

    #[test]
    fn the_day_of_a_row_is_that_of_its_moment() {
        let connection = Connection::open_in_memory().unwrap();
        let mut query = connection
            .prepare(concat!("SELECT ", day!(), " FROM (SELECT ?1 AS at_ms, ?2 AS offset_s) AS entry"))
            .unwrap();
        let mut random = 1_u64;
        for _ in 0..2_000 {
            // Knuth's numbers (MMIX), of which the high bits are good.
            random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let unix_ms = i64::try_from(random >> 22).unwrap() - 1_000_000_000_000;
            let offset_s = 900 * (i32::try_from(random >> 58).unwrap() - 32);
            let day: i32 = query.query_row(params![unix_ms, offset_s], |row| row.get(0)).unwrap();
            assert_eq!(When { unix_ms, offset_s }.day(), Some(course::Day(day)), "{unix_ms} {offset_s}");
        }
    }
}
