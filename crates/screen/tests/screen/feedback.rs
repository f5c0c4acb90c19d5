//! The drill with its display off: what is seen before the verdict, and after it.

use crate::picture::{drawn, text, text_and_styles};
use crate::stage::{Stage, colour, mono_ascii};
use practice::{Feedback, Order};

const SIZES: [(u16, u16); 5] = [(200, 60), (120, 40), (80, 24), (60, 18), (40, 12)];

fn stage(look: screen::Look, feedback: Feedback) -> Stage {
    let mut stage = Stage::new(look);
    stage.order(Order::TakeFeedback(feedback));
    stage.begin("-4' -4");
    stage
}

fn pictures(name: &str, feedback: Feedback, act: impl Fn(&mut Stage)) {
    for (look_name, look) in [("colour", colour()), ("mono-ascii", mono_ascii())] {
        let mut stage = stage(look, feedback);
        act(&mut stage);
        for size in SIZES {
            let name = format!("feedback_{name}_{}x{}_{look_name}", size.0, size.1);
            insta::assert_snapshot!(name, text_and_styles(&drawn(&stage, size)));
        }
    }
}

#[test]
fn the_line_of_a_try_is_shown_when_it_is_over() {
    pictures("after_playing", Feedback::After, |stage| stage.play("-4'", 30.0, 0.8));
    pictures("after_judged", Feedback::After, |stage| stage.play("-4'", 30.0, 1.7));
}

/// With the display off the screen is the same however the note is played, until the verdict.
#[test]
fn nothing_moves_with_the_pitch_before_the_verdict() {
    for size in SIZES {
        let seen = |feedback: Feedback, cents: f64| {
            let mut stage = stage(colour(), feedback);
            stage.rest(0.3);
            stage.play("-4'", cents, 0.8);
            text(&drawn(&stage, size))
        };
        let off: Vec<String> = [-60.0, -10.0, 0.0, 35.0].map(|cents| seen(Feedback::After, cents)).into();
        assert!(off.iter().all(|shown| *shown == off[0]), "{size:?}: {off:#?}");
        assert_ne!(
            seen(Feedback::Always, -60.0),
            seen(Feedback::Always, 35.0),
            "{size:?}: with the display on it moves"
        );
    }
}

#[test]
fn five_tries_are_told_together_when_feedback_has_faded() {
    let mut stage = Stage::new(colour());
    stage.order(Order::TakeFeedback(Feedback::Fading));
    stage.start(
        practice::Drill::parse(
            "test",
            "title = 't'\n[[item]]\nplay = '-4'\ntries = 20\nhold = 1",
            stage.harp(),
        )
        .unwrap(),
    );
    for _ in 0..17 {
        stage.rest(0.4);
        stage.play("-4", 3.0, 1.3);
    }
    stage.rest(0.4);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("2 tries are over: they are told five together"), "{shown}");
    for _ in 0..3 {
        stage.rest(0.4);
        stage.play("-4", 3.0, 1.3);
    }
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(!shown.contains("are told five together") && shown.contains("landed, centred"), "{shown}");
}

#[test]
fn a_key_says_when_the_pitch_is_shown() {
    let mut stage = stage(colour(), Feedback::Always);
    stage.press('v');
    assert_eq!(stage.exercise.feedback(), Feedback::Fading);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("fading: your pitch is shown less and less often"), "{shown}");
    stage.press('v');
    assert_eq!(stage.exercise.feedback(), Feedback::After);
}
