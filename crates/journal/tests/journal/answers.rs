//! Answers to what was asked by ear: kept, checked, exported and imported; a journal of the version before them opens.

use crate::{PATIENCE, harp, keeper, morning, place};
use journal::{By, Journal, Noted, When, export};
use layout::TabStyle;
use practice::Timebase;
use practice::ear::{
    Answer, Answered, Asks, Cause, EarPlan, NoteAnswer, NoteIs, Question, Result, Shape, Wanted,
};
use practice::{Event, Started};
use rusqlite::Connection;
use scoring::Tolerance;
use serde_json::Value;
use theory::{Ability, Position, ScaleInKey, Scales};

fn plan() -> EarPlan {
    let scale = Scales::ours().find("blues").unwrap().clone();
    EarPlan {
        shape: Shape::Call,
        heard: false,
        questions: 3,
        key: ScaleInKey::in_position(scale.clone(), &harp(), Position::new(2).unwrap()),
        elsewhere: Some(ScaleInKey::in_position(scale, &harp(), Position::FIRST)),
        ability: Ability::default(),
        seed: 1,
        hole_told: false,
        sounded: true,
    }
}

/// A call of two notes, the second of which was answered with another note.
fn answered(number: u32, result: Result) -> Event {
    let wanted = |tab: &str| {
        let way = TabStyle::default().read(tab).unwrap();
        let note = harp().note(way).unwrap();
        Wanted { note, way, degree: plan().key.degree_of(note.pitch_class()) }
    };
    let [first, second, other] = ["-3'", "4", "5"].map(wanted);
    let right = NoteAnswer {
        wanted: Some(first),
        played: Some((first.note, first.way)),
        cents: Some(-4.0),
        is: NoteIs::Right,
    };
    let wrong = NoteAnswer {
        wanted: Some(second),
        played: Some((other.note, other.way)),
        cents: None,
        is: NoteIs::Other,
    };
    let cannot_tell = matches!(result, Result::CannotTell(_));
    Event::Answered(Box::new(Answered {
        plan: plan(),
        harp: harp(),
        question: Question {
            number,
            attempt: 1,
            asks: Asks::Call { sounded: Vec::new(), answer: vec![first, second] },
        },
        tolerance: Tolerance::USUAL,
        ended: Timebase::new(48_000.0).moment(0),
        result,
        answer: if cannot_tell { Answer::Nothing } else { Answer::Notes(vec![right, wrong]) },
    }))
}

fn noted(second: i64, event: &Event) -> Noted {
    let when = When { unix_ms: morning().unix_ms + 1000 * second, ..morning() };
    Noted::of(event, &harp(), By::Player, when).unwrap()
}

#[test]
fn answers_are_kept_and_go_out_and_come_in() {
    let (_folder, file) = place();
    let keeper = keeper(&file);
    keeper.keep(noted(0, &Event::Started(Started::Ear(Box::new(plan())))));
    keeper.keep(noted(20, &answered(1, Result::Wrong)));
    keeper.keep(noted(40, &answered(2, Result::CannotTell(Cause::SamplesLost))));
    assert_eq!(keeper.close(PATIENCE), 0);

    let journal = Journal::read(&file, morning()).unwrap();
    let checked = journal.check().unwrap();
    assert_eq!((checked.faults, checked.differing), (Vec::new(), 0));
    // The time of the answers counts as practised.
    assert_eq!(journal.past("anna").unwrap().played.iter().map(|day| day.seconds).sum::<u32>(), 40);

    let mut lines = Vec::new();
    export(&journal, None, &mut lines).unwrap();
    let text = String::from_utf8(lines).unwrap();
    let rows: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let answers: Vec<&Value> = rows.iter().filter(|row| row["kind"] == "answer").collect();
    assert_eq!(answers.len(), 2);
    let first = answers[0];
    assert_eq!((&first["asked"], &first["played"]), (&Value::from("-3' 4"), &Value::from("-3' 5")));
    assert_eq!((&first["notes"], &first["right"]), (&Value::from(2), &Value::from(1)));
    assert_eq!((&first["scale"], &first["elsewhere"]), (&Value::from("G blues"), &Value::from("C")));
    assert_eq!((&first["result"], &answers[1]["result"]), (&"wrong".into(), &"cannot tell".into()));
    assert_eq!(answers[1]["played"], Value::Null);
    let entries = rows.iter().filter(|row| row["entry"] == "answer");
    assert!(entries.clone().all(|row| row["what"] == "ear call elsewhere") && entries.count() == 2);

    let (_other, copy) = place();
    let (mut other, _) = Journal::open(&copy, morning()).unwrap();
    other.import(text.as_bytes()).unwrap();
    let mut again = Vec::new();
    export(&other, None, &mut again).unwrap();
    assert_eq!(String::from_utf8(again).unwrap(), text);
}

/// The tables of version 3 are those of the first three steps. A journal of version 3 opens, keeps its rows, and takes
/// answers.
#[test]
fn a_journal_of_the_version_before_takes_answers() {
    let (_folder, file) = place();
    std::fs::create_dir_all(file.parent().unwrap()).unwrap();
    let old = Connection::open(&file).unwrap();
    old.execute_batch(include_str!("../../src/schema/version_1.sql")).unwrap();
    old.execute_batch(include_str!("../../src/schema/version_2.sql")).unwrap();
    old.execute_batch(include_str!("../../src/schema/chords.sql")).unwrap();
    old.execute_batch(
        "INSERT INTO word VALUES (1, 'free playing'), (2, 'C Richter'), (3, 'left');
         INSERT INTO session VALUES (1, 'before', 'anna', 1795852800000, 3600, 'an earlier program');
         INSERT INTO entry VALUES (1, 1, 1795852800000, 3600, 'player', 'began', 1, 2),
           (1, 2, 1795852860000, 3600, 'player', 'ended', 3, 2);
         PRAGMA user_version = 3;",
    )
    .unwrap();
    drop(old);
    let keeper = keeper(&file);
    keeper.keep(noted(0, &answered(1, Result::Wrong)));
    assert_eq!(keeper.close(PATIENCE), 0);
    let journal = Journal::read(&file, morning()).unwrap();
    assert_eq!((journal.check().unwrap().faults, journal.counts().unwrap().sessions), (Vec::new(), 2));
    let kept = Connection::open(&file).unwrap();
    let count = |query: &str| kept.query_row(query, [], |row| row.get::<_, i64>(0)).unwrap();
    assert_eq!(count("SELECT count(*) FROM entry WHERE kind IN ('began', 'ended')"), 2);
    assert_eq!(count("SELECT count(*) FROM answer"), 1);
}
