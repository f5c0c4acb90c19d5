//! What the keys make of a drill: again, only what did not land, one note, another harp, another tolerance, a scale.

use crate::picture::{drawn, text};
use crate::stage::{Stage, colour};
use layout::{ConcertPitch, Harp, TabStyle, Tunings};
use practice::{Drill, Order};
use ratatui::crossterm::event::KeyCode;
use scoring::Tolerance;
use screen::{Action, Library, View};
use theory::{Ability, Level, ScaleInKey, Scales};

/// The tab of a drill that an action begins.
fn begun(action: Option<Action>) -> Vec<String> {
    let Some(Action::Order(Order::Drill(drill))) = action else { panic!("no drill is begun by {action:?}") };
    tabs(&drill)
}

fn tabs(drill: &Drill) -> Vec<String> {
    drill.items.iter().flat_map(practice::Item::ways).map(|way| TabStyle::default().print(way)).collect()
}

/// At the end of a drill of two notes, of which the second did not land.
fn at_the_end() -> Stage {
    let mut stage = Stage::new(colour());
    stage.begin("-3' -4");
    for (tab, off) in [("-3'", 2.0), ("-3'", -3.0), ("-4", 4.0), ("-4", 40.0)] {
        stage.rest(2.0);
        stage.play(tab, off, 2.0);
    }
    stage.rest(3.0);
    assert_eq!(stage.app.view(), View::Summary);
    stage
}

#[test]
fn the_end_of_a_drill_leads_on_with_one_key() {
    assert_eq!(begun(at_the_end().press_code(KeyCode::Enter)), ["-3'", "-4"]);
    assert_eq!(begun(at_the_end().press('o')), ["-4"], "only what did not land");
    let mut stage = at_the_end();
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("work next on -4 (4 draw)"), "{shown}");
    assert_eq!(begun(stage.press('w')), ["-4"]);
    assert_eq!(stage.exercise.session().unwrap().in_a_row(), Some((0, 3)));
    // The drill of the test is not in the list: the second drill comes, after the chosen first one.
    let mut stage = at_the_end();
    assert_eq!(stage.press('n'), Some(Action::StartDrill("long-tones".to_owned())));
}

#[test]
fn a_key_that_has_nothing_to_do_is_not_offered() {
    let mut stage = Stage::new(colour());
    stage.begin("-4");
    for _ in 0..2 {
        stage.rest(2.0);
        stage.play("-4", 0.0, 2.0);
    }
    stage.rest(3.0);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("every note was centred"), "{shown}");
    for (key, words) in [('o', "did not land"), ('w', "work on it")] {
        assert!(!shown.contains(words), "{shown}");
        assert_eq!(stage.press(key), None);
    }
    assert!(text(&drawn(&at_the_end(), (80, 24))).contains("o only what did not land"));
}

#[test]
fn a_drill_that_is_not_for_the_harp_is_passed_over() {
    let mut stage = at_the_end();
    let drills: Vec<Drill> = ["a", "b", "c"]
        .map(|name| Drill {
            name: name.to_owned(),
            tuning: (name == "b").then(|| "natural minor".to_owned()),
            ..crate::stage::own_drill("-4", stage.harp())
        })
        .into();
    stage.offer(drills, Library::default());
    assert_eq!(stage.press('n'), Some(Action::StartDrill("c".to_owned())));
    assert_eq!(stage.press('n'), None, "it was the last one");
}

#[test]
fn another_harp_in_the_middle_of_a_drill_is_asked_about_once() {
    let mut stage = Stage::new(colour());
    stage.begin("-3' -4");
    stage.rest(1.0);
    assert_eq!(stage.press_code(KeyCode::Left), None);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("← again: begin anew on a B harp"), "{shown}");
    // Any other key is the answer no.
    stage.press(' ');
    assert!(!text(&drawn(&stage, (80, 24))).contains("begin anew"));
    stage.press(' ');
    assert_eq!(stage.press_code(KeyCode::Left), None);
    assert_eq!(stage.press_code(KeyCode::Right), None, "the other way is another question");
    assert!(text(&drawn(&stage, (80, 24))).contains("→ again: begin anew on a D♭ harp"));
    let Some(Action::BeginAnew(key, ..)) = stage.press_code(KeyCode::Right) else { panic!("not begun anew") };
    assert_eq!(key, "D♭".parse().unwrap());
    assert_eq!(stage.exercise.session().unwrap().results().len(), 0);
    assert!(stage.exercise.is_on() && stage.harp().key() == key);
    assert!(text(&drawn(&stage, (80, 24))).contains("D♭ harp"));
}

#[test]
fn the_tolerance_goes_by_steps_and_is_shown() {
    let mut stage = Stage::new(colour());
    for (key, in_tune, centred) in
        [('-', 20.0, 10.0), ('-', 15.0, 7.0), ('-', 10.0, 5.0), ('+', 15.0, 7.0), ('+', 20.0, 10.0)]
    {
        stage.press(key);
        assert_eq!(stage.exercise.tolerance(), Tolerance::new(centred, in_tune).unwrap());
        let said = format!("centred within {centred} cents, in tune within {in_tune}");
        assert!(text(&drawn(&stage, (80, 24))).contains(&said));
    }
    stage.begin("-4");
    for _ in 0..3 {
        stage.press('+');
    }
    assert_eq!(stage.exercise.session().unwrap().tolerance().in_tune_cents, 35.0);
    assert!(text(&drawn(&stage, (80, 24))).contains("35 flat"), "{}", text(&drawn(&stage, (80, 24))));
    assert_eq!(stage.press('+'), None, "that was the widest");
}

#[test]
fn a_note_with_a_tolerance_of_its_own_keeps_it() {
    let mut stage = Stage::new(colour());
    let text_of_drill = "title = \"Strict\"\n[[item]]\nplay = \"-4\"\nwithin = 5\n";
    stage.start(Drill::read("strict", text_of_drill).unwrap());
    stage.press('-');
    assert_eq!(stage.exercise.session().unwrap().tolerance().in_tune_cents, 5.0);
    let shown = text(&drawn(&stage, (100, 30)));
    assert!(shown.contains("the note asked for keeps that of its drill"), "{shown}");
}

#[test]
fn the_scale_of_the_map_is_a_drill_and_leads_back_to_it() {
    let mut stage = Stage::new(colour());
    stage.press('m');
    let tabs = begun(stage.press_code(KeyCode::Enter));
    // G blues on a C harp for a player of natural notes and draw bends, worked out by hand from the layout: G
    // A♯ C C♯ D F.
    assert_eq!(
        tabs,
        ["1", "-1'", "-1", "-2''", "-2", "-3'", "4", "-4'", "-4", "-5", "6", "7", "-8", "-9", "9", "10"]
    );
    assert_eq!(stage.app.view(), View::Drill);
    assert!(text(&drawn(&stage, (80, 24))).contains("Up the blues scale, 2nd position"));
    stage.press('q');
    assert_eq!(stage.app.view(), View::Map, "one level up");
    stage.press('q');
    assert_eq!(stage.app.view(), View::Home);
}

/// C5 is 4 blow and, on a harp of Richter tuning, the overblow of hole 3.
#[test]
fn free_playing_names_only_ways_within_the_players_reach() {
    let said = |level| {
        let mut stage = Stage::new(colour());
        let drills = vec![crate::stage::own_drill("-4", stage.harp())];
        stage.offer(drills, Library { ability: Ability::new(level), ..Library::default() });
        stage.press('l');
        stage.play("4", 0.0, 0.6);
        text(&drawn(&stage, (80, 24)))
    };
    let draw_bends = said(Level::DrawBends);
    assert!(draw_bends.contains("4 blow") && !draw_bends.contains("3 overblow"), "{draw_bends}");
    let everything = said(Level::Everything);
    assert!(everything.contains("4 or 3o: 4 blow or 3 overblow"), "{everything}");
}

/// An overblow that was played is named even for a player who does not claim it: it has just sounded.
#[test]
fn what_was_played_is_named_whoever_plays_it() {
    let mut stage = Stage::new(colour());
    stage.press('l');
    stage.play("6o", 0.0, 0.6);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("6 overblow"), "{shown}");
}

#[test]
fn the_sheet_of_the_map_is_that_of_what_is_shown() {
    let mut stage = Stage::new(colour());
    stage.press('m');
    for key in ['p', 's', 'A'] {
        stage.press(key);
    }
    let Some(Action::WriteSheet(position, key, ability)) = stage.press('w') else { panic!("no sheet") };
    let shown = text(&drawn(&stage, (80, 24)));
    assert_eq!((position.number(), key.title().as_str()), (3, "D major blues"));
    assert!(shown.contains("D major blues") && shown.contains("3rd position"), "{shown}");
    assert!(shown.contains(ability.level().about()), "{shown}");
}

#[test]
fn a_scale_of_the_map_begins_anew_in_another_position_and_on_another_harp() {
    let mut stage = Stage::new(colour());
    stage.press('m');
    stage.press_code(KeyCode::Enter);
    assert_eq!(stage.press('p'), None);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("p again: begin anew in 3rd position"), "{shown}");
    // D blues on a C harp, worked out by hand from the layout: D F G A♭ A C, from C4 = 1 blow.
    assert_eq!(begun(stage.press('p'))[..5], ["1", "-1", "-2''", "-2", "-3'''"]);
    assert_eq!(stage.app.position().number(), 3);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("Up the blues scale, 3rd position"), "{shown}");
    // Where another tuning has its reeds elsewhere, the scale lies on other holes.
    let minor = Tunings::ours().find("natural minor").unwrap().tuning.clone();
    let minor = Harp::new("D".parse().unwrap(), minor, ConcertPitch::ISO);
    stage.app.own(vec![Harp::richter("C".parse().unwrap()), minor]);
    stage.press_code(KeyCode::Right);
    let Some(Action::BeginAnew(key, _, drill)) = stage.press_code(KeyCode::Right) else { panic!("not anew") };
    assert_eq!((key, stage.harp().tuning().name()), ("D".parse().unwrap(), "natural minor"));
    let scale = Scales::ours().find("blues").unwrap().clone();
    let key = ScaleInKey::in_position(scale, stage.harp(), stage.app.position());
    for way in drill.items.iter().flat_map(practice::Item::ways) {
        let note = stage.harp().note(way).unwrap_or_else(|| panic!("{way} is not on this harp"));
        assert!(key.find(note).is_some(), "{way} is none of {}", key.title());
    }
}

#[test]
fn a_drill_of_holes_has_no_other_position() {
    let mut stage = Stage::new(colour());
    stage.begin("-3'");
    assert_eq!(stage.press('p'), None);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("the same holes in every position"), "{shown}");
    assert_eq!(stage.press('p'), None);
    assert_eq!(stage.app.position().number(), 2);
}
