//! Phrases and first scales on the screen: in the list, in time, and with other reeds in the hand.

use crate::picture::{drawn, text};
use crate::runs::{pictures, running};
use crate::stage::{Stage, colour, mono_ascii};
use practice::Order;
use practice::run::{Clicking, Phrase, RunPhase, Tempi};
use ratatui::crossterm::event::KeyCode;
use screen::{Action, View};

/// The built-in phrase of this name.
fn phrase(name: &str) -> Phrase {
    let (name, text) = practice::built_in_phrases().iter().find(|(known, _)| *known == name).unwrap();
    Phrase::read(name, text).unwrap()
}

/// Notes of several lengths, rests, a hold over the bar line, joined notes.
#[test]
fn a_phrase_goes() {
    pictures("phrase", |stage| {
        stage.in_time_over(phrase("over-the-bar").material, (4, Some(0.0)), Clicking::default());
        stage.play_run(2.4, |_| Some((0.01, 3.0)));
    });
    let mut stage = Stage::new(colour());
    stage.in_time_over(phrase("through-the-bend").material, (1, Some(0.0)), Clicking::default());
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("~-3─") && !shown.contains("~-2"), "{shown}");
}

/// The list of the first screen goes on with what is played in time: first scales, then phrases.
#[test]
fn a_phrase_is_begun_from_the_first_screen_and_leads_back_to_it() {
    let mut stage = Stage::new(colour());
    stage.press_code(KeyCode::End);
    let last = phrase("blow-bends-down").material;
    assert!(text(&drawn(&stage, (80, 24))).contains(&format!("» {}", last.name.title)));
    let Some(Action::Order(Order::Run(plan))) = stage.press_code(KeyCode::Enter) else { panic!("no run") };
    assert_eq!((plan.material, plan.runs, plan.tempi), (last, 4, Tempi::Steps));
    assert_eq!(stage.app.view(), View::Run);
    stage.rest(1.0);
    stage.press('q');
    assert_eq!(stage.app.view(), View::Home);
    // The phrases lie below the six scales.
    for _ in 0..practice::built_in_phrases().len() {
        stage.press_code(KeyCode::Up);
    }
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(
        shown.contains("» 12th position: major pentatonic") && shown.contains("notes of the scale"),
        "{shown}"
    );
    stage.press_code(KeyCode::Enter);
    let material = &running(&stage).plan().material;
    assert_eq!(
        (material.name.title.as_str(), material.notes().len()),
        ("F major pentatonic, up and down", 11)
    );
}

#[test]
fn the_list_of_the_first_screen_with_a_phrase_chosen() {
    pictures("chosen_phrase", |stage| {
        stage.press_code(KeyCode::End);
        stage.press_code(KeyCode::Up);
    });
}

/// What other reeds cannot play is not begun, and the reason is told.
#[test]
fn what_is_for_other_reeds_stays_in_the_list_with_the_reason() {
    let tuning = layout::Tunings::ours().find("solo").unwrap().tuning;
    let harp = layout::Harp::new("C".parse().unwrap(), tuning, layout::ConcertPitch::ISO);
    let mut stage = Stage::on(harp, mono_ascii(), false);
    stage.press_code(KeyCode::End);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("the phrase is for Richter tuning"), "{shown}");
    assert_eq!(stage.press_code(KeyCode::Enter), None);
    for _ in 0..practice::built_in_phrases().len() {
        stage.press_code(KeyCode::Up);
    }
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("the run is chosen for Richter reeds"), "{shown}");
    assert_eq!(stage.press_code(KeyCode::Enter), None);
}

/// A phrase is played to the player: the mark of the present moves on, nothing is judged, and the key to go on
/// says where to.
#[test]
fn a_phrase_is_played_to_the_player_first() {
    pictures("model", |stage| {
        stage.in_time_over(phrase("half-step-home").material, (4, Some(0.0)), Clicking::default());
        assert_eq!(stage.press('r'), Some(Action::Order(Order::Model)));
        stage.rest(3.0);
    });
    let mut stage = Stage::new(colour());
    stage.in_time("-2 4", 1, Some(0.0));
    stage.press('r');
    stage.rest(1.5);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("listen: it is played to you") && shown.contains("n count-in"), "{shown}");
    stage.press('n');
    stage.rest(0.1);
    assert_eq!(running(&stage).phase(), RunPhase::CountIn);
    stage.play_run(60.0, |_| Some((0.0, 0.0)));
    assert_eq!(running(&stage).phase(), RunPhase::Done);
    assert_eq!(stage.press('r'), None, "what is over begins with another key");
}
