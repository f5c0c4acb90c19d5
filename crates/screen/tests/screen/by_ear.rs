//! Questions by ear on the screen: pictures of every phase, what the keys do, and that nothing tells the answer before
//! the verdict.

use crate::picture::{drawn, text, text_and_styles};
use crate::stage::{Stage, colour, mono_ascii};
use layout::{Harp, TabStyle, Way};
use practice::Order;
use practice::ear::{Asks, EarPhase, EarPlan, Result, Shape};
use ratatui::crossterm::event::KeyCode;
use screen::{Action, View, ear_words};
use theory::{Ability, Interval, Level, Position, ScaleInKey, Scales};

const SIZES: [(u16, u16); 5] = [(200, 60), (120, 40), (80, 24), (60, 18), (40, 12)];

fn plan(shape: Shape, heard: bool) -> EarPlan {
    let harp = Harp::richter("C".parse().unwrap());
    let scale = Scales::ours().find("blues").unwrap().clone();
    EarPlan {
        shape,
        heard,
        questions: 10,
        key: ScaleInKey::in_position(scale, &harp, Position::default()),
        elsewhere: None,
        ability: Ability::new(Level::DrawBends),
        seed: 5,
        hole_told: false,
        sounded: true,
    }
}

fn asked(look: screen::Look, plan: EarPlan) -> Stage {
    let mut stage = Stage::new(look);
    stage.order(Order::Ear(Box::new(plan)));
    until(&mut stage, EarPhase::Waiting);
    stage
}

fn phase(stage: &Stage) -> EarPhase {
    stage.exercise.by_ear().unwrap().phase()
}

fn until(stage: &mut Stage, wanted: EarPhase) {
    for _ in 0..6_000 {
        if phase(stage) == wanted {
            return;
        }
        stage.rest(0.01);
    }
    panic!("never {wanted:?}, but {:?}", phase(stage));
}

/// The ways that are wanted.
fn wanted(stage: &Stage) -> Vec<Way> {
    match &stage.exercise.by_ear().unwrap().question().unwrap().asks {
        Asks::Call { answer, .. } => answer.iter().map(|note| note.way).collect(),
        asks => asks.wanted().map(|note| note.way).into_iter().collect(),
    }
}

/// Plays these, each so many cents off, until the verdict comes.
fn play(stage: &mut Stage, ways: &[Way], cents: f64) {
    let seconds = if ways.len() > 1 { 0.4 } else { 2.5 };
    for way in ways {
        let hz = stage.harp().hz(*way).unwrap() * f64::exp2(cents / 1200.0);
        stage.rest(0.2);
        stage.hear(seconds, |_| Some(hz));
        if phase(stage) == EarPhase::Told {
            return;
        }
    }
    until(stage, EarPhase::Told);
}

fn pictures(name: &str, (shape, heard): (Shape, bool), act: impl Fn(&mut Stage)) {
    for (look_name, look) in [("colour", colour()), ("mono-ascii", mono_ascii())] {
        let mut stage = asked(look, plan(shape, heard));
        act(&mut stage);
        for size in SIZES {
            let name = format!("ear_{name}_{}x{}_{look_name}", size.0, size.1);
            insta::assert_snapshot!(name, text_and_styles(&drawn(&stage, size)));
        }
    }
}

#[test]
fn a_call_waits_for_its_answer() {
    pictures("call_waiting", (Shape::Call, false), |_| {});
}

#[test]
fn an_answer_to_a_call_is_told_note_by_note() {
    pictures("call_told", (Shape::Call, false), |stage| {
        let mut ways = wanted(stage);
        ways[1] = TabStyle::default().read("9").unwrap();
        play(stage, &ways, 4.0);
    });
}

#[test]
fn a_drone_that_was_missed_is_told_with_the_line_of_its_pitch() {
    pictures("drone_told", (Shape::Drone, false), |stage| {
        let ways = wanted(stage);
        play(stage, &ways, -38.0);
    });
}

#[test]
fn an_interval_is_named_and_what_was_played_is_told_as_one() {
    pictures("interval_waiting", (Shape::Interval, false), |_| {});
    pictures("interval_told", (Shape::Interval, false), |stage| {
        play(stage, &[TabStyle::default().read("9").unwrap()], 0.0);
    });
}

#[test]
fn the_depth_that_was_reached_is_told() {
    pictures("depth_told", (Shape::Depth, false), |stage| {
        let ways = wanted(stage);
        play(stage, &ways, 41.0);
    });
}

#[test]
fn what_questions_came_to_is_told_at_the_end() {
    pictures("left", (Shape::Degree, false), |stage| {
        for cents in [0.0, 12.0, -33.0] {
            let ways = wanted(stage);
            play(stage, &ways, cents);
            until(stage, EarPhase::Waiting);
        }
        stage.press('n');
        stage.press('q');
    });
}

/// Before the verdict the screen says the same whatever the answer is, and whatever the player plays.
#[test]
fn nothing_tells_the_answer_before_the_verdict() {
    for (shape, heard) in
        [(Shape::Call, false), (Shape::Drone, false), (Shape::Depth, false), (Shape::Degree, true)]
    {
        for size in SIZES {
            let mut shown: Vec<String> = Vec::new();
            for seed in 0..6 {
                let mut stage = asked(colour(), EarPlan { seed, ..plan(shape, heard) });
                shown.push(text(&drawn(&stage, size)));
                // While a note sounds, which note it is cannot be seen.
                let hz =
                    stage.harp().hz(wanted(&stage)[0]).unwrap() * f64::exp2(f64::from(seed as u32) / 12.0);
                stage.hear(0.3, |_| Some(hz));
                assert_eq!(phase(&stage), EarPhase::Answering, "{shape}");
                shown.push(text(&drawn(&stage, size)));
            }
            shown.sort();
            shown.dedup();
            assert_eq!(shown.len(), 2, "{shape}, {size:?}: {shown:#?}");
        }
    }
}

#[test]
fn it_is_begun_from_every_screen_that_chooses_and_left_to_there() {
    for (keys, view) in [("", View::Home), ("m", View::Map)] {
        let mut stage = Stage::new(colour());
        for key in keys.chars() {
            stage.press(key);
        }
        let Some(Action::Order(Order::Ear(plan))) = stage.press('y') else { panic!("{view:?}") };
        assert_eq!((plan.shape, stage.app.view()), (Shape::Call, View::Ear));
        stage.press('q');
        assert_eq!(stage.app.view(), view);
    }
}

#[test]
fn one_key_goes_through_everything_that_is_asked() {
    let mut stage = asked(colour(), plan(Shape::Call, false));
    let mut titles = Vec::new();
    for _ in 0..8 {
        stage.press('e');
        titles.push(ear_words::title(stage.exercise.by_ear().unwrap().plan()));
    }
    assert_eq!(
        titles,
        [
            "call and response, G blues, answered in C",
            "match a drone, G blues",
            "intervals by name, G blues",
            "intervals by ear, G blues",
            "degrees by name, G blues",
            "degrees by ear, G blues",
            "depths of bends, G blues",
            "call and response, G blues",
        ]
    );
}

#[test]
fn keys_pause_pass_and_ask_again() {
    let mut stage = asked(colour(), plan(Shape::Degree, false));
    stage.press(' ');
    assert!(text(&drawn(&stage, (80, 24))).contains("paused: nothing is judged"));
    stage.press(' ');
    until(&mut stage, EarPhase::Waiting);
    stage.press('n');
    assert!(text(&drawn(&stage, (80, 24))).contains("passed: the "));
    stage.press('a');
    until(&mut stage, EarPhase::Waiting);
    assert!(text(&drawn(&stage, (80, 24))).contains("asked for the second time"));
    stage.press('p');
    let plan = stage.exercise.by_ear().unwrap().plan();
    assert_eq!(plan.key.title(), "D blues");
    // What was answered is shown before the view is left.
    until(&mut stage, EarPhase::Waiting);
    let ways = wanted(&stage);
    play(&mut stage, &ways, 0.0);
    assert_eq!(stage.exercise.by_ear().unwrap().told().unwrap().result, Result::Right);
    stage.press_code(KeyCode::Esc);
    assert_eq!((phase(&stage), stage.app.view()), (EarPhase::Left, View::Ear));
    assert!(text(&drawn(&stage, (80, 24))).contains("1 of 1 right"));
}

/// 9 blow of a C harp is G6 (OEIS A291810); the names of the intervals are checked against `music21` by the tests
/// of `theory`.
#[test]
fn what_was_played_is_named_as_an_interval() {
    let harp = Harp::richter("C".parse().unwrap());
    let mut stage = asked(colour(), plan(Shape::Interval, false));
    let mut told = 0;
    for _ in 0..6 {
        let Asks::Interval { from, to } = stage.exercise.by_ear().unwrap().question().unwrap().asks else {
            panic!("an interval was asked")
        };
        let played = harp.note(stage.way("9")).unwrap();
        if played == from.note {
            stage.press('n');
            until(&mut stage, EarPhase::Waiting);
            continue;
        }
        let ways = [stage.way("9")];
        play(&mut stage, &ways, 0.0);
        if played != to.note {
            let side = if played < from.note { "down" } else { "up" };
            let name = Interval::between(from.note, played);
            let said = text(&drawn(&stage, (120, 40)));
            assert!(said.contains(&format!("{name} {side}, G6 (9)")), "{said}");
            told += 1;
        }
        until(&mut stage, EarPhase::Waiting);
    }
    assert!(told > 3);
}
