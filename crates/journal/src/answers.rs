//! Answers to what was asked by ear, as rows.

use crate::store::{way, word};
use practice::ear::{Answer, Answered, Asks, EarPlan, NoteIs, Result, Shape};
use rusqlite::{Transaction, params};

/// What is asked by ear, as the journal calls it: "ear call", "ear interval heard".
pub(crate) fn name(plan: &EarPlan) -> String {
    let by_name = matches!(plan.shape, Shape::Interval | Shape::Degree);
    match (by_name && plan.heard, plan.elsewhere.is_some()) {
        (true, _) => format!("ear {} heard", plan.shape),
        (false, true) => format!("ear {} elsewhere", plan.shape),
        (false, false) => format!("ear {}", plan.shape),
    }
}

/// Adds what came of a question.
pub(crate) fn add(
    rows: &Transaction<'_>,
    (session, number): (i64, usize),
    answered: &Answered,
) -> rusqlite::Result<()> {
    let (plan, question) = (&answered.plan, &answered.question);
    let asked = asked(&question.asks);
    let elsewhere = plan.elsewhere.as_ref().map(|key| word(rows, &key.tonic().to_string())).transpose()?;
    let played = played(answered).map(|played| word(rows, &played)).transpose()?;
    let off_cents = match &answered.answer {
        Answer::Held(held) => held.verdict.figures.map(|figures| figures.cents_off),
        Answer::Nothing | Answer::Notes(_) => None,
    };
    let mut insert = rows.prepare_cached(
        "INSERT INTO answer VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
    )?;
    insert.execute(params![
        session,
        number,
        question.number,
        question.attempt,
        word(rows, &plan.key.title())?,
        elsewhere,
        word(rows, &asked.join(" "))?,
        played,
        asked.len(),
        right(answered),
        result(answered.result),
        off_cents,
        answered.tolerance.in_tune_cents,
    ])?;
    Ok(())
}

/// The notes that were asked for, as tab.
fn asked(asks: &Asks) -> Vec<String> {
    asks.all_wanted().iter().map(|note| way(note.way)).collect()
}

/// The notes that were played, as tab; nothing where none could be told.
fn played(answered: &Answered) -> Option<String> {
    let ways: Vec<String> = match &answered.answer {
        Answer::Nothing => Vec::new(),
        Answer::Notes(notes) => notes.iter().filter_map(|note| Some(way(note.played?.1))).collect(),
        Answer::Held(held) => {
            let ways = held.played.map(|note| answered.harp.ways_to(note)).unwrap_or_default();
            ways.into_iter().take(1).map(way).collect()
        }
    };
    (!ways.is_empty()).then(|| ways.join(" "))
}

/// How many of the notes that were asked for were right.
fn right(answered: &Answered) -> usize {
    match &answered.answer {
        Answer::Notes(notes) => notes.iter().filter(|note| note.is == NoteIs::Right).count(),
        Answer::Nothing | Answer::Held(_) => usize::from(answered.result == Result::Right),
    }
}

fn result(result: Result) -> &'static str {
    match result {
        Result::Right => "right",
        Result::Wrong => "wrong",
        Result::CannotTell(_) => "cannot tell",
        Result::Passed => "passed",
    }
}
