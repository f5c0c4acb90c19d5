//! `ear`: questions that are answered on the harp, without a screen.

use crate::take::write;
use crate::{Run, printed, run, text};
use layout::{Harp, HarpKey, TabStyle, Way};
use practice::ear::{Asks, EarPlan, Question, Shape};
use practice::{Event, Exercise, Order};
use scoring::Tolerance;
use serde_json::Value;
use std::path::Path;
use synth::{Gesture, SimulatedPlayer};
use theory::{Ability, Level, Position, ScaleInKey, Scales};

const RATE: f64 = 48_000.0;

/// What `ear SHAPE --seed 5 --harp A --able draw-bends` asks.
fn questions(shape: Shape) -> Vec<Question> {
    let harp = harp();
    let scale = Scales::ours().find("blues").unwrap().clone();
    let plan = EarPlan {
        shape,
        heard: false,
        questions: 4,
        key: ScaleInKey::in_position(scale, &harp, Position::default()),
        elsewhere: None,
        ability: Ability::new(Level::DrawBends),
        seed: 5,
        hole_told: false,
        sounded: false,
    };
    let mut exercise = Exercise::new(harp, Tolerance::default(), RATE);
    exercise.order(Order::Ear(Box::new(plan)));
    let mut questions = Vec::new();
    while exercise.is_on() {
        for event in exercise.order(Order::Next) {
            if let Event::Answered(answered) = event {
                questions.push(answered.question);
            }
        }
        exercise.order(Order::Next);
    }
    questions
}

fn harp() -> Harp {
    Harp::richter("A".parse::<HarpKey>().unwrap())
}

/// A recording of these answers, four seconds of silence apart.
fn record(file: &Path, answers: &[Vec<Way>]) {
    let mut player = SimulatedPlayer::new(&harp(), RATE, 3);
    for ways in answers {
        let seconds = if ways.len() > 1 { 0.5 } else { 1.6 };
        for (at, way) in ways.iter().enumerate() {
            player.play(Gesture::new(*way).seconds(seconds).rest(if at == 0 { 4.0 } else { 0.15 })).unwrap();
        }
    }
    let end = player.played().map(|played| played.ended).max().unwrap();
    let mut samples = vec![0.0; end as usize + 144_000];
    player.fill(&mut samples);
    write(file, &samples, RATE as u32);
}

fn ear(shape: &str, wav: &Path, more: &[&str]) -> Run {
    let usual = ["ear", shape, "--seed", "5", "--count", "4", "--harp", "A", "--able", "draw-bends"];
    let run = run(&[&usual[..], &["--from", text(wav)], more].concat());
    assert_eq!(run.code, 0, "{}", run.err);
    run
}

fn lines(out: &str, kind: &str) -> Vec<Value> {
    let all = out.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    all.filter(|line| line["event"] == "ear" && line["kind"] == kind).collect()
}

fn wanted(question: &Question) -> Vec<Way> {
    match &question.asks {
        Asks::Call { answer, .. } => answer.iter().map(|note| note.way).collect(),
        asks => asks.wanted().map(|note| note.way).into_iter().collect(),
    }
}

#[test]
fn answers_of_a_recording_are_told_one_by_one() {
    let folder = tempfile::tempdir().unwrap();
    let wav = folder.path().join("answers.wav");
    let other = TabStyle::default().read("5").unwrap();
    for shape in [Shape::Interval, Shape::Degree, Shape::Depth, Shape::Call] {
        let asked = questions(shape);
        let mut answers: Vec<Vec<Way>> = asked.iter().map(wanted).collect();
        // The third answer is wrong: 5 blow, or 5 blow in place of the last note of a call.
        *answers[2].last_mut().unwrap() = other;
        record(&wav, &answers);
        let out = ear(shape.name(), &wav, &["--json"]).out;
        let plan = &lines(&out, "plan")[0];
        assert_eq!((plan["shape"].as_str(), plan["scale"].as_str()), (Some(shape.name()), Some("E blues")));
        let told = lines(&out, "answered");
        let results: Vec<&str> = told.iter().filter_map(|line| line["result"].as_str()).collect();
        assert_eq!(results, ["right", "right", "wrong", "right"], "{shape}: {out}");
        for (line, question) in told.iter().zip(&asked) {
            let tabs: Vec<&str> =
                line["asked"].as_array().unwrap().iter().filter_map(|it| it["tab"].as_str()).collect();
            let style = TabStyle::default();
            assert_eq!(tabs, wanted(question).into_iter().map(|way| style.print(way)).collect::<Vec<_>>());
        }
        let played = told[2]["played"].as_array().unwrap().last().unwrap();
        assert_eq!((played["tab"].as_str(), played["is"].as_str()), (Some("5"), Some("other")), "{shape}");
        let end = &lines(&out, "end")[0];
        assert_eq!((end["right"].as_u64(), end["answered"].as_u64()), (Some(3), Some(4)));
        assert_eq!(end["complete"], true);
        // The output is the same in blocks of any size.
        let blocks = ["64", "4000"].map(|block| ear(shape.name(), &wav, &["--json", "--block", block]).out);
        assert!(blocks.iter().all(|other| *other == out), "{shape}");
    }
}

#[test]
fn the_built_in_player_answers_every_shape_and_nothing_is_told_before() {
    for more in [
        &["call"][..],
        &["call", "--answer-in", "1", "--scale", "major pentatonic"],
        &["drone"],
        &["interval", "--heard"],
        &["degree"],
        &["depth", "--tell-hole"],
    ] {
        let usual = ["--from", "player", "--plain", "--count", "4", "--seed", "2", "--harp", "C"];
        let out = printed(&[&["ear"], more, &usual].concat());
        let count = |start: &str| out.lines().filter(|line| line.starts_with(start)).count();
        assert_eq!(count("by ear: "), 1, "{out}");
        assert!(count("question: ") >= 4 && count("question: ") == count("answer: "), "{out}");
        assert!(out.lines().last().unwrap().starts_with("end: done, "), "{out}");
        // What was asked comes with the answer, and not with the question.
        if more == ["call"] {
            let question = out.lines().find(|line| line.starts_with("question: 1 ")).unwrap();
            assert_eq!(question, "question: 1 of 4: answer with the same 2 notes");
        }
    }
}

#[test]
fn the_same_seed_asks_the_same() {
    let asked =
        |seed| printed(&["ear", "degree", "--from", "player", "--plain", "--count", "3", "--seed", seed]);
    assert_eq!(asked("7"), asked("7"));
    assert_ne!(asked("7"), asked("8"));
}

#[test]
fn mistakes_are_sentences() {
    for (arguments, said) in [
        (&["ear", "songs"][..], "\"songs\" is nothing that is asked by ear"),
        (&["ear", "call", "--heard", "--plain"], "--heard is for interval and degree, not for call"),
        (&["ear", "drone", "--answer-in", "1", "--plain"], "--answer-in is for call, not for drone"),
        (&["ear", "call", "--answer-in", "2", "--plain"], "that is the position in which it is called"),
        (&["ear", "call", "--position", "13", "--plain"], "--position: \"13\" is no position"),
        (&["ear", "call", "--key", "H", "--plain"], "--key: \"H\" is no note"),
        (&["ear", "call", "--scale", "polka", "--plain"], "--scale: "),
        (
            &["ear", "depth", "--able", "plain", "--plain"],
            "no bend of this harp is within reach of \"plain\"",
        ),
        (&["ear", "call", "--count", "0"], "0 is not in 1..=200"),
    ] {
        let run = run(arguments);
        assert_eq!(run.code, 2, "{arguments:?}: {}", run.err);
        assert!(run.err.contains(said), "{arguments:?}: {}", run.err);
        assert_eq!(run.out, "", "{arguments:?}");
    }
}
