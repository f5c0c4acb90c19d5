//! What the screen must never keep to itself, at any size that it draws.

use crate::picture::{drawn, text};
use crate::stage::{Stage, colour, drill, mono_ascii};
use layout::{ConcertPitch, Harp, Temperament, Tunings};
use ratatui::crossterm::event::KeyCode;
use screen::Notice;

const SIZES: [(u16, u16); 4] = [(100, 30), (80, 24), (60, 18), (40, 18)];

/// The words of a picture, whatever the line breaks.
fn words(stage: &Stage, size: (u16, u16)) -> String {
    text(&drawn(stage, size)).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_caution_of_a_drill_is_shown_to_its_last_word() {
    let mut cautions = 0;
    // The drill that is left out is for a harp in another tuning.
    for (name, _) in practice::built_in().iter().filter(|(name, _)| *name != "minor-bends") {
        let mut stage = Stage::new(colour());
        let drill = drill(name, stage.harp());
        let Some(caution) = drill.caution.clone() else { continue };
        cautions += 1;
        stage.start(drill);
        for size in [(100, 30), (80, 24), (60, 18)] {
            assert!(words(&stage, size).contains(&caution), "{name} at {size:?}: {}", words(&stage, size));
        }
    }
    assert!(cautions > 3, "only {cautions} of our drills have a caution");
}

#[test]
fn the_last_verdict_of_a_drill_can_be_read_at_its_end() {
    let mut stage = Stage::new(colour());
    stage.begin("-3'");
    for off in [3.0, 40.0] {
        stage.rest(1.0);
        stage.play("-3'", off, 2.5);
        stage.rest(2.0);
    }
    assert_eq!(stage.exercise.session().unwrap().phase(), practice::Phase::Done);
    for size in [(100, 30), (80, 24), (60, 18)] {
        assert!(words(&stage, size).contains("-3' short by 40 cents: bend"), "{}", words(&stage, size));
    }
}

/// A natural minor harp, just, at A4 = 442 Hz: nothing about it is usual.
fn unusual() -> Harp {
    let tuning = Tunings::ours().find("natural minor").unwrap().tuning;
    let known = Temperament::ours();
    let just = Temperament::find(&known, "just").unwrap().reed_cents(&tuning);
    Harp::new("A".parse().unwrap(), tuning, ConcertPitch::new(442.0).unwrap()).with_reed_cents(just)
}

#[test]
fn what_is_not_usual_about_a_harp_is_told_on_every_screen() {
    for to_view in [VIEWS[0], VIEWS[1], VIEWS[4], VIEWS[5], VIEWS[6]] {
        let mut stage = Stage::on(unusual(), colour(), false);
        to_view(&mut stage);
        for size in [(120, 40), (80, 24), (60, 18), (40, 18)] {
            let shown = words(&stage, size);
            for fact in ["natural minor", "just", "442"] {
                assert!(shown.contains(fact), "{fact} at {size:?}: {shown}");
            }
        }
        let mut usual = Stage::new(colour());
        to_view(&mut usual);
        let shown = words(&usual, (80, 24));
        assert!(!shown.contains("Richter") && !shown.contains("440") && !shown.contains("equal"), "{shown}");
    }
}

#[test]
fn the_summary_says_how_the_drill_ended_and_who_played() {
    let left = |notice: Notice, all: bool| {
        let mut stage = Stage::new(colour());
        stage.app.on_notice(&notice);
        stage.begin("-3'");
        for _ in 0..if all { 2 } else { 1 } {
            stage.rest(1.0);
            stage.play("-3'", 0.0, 2.0);
            stage.rest(2.0);
        }
        if !all {
            stage.press('q');
        }
        words(&stage, (80, 24))
    };
    let heard = Notice::Hearing("Desk microphone".to_owned());
    let (done, early) = (left(heard.clone(), true), left(heard, false));
    assert!(done.contains("A drill for the test done") && !done.contains("played by"), "{done}");
    assert!(early.contains("A drill for the test left early") && !early.contains("played by"), "{early}");
    assert!(left(Notice::Player, true).contains("done, played by the built-in player"));
    let recording = Notice::Recording("take.wav".to_owned());
    assert!(left(recording, false).contains("left early, played by the recording take.wav"));
}

#[test]
fn a_drill_that_this_harp_cannot_play_stays_in_the_list_with_the_reason() {
    // With reeds a whole step apart in every hole nothing bends by more than a half step.
    let tuning = Tunings::ours().find("diminished").unwrap().tuning;
    let harp = Harp::new("C".parse().unwrap(), tuning, ConcertPitch::ISO);
    let mut stage = Stage::on(harp, mono_ascii(), false);
    for _ in 0..3 {
        stage.press_code(KeyCode::Down);
    }
    let shown = words(&stage, (60, 18));
    let drill = drill("hole-2-depths", &Harp::richter("C".parse().unwrap()));
    assert!(shown.contains(&format!("x {} not on this harp", drill.title)), "{shown}");
    assert!(shown.contains("it cannot play -3''"), "{shown}");
    assert_eq!(stage.press_code(KeyCode::Enter), None, "it is not begun");
}

/// Leads to a view.
type Way = fn(&mut Stage);

const VIEWS: [Way; 7] = [
    |_| {},
    |stage| {
        stage.press('l');
    },
    |stage| {
        stage.press('m');
    },
    |stage| stage.begin("-3'"),
    |stage| {
        stage.begin("-3'");
        stage.rest(1.0);
        stage.play("-3'", 0.0, 1.8);
        stage.press('q');
    },
    |stage| stage.in_time("-2 4", 2, None),
    |stage| {
        stage.in_time("-2 4", 1, None);
        stage.play_run(60.0, |_| Some((0.0, 0.0)));
    },
];

#[test]
fn the_way_back_and_the_keys_are_on_every_screen() {
    for look in [colour(), mono_ascii()] {
        for to_view in VIEWS {
            let mut stage = Stage::new(look.clone());
            to_view(&mut stage);
            for size in SIZES {
                let shown = text(&drawn(&stage, size));
                let keys = shown.lines().next_back().unwrap();
                assert!(keys.contains("? keys"), "{shown}");
                assert!(keys.contains("q leave") || keys.contains("q back"), "{shown}");
            }
        }
    }
}

#[test]
fn a_key_is_offered_only_where_it_does_something() {
    for to_view in VIEWS {
        let mut stage = Stage::new(colour());
        stage.app.on_notice(&Notice::NoInput);
        to_view(&mut stage);
        let offered = words(&stage, (80, 24)).contains("Press b");
        let brief = words(&stage, (60, 18)).contains("press b for the built-in player.");
        assert_eq!(offered, brief);
        assert_eq!(stage.press_code(KeyCode::Char('b')).is_some(), offered);
    }
}
