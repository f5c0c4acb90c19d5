//! The tables, and how older ones become the newest.

use crate::derive;
use rusqlite::{Connection, TransactionBehavior};

/// Each step leads from the version that is its index to the next one. A step that was released is never changed.
///
/// Texts that come again and again (drills, harps, ways, outcomes) stand once in `word`. Times and distances of the
/// notes of runs are whole milliseconds and whole tenths of a cent, because ten years of daily practice are five
/// million notes.
const STEPS: [&str; 5] = [
    include_str!("schema/version_1.sql"),
    include_str!("schema/version_2.sql"),
    include_str!("schema/chords.sql"),
    include_str!("schema/answers.sql"),
    include_str!("schema/feedback.sql"),
];

/// The newest version, the one that is written.
pub(crate) const NEWEST: i64 = 5;

/// The version of a file; 0 of an empty one.
pub(crate) fn version(connection: &Connection) -> rusqlite::Result<i64> {
    connection.pragma_query_value(None, "user_version", |row| row.get(0))
}

/// Whether a file is of the newest version, with everything worked out by the newest rule. A file of a later version
/// has been refused before.
pub(crate) fn is_newest(connection: &Connection) -> rusqlite::Result<bool> {
    Ok(version(connection)? == NEWEST && derive::rule(connection)? == derive::RULE)
}

/// Brings a file to the newest version, all of it or nothing. Of two programs that come at once one waits for the
/// other.
pub(crate) fn upgrade(connection: &mut Connection) -> rusqlite::Result<()> {
    // A table that others refer to can only be made anew while the references are not checked.
    connection.pragma_update(None, "foreign_keys", false)?;
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let from = version(&transaction)?;
    for step in STEPS.iter().skip(usize::try_from(from).unwrap_or_default()) {
        transaction.execute_batch(step)?;
    }
    transaction.pragma_update(None, "user_version", NEWEST)?;
    derive::rebuild(&transaction)?;
    transaction.commit()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_version_is_where_the_last_step_leads() {
        assert_eq!(usize::try_from(NEWEST), Ok(STEPS.len()));
    }

    /// The text of the first version stands in the tests as the program of that time wrote it.
    #[test]
    fn a_step_that_was_released_is_never_changed() {
        let connection = Connection::open_in_memory().unwrap();
        connection.execute_batch(STEPS[0]).unwrap();
        let query = "SELECT sql || ';' FROM sqlite_master WHERE sql IS NOT NULL ORDER BY rowid";
        let mut query = connection.prepare(query).unwrap();
        let texts: Vec<String> = query.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
        assert_eq!(texts.join("\n") + "\n", include_str!("../tests/journal/v1.sql"));
    }
}
