//! Free playing over a form on the screen: pictures of every phase, and what the keys do.

use crate::picture::{drawn, text, text_and_styles};
use crate::stage::{RATE, Stage, colour, mono_ascii};
use layout::Harp;
use practice::Order;
use practice::jam::{Form, Jam, JamPhase, JamPlan};
use practice::run::{Clicked, Clicking, Rhythm, StartAt, Tempo};
use ratatui::crossterm::event::KeyCode;
use screen::{Notice, View};
use theory::{Ability, Groove, Level, Progression, Progressions, ScaleInKey, Scales};

const SIZES: [(u16, u16); 5] = [(200, 60), (120, 40), (80, 24), (60, 18), (40, 12)];

/// A form in A on the blues scale, at 120 beats a minute, for a D harp.
pub(crate) fn plan(form: &str, feel: Groove, choruses: u32) -> JamPlan {
    let scale = ScaleInKey::new(Scales::ours().find("blues").unwrap().clone(), "A".parse().unwrap());
    let form =
        Progressions::ours().find(form).cloned().unwrap_or_else(|_| Progression::new("vamp", form).unwrap());
    let form = Form::new(&form, &scale, &Harp::richter("D".parse().unwrap())).unwrap();
    JamPlan {
        form: if choruses == 0 { form } else { form.times(choruses) },
        feel,
        rhythm: Rhythm::of_groove(feel, Tempo::new(120.0).unwrap()),
        scale,
        ability: Ability::new(Level::DrawBends),
        start: StartAt::CountIn,
        clicking: Clicking { what: Clicked::CountIn, silent_bars: 0 },
        delay_s: Some(0.0),
    }
}

fn stage(look: screen::Look, plan: JamPlan) -> Stage {
    let mut stage = Stage::on(Harp::richter("D".parse().unwrap()), look, false);
    stage.app.on_notice(&Notice::Player);
    stage.order(Order::Jam(Box::new(plan)));
    stage
}

fn jam(stage: &Stage) -> &Jam {
    stage.exercise.jam().unwrap()
}

/// A line over twelve bars of A: of the chord, of the scale, outside, a long blue note, and one between two notes.
fn line(beat: f64) -> Option<(&'static str, f64)> {
    let (bar, beat) = ((beat / 4.0).floor(), beat.rem_euclid(4.0));
    let eighth = (beat * 2.0) as usize;
    if beat.rem_euclid(0.5) > 0.42 && bar as i64 % 12 != 2 {
        return None;
    }
    match bar as i64 % 12 {
        0 => Some((["-2", "-3'", "4", "-4'", "-4", "-5", "6", "6"][eighth], 0.0)),
        1 => [None, None, Some("-4"), Some("-4"), Some("-4'"), Some("4"), None, None][eighth]
            .map(|tab| (tab, 0.0)),
        2 => (beat < 2.5).then_some(("-3'", 0.0)),
        4 => Some((["4", "4", "5", "5", "6", "6", "-6", "5"][eighth], 0.0)),
        6 => (eighth < 3).then_some(("-3'", 50.0)),
        8 => ["-4", "-4", "-6", "5"].get(eighth).map(|tab| (*tab, 0.0)),
        _ => (eighth == 0).then_some(("-2", 0.0)),
    }
}

/// Plays the line until so many beats from the first one.
fn play(stage: &mut Stage, until: f64) {
    let beat_s = jam(stage).plan().rhythm.beat_s();
    while stage.exercise.is_on() {
        let now = jam(stage).now().map_or(f64::NEG_INFINITY, |now| now / beat_s);
        if now >= until {
            return;
        }
        let sounds = (now >= 0.0).then(|| line(now)).flatten();
        let hz =
            sounds.map(|(tab, cents)| stage.harp().hz(stage.way(tab)).unwrap() * f64::exp2(cents / 1200.0));
        stage.hear(480.0 / RATE, |_| hz);
    }
}

fn pictures(name: &str, plan: &JamPlan, act: impl Fn(&mut Stage)) {
    for (look_name, look) in [("colour", colour()), ("mono-ascii", mono_ascii())] {
        let mut stage = stage(look, plan.clone());
        act(&mut stage);
        for size in SIZES {
            let name = format!("jam_{name}_{}x{}_{look_name}", size.0, size.1);
            insta::assert_snapshot!(name, text_and_styles(&drawn(&stage, size)));
        }
    }
}

#[test]
fn a_jam_counts_in() {
    pictures("count_in", &plan("twelve-bar", Groove::Shuffle, 3), |stage| play(stage, -1.5));
}

#[test]
fn what_is_played_stands_under_its_chords() {
    pictures("playing", &plan("twelve-bar", Groove::Shuffle, 3), |stage| play(stage, 34.4));
}

#[test]
fn two_chords_to_a_bar_and_a_form_of_two_bars() {
    pictures("vamp", &plan("I7 | IV7 V7", Groove::Waltz, 0), |stage| play(stage, 20.0));
}

#[test]
fn what_came_of_a_jam_is_told() {
    pictures("done", &plan("twelve-bar", Groove::Shuffle, 1), |stage| play(stage, f64::INFINITY));
}

#[test]
fn the_bar_the_beat_and_the_chord_that_comes_are_told() {
    let mut stage = stage(colour(), plan("twelve-bar", Groove::Shuffle, 2));
    for (beat, state, chords, mark) in [
        (0.2, "bar 1 of 12, chorus 1 of 2", "next D7 in 4 bars", "[1]"),
        (14.3, "bar 4 of 12, chorus 1 of 2", "next D7 in 2 beats", "(3)"),
        (15.4, "bar 4 of 12, chorus 1 of 2", "next D7 on the next beat", "(4)"),
        (16.3, "bar 5 of 12, chorus 1 of 2", "next A7 in 2 bars", "[1]"),
        (48.3, "bar 1 of 12, chorus 2 of 2", "next D7 in 4 bars", "[1]"),
    ] {
        play(&mut stage, beat);
        let shown = text(&drawn(&stage, (80, 24)));
        for words in [state, chords, mark] {
            assert!(shown.contains(words), "{words} at {beat}: {shown}");
        }
    }
}

/// A microphone hears the band of a loudspeaker too, which the screen says until there is a note to tell; the built-in
/// player does not.
#[test]
fn who_plays_into_a_microphone_is_told_of_headphones() {
    for (notice, told) in [(Notice::Hearing("Desk microphone".to_owned()), true), (Notice::Player, false)] {
        let mut stage = stage(colour(), plan("twelve-bar", Groove::Shuffle, 1));
        stage.app.on_notice(&notice);
        play(&mut stage, -1.0);
        let words = "headphones keep the band out of the microphone";
        assert_eq!(text(&drawn(&stage, (80, 24))).contains(words), told);
        play(&mut stage, 2.0);
        assert!(!text(&drawn(&stage, (80, 24))).contains(words));
    }
}

/// Every key of the view does what its row says, and the jam goes on without any key.
#[test]
fn keys_choose_another_form_feel_tempo_position_and_scale() {
    let mut stage = stage(colour(), plan("twelve-bar", Groove::Shuffle, 1));
    stage.press('f');
    assert_eq!(jam(&stage).plan().form.title, "quick-change twelve-bar in A");
    stage.press('e');
    assert_eq!(jam(&stage).plan().feel, Groove::Swing);
    stage.press('+');
    assert!((jam(&stage).plan().rhythm.tempo.bpm() - 124.0).abs() < 1e-9);
    stage.press('s');
    assert_ne!(jam(&stage).plan().scale.scale().name(), "blues");
    stage.press('p');
    // The third position of a D harp is E.
    assert_eq!(jam(&stage).plan().form.title, "quick-change twelve-bar in E");
    assert_eq!(jam(&stage).plan().scale.tonic().to_string(), "E");
    stage.press('P');
    assert_eq!(jam(&stage).plan().form.title, "quick-change twelve-bar in A");
    play(&mut stage, 5.0);
    stage.press(' ');
    assert_eq!(jam(&stage).phase(), JamPhase::Paused);
    assert!(text(&drawn(&stage, (80, 24))).contains("paused"));
    stage.press(' ');
    play(&mut stage, f64::INFINITY);
    assert_eq!(jam(&stage).phase(), JamPhase::Done);
    stage.press('a');
    assert_eq!(jam(&stage).phase(), JamPhase::CountIn);
}

#[test]
fn it_begins_from_the_lists_and_the_map_and_leads_back() {
    let mut stage = Stage::new(colour());
    assert_eq!(stage.app.view(), View::Home);
    stage.press('f');
    assert_eq!((stage.app.view(), jam(&stage).plan().form.title.as_str()), (View::Jam, "twelve-bar in G"));
    stage.press('q');
    assert_eq!(stage.app.view(), View::Home);
    stage.press('m');
    stage.press('p');
    stage.press('f');
    assert_eq!((stage.app.view(), jam(&stage).plan().form.title.as_str()), (View::Jam, "twelve-bar in D"));
    stage.press_code(KeyCode::Esc);
    assert_eq!(stage.app.view(), View::Map);
}
