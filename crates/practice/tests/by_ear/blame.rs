//! Twenty questions of each shape answered right and twenty answered wrong, on three harps: right ones are not blamed,
//! wrong ones are named as what they are. In plain `cargo test` it is five of each.

use crate::calls;
use crate::held;
use crate::player::{Stage, harp, key, plan};
use oorandom::Rand64;
use practice::ear::{Answer, Answered, EarPlan, Question, Shape};
use std::sync::LazyLock;
use synth::Gesture;

/// Right answers and wrong ones of each shape on each harp.
static TRIES: LazyLock<usize> =
    LazyLock::new(|| if std::env::var_os("BENDWRIGHT_CHECK_ALL").is_some() { 20 } else { 5 });

/// What the player does, and whether what is said of it is what it was.
pub(crate) type Played = (Vec<Gesture>, Box<dyn Fn(&Answered) -> bool>);

/// A shape, and how it is asked.
#[derive(Clone, Copy)]
struct Kind {
    name: &'static str,
    shape: Shape,
    heard: bool,
    elsewhere: bool,
}

const fn kind(name: &'static str, shape: Shape, heard: bool, elsewhere: bool) -> Kind {
    Kind { name, shape, heard, elsewhere }
}

const KINDS: [Kind; 8] = [
    kind("calls", Shape::Call, false, false),
    kind("calls answered elsewhere", Shape::Call, false, true),
    kind("drones", Shape::Drone, false, false),
    kind("intervals named", Shape::Interval, false, false),
    kind("intervals heard", Shape::Interval, true, false),
    kind("degrees named", Shape::Degree, false, false),
    kind("degrees heard", Shape::Degree, true, false),
    kind("depths", Shape::Depth, false, false),
];

/// In which order right and wrong answers come: the calls grow while they are right, and shrink while they are wrong.
fn order() -> Vec<bool> {
    let blocks = [(3, 2), (6, 4), (9, 4), (*TRIES, *TRIES)];
    let (mut right, mut wrong) = (*TRIES, *TRIES);
    let mut order = Vec::new();
    for (rights, wrongs) in blocks {
        let (rights, wrongs) = (rights.min(right), wrongs.min(wrong));
        order.extend(std::iter::repeat_n(true, rights));
        order.extend(std::iter::repeat_n(false, wrongs));
        (right, wrong) = (right - rights, wrong - wrongs);
    }
    order
}

fn asked(kind: Kind, key_of_harp: &str, seed: u64) -> (layout::Harp, EarPlan) {
    let harp = harp(key_of_harp);
    let usual = plan(&harp, kind.shape);
    let questions = 2 * *TRIES as u32;
    let plan = EarPlan { heard: kind.heard, questions, seed, ..usual };
    if !kind.elsewhere {
        return (harp, plan);
    }
    // Called in the second position, answered in the first.
    let [key, elsewhere] = [2, 1].map(|position| key(&harp, position, "major pentatonic"));
    let plan = EarPlan { key, elsewhere: Some(elsewhere), ..plan };
    (harp, plan)
}

fn answer(stage: &Stage, question: &Question, (right, turn): (bool, usize), random: &mut Rand64) -> Played {
    let harp = stage.exercise.harp();
    match (stage.by_ear().plan().shape, right) {
        (Shape::Call, true) => calls::right(question, turn, random),
        (Shape::Call, false) => calls::wrong(harp, question, turn, random),
        (_, true) => held::right(harp, question, turn, random),
        (_, false) => held::wrong(harp, question, turn, random),
    }
}

/// How many right answers were blamed and how many could not be told; how many wrong ones were named.
fn score(key: &str, kind: Kind, seed: u64) -> [usize; 3] {
    let (harp, plan) = asked(kind, key, seed);
    let mut stage = Stage::new(&harp, plan, seed);
    let mut random = Rand64::new(seed.into());
    let [mut blamed, mut untold, mut named] = [0; 3];
    let mut turns = [0; 2];
    for right in order() {
        let question = stage.question();
        let turn = turns[usize::from(right)];
        turns[usize::from(right)] += 1;
        let (gestures, fits) = answer(&stage, &question, (right, turn), &mut random);
        let mut answered = stage.play(&gestures);
        let told = answered.is_right().is_some();
        let as_it_was = fits(&answered);
        match (right, told) {
            (true, true) => blamed += usize::from(!as_it_was),
            (true, false) => untold += 1,
            (false, _) => named += usize::from(as_it_was),
        }
        if !as_it_was {
            println!(
                "{key}, {}: {right}, turn {turn}: {:?} {:?}",
                kind.name, answered.question.asks, answered.result
            );
            match &answered.answer {
                Answer::Held(held) => println!("   {:?} {:?}", held.verdict, held.played),
                other => println!("   {other:?}"),
            }
        }
        // What could not be told is asked again, and answered right so that the next question comes.
        for _ in 0..5 {
            stage.go_on();
            if told || answered.is_right().is_some() {
                break;
            }
            let again = stage.question();
            assert_eq!(again.asks, question.asks, "the same is asked again");
            let (gestures, _) = answer(&stage, &again, (true, 0), &mut random);
            answered = stage.play(&gestures);
        }
    }
    [blamed, untold, named]
}

/// The figures of one seed, printed.
fn figures(seed: u64) {
    let scores: Vec<(&str, &str, [usize; 3])> = std::thread::scope(|scope| {
        let runs = ["C", "low F", "high G"].map(|key| {
            scope.spawn(move || {
                let kinds = KINDS.into_iter().zip(seed..);
                kinds.map(|(kind, seed)| (key, kind.name, score(key, kind, seed))).collect::<Vec<_>>()
            })
        });
        runs.into_iter().flat_map(|run| run.join().unwrap()).collect()
    });
    let [mut blamed_in_all, mut untold_in_all, mut named_in_all] = [0; 3];
    for (key, kind, [blamed, untold, named]) in &scores {
        println!(
            "{key}, {kind}: {blamed} right ones blamed, {untold} not told, {named} wrong ones named, of {} each",
            *TRIES
        );
        assert!(*blamed <= 1, "{key}, {kind}: {blamed} right answers were blamed");
        (blamed_in_all, untold_in_all) = (blamed_in_all + blamed, untold_in_all + untold);
        named_in_all += named;
    }
    let all = scores.len() * *TRIES;
    println!("in all {blamed_in_all} blamed, {untold_in_all} not told, {named_in_all} named, of {all} each");
    assert!(named_in_all as f64 >= 0.95 * all as f64, "{named_in_all} of {all} wrong answers were named");
    // Blame is the worse fault: half a per cent at most. Two per cent at most may be left untold.
    assert!(blamed_in_all as f64 <= 0.005 * all as f64, "{blamed_in_all} of {all} right answers were blamed");
    assert!(
        untold_in_all as f64 <= 0.02 * all as f64,
        "{untold_in_all} of {all} right answers were not told"
    );
}

#[test]
fn right_answers_are_not_blamed_and_wrong_ones_are_named() {
    // It was tuned on this seed.
    figures(100);
    // And this one was opened once, when nothing was changed any more.
    if std::env::var_os("BENDWRIGHT_CHECK_ALL").is_some() {
        figures(900);
    }
}
