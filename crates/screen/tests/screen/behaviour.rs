//! What the screen does and what it asks for.

use crate::picture::{drawn, text};
use crate::runs::{BLUES, faults};
use crate::stage::{Stage, colour, drill, mono_ascii, own_drill};
use crate::today::player;
use layout::Harp;
use practice::{Event, Order};
use proptest::prelude::*;
use ratatui::crossterm::event::KeyCode;
use ratatui::style::Color;
use scoring::Outcome;
use screen::{Action, Glyphs, Library, Notice, View};
use std::time::Duration;
use theory::Groove;

#[test]
fn a_stranger_reaches_a_judged_bend_with_one_key() {
    let mut stage = Stage::new(colour());
    let Some(Action::StartDrill(name)) = stage.press_code(KeyCode::Enter) else { panic!("no drill started") };
    let drill = drill(&name, stage.harp());
    let first = drill.items[0].notes()[0];
    stage.start(drill);
    stage.rest(1.0);
    let hz = stage.harp().hz(first.way).unwrap();
    stage.hear(first.hold_s + 0.5, |_| Some(hz));
    stage.rest(0.5);
    let judged: Vec<Outcome> = stage
        .said
        .iter()
        .filter_map(|event| match event {
            Event::Judged(tried) => Some(tried.verdict.outcome),
            _ => None,
        })
        .collect();
    assert_eq!(judged, [Outcome::Landed]);
    assert!(text(&drawn(&stage, (80, 24))).contains("landed, centred: right on pitch"));
}

#[test]
fn without_a_microphone_the_built_in_player_is_offered() {
    let mut stage = Stage::new(colour());
    stage.app.on_notice(&Notice::NoInput);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("No microphone found. Press b and the built-in player plays for you."), "{shown}");
    assert_eq!(stage.press('b'), Some(Action::UsePlayer));
    stage.app.on_notice(&Notice::Player);
    assert_eq!(stage.press('b'), Some(Action::UseMicrophone));
}

#[test]
fn the_notes_of_a_harp_are_named_by_the_letters_of_its_key() {
    let mut stage = Stage::new(colour());
    for (key, note) in [("D♭", "D♭4"), ("D", "D4"), ("E♭", "E♭4"), ("E", "E4"), ("F", "F4"), ("F♯", "F♯4")]
    {
        let tuning = stage.harp().tuning().clone();
        let wanted = Action::TakeHarp(key.parse().unwrap(), tuning);
        assert_eq!(stage.press_code(KeyCode::Right), Some(wanted));
        let shown = text(&drawn(&stage, (80, 24)));
        assert!(shown.contains(&format!("1 blow is {note}")), "{shown}");
    }
    stage.press('l');
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("F♯ harp") && shown.contains("C♯ blues"), "{shown}");
    stage.play("-3'", 0.0, 0.5);
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(shown.contains("E5 is degree ♭3 of C♯"), "{shown}");
}

#[test]
fn keys_lead_from_view_to_view_and_out() {
    let mut stage = Stage::new(colour());
    assert_eq!(stage.press('l'), Some(Action::Order(Order::PlayFreely)));
    assert_eq!(stage.press('q'), Some(Action::Order(Order::Rest)));
    stage.begin("-3'");
    assert_eq!(stage.press('?'), None);
    assert_eq!(stage.press('n'), None, "a key closes the help and does nothing else");
    assert_eq!(stage.exercise.session().unwrap().item(), 0);
    assert_eq!(stage.press('q'), Some(Action::Order(Order::Rest)));
    assert_eq!(stage.press('q'), Some(Action::Quit));
}

#[test]
fn the_way_back_is_the_way_out_only_where_the_program_began() {
    let mut stage = Stage::beginning_in(View::Drill);
    stage.begin("-3'");
    assert_eq!(stage.press('q'), Some(Action::Quit), "nothing was tried");
    stage.begin("-3'");
    stage.rest(1.0);
    stage.play("-3'", 0.0, 1.8);
    assert_eq!(stage.press('q'), Some(Action::Order(Order::Leave)));
    assert_eq!(stage.app.view(), View::Summary);
    assert_eq!(stage.press('q'), Some(Action::Quit));
    let mut stage = Stage::beginning_in(View::Listen);
    stage.order(Order::PlayFreely);
    assert_eq!(stage.press('q'), Some(Action::Quit));
}

#[test]
fn two_presses_in_half_a_second_leave_one_view() {
    let mut stage = Stage::new(colour());
    stage.press('l');
    assert_eq!(stage.press('q'), Some(Action::Order(Order::Rest)));
    // A key that is held down repeats some thirty times a second.
    for _ in 0..100 {
        stage.clock = stage.clock.saturating_sub(Duration::from_millis(970));
        assert_eq!(stage.press('q'), None);
    }
    assert_eq!(stage.press('q'), Some(Action::Quit));
}

#[test]
fn only_free_playing_asks_which_reeds_sound_together() {
    let mut stage = Stage::new(colour());
    let mut wants = vec![stage.exercise.wants_reeds()];
    for key in ['l', 'q', 'm', 'q'] {
        stage.press(key);
        wants.push(stage.exercise.wants_reeds());
    }
    stage.begin("-3'");
    wants.push(stage.exercise.wants_reeds());
    assert_eq!(wants, [false, true, false, false, false, false]);
}

#[test]
fn another_harp_is_half_a_step_away() {
    let mut stage = Stage::new(colour());
    let wanted = "D♭".parse().unwrap();
    assert_eq!(stage.press_code(KeyCode::Right), Some(Action::TakeHarp(wanted, layout::Tuning::richter())));
    assert_eq!(stage.harp().key(), wanted);
}

#[test]
fn the_note_that_is_asked_for_can_be_heard() {
    let mut stage = Stage::new(colour());
    stage.begin("-3'");
    // B♭4 = 440 Hz · 2^(1/12), MIDI Tuning Standard.
    let Some(Action::Hear(hz)) = stage.press('r') else { panic!("no tone asked for") };
    assert!((hz - 466.1638).abs() < 0.001, "{hz}");
}

#[test]
fn nothing_is_drawn_while_nothing_changes() {
    let mut stage = Stage::new(colour());
    stage.begin("-3'");
    assert!(stage.app.needs_draw());
    stage.app.drawn();
    stage.rest(3.0);
    assert!(!stage.app.needs_draw(), "silence changes nothing");
    stage.play("-3'", 0.0, 0.1);
    assert!(stage.app.needs_draw());
}

#[test]
fn reduced_motion_draws_at_most_four_pictures_a_second() {
    let mut stage = Stage::still(colour());
    stage.begin("-3'");
    stage.rest(1.0);
    let mut pictures = 0;
    for step in 0..100 {
        stage.hear(0.02, |_| Some(460.0 + f64::from(step) / 20.0));
        if stage.app.needs_draw() {
            stage.app.drawn();
            pictures += 1;
        }
    }
    assert!((4..=9).contains(&pictures), "{pictures} pictures in two seconds, the first at once");
    let shown = text(&drawn(&stage, (80, 24)));
    let newest = shown.lines().find(|line| line.ends_with("now")).unwrap();
    assert!(!newest.contains(Glyphs::UNICODE.now), "nothing moves:\n{shown}");
}

#[test]
fn a_lost_device_keeps_what_was_played() {
    let mut stage = Stage::new(colour());
    stage.begin("-3' -2'");
    stage.rest(1.0);
    stage.play("-3'", 3.0, 1.8);
    stage.rest(2.0);
    stage.play("-3'", 0.0, 0.6);
    stage.lose(&Notice::Lost);
    assert_eq!(stage.exercise.session().unwrap().results().first().unwrap().verdict.outcome, Outcome::Landed);
    assert!(text(&drawn(&stage, (80, 24))).contains("the microphone is gone; waiting"));
    stage.app.on_notice(&Notice::Hearing("Desk microphone".to_owned()));
    stage.app.on_notice(&Notice::Back);
    assert!(text(&drawn(&stage, (80, 24))).contains("the microphone is back"));
}

/// The harps that `count` presses of a key lead to, as far as they lead.
fn walk(stage: &mut Stage, key: KeyCode, count: usize) -> Vec<String> {
    (0..count)
        .map_while(|_| match stage.press_code(key) {
            Some(Action::TakeHarp(key, tuning)) => Some(format!("{key} {}", tuning.name())),
            _ => None,
        })
        .collect()
}

#[test]
fn the_keys_for_other_harps_go_through_the_owned_ones_first() {
    let mut stage = Stage::new(colour());
    assert_eq!(walk(&mut stage, KeyCode::Right, 2), ["D♭ Richter", "D Richter"]);
    let harp = |text: &str| layout::Tunings::ours().harp(text, layout::ConcertPitch::ISO).unwrap();
    stage.app.own(["G", "A natural minor", "C", "D"].map(harp).into());
    let down = walk(&mut stage, KeyCode::Left, 9);
    assert_eq!(down, ["C Richter", "A natural minor", "G Richter"], "and there it ends");
    let up = walk(&mut stage, KeyCode::Right, 99);
    assert_eq!(up[..5], ["A natural minor", "C Richter", "D Richter", "E♭ Richter", "E Richter"]);
    // Every key there is, in Richter tuning, and the one in natural minor; the walk began on G.
    assert_eq!(up.len() + 1, layout::HarpKey::all().count() + 1);
    assert_eq!(up.last().unwrap(), "D♭ Richter", "what lies between the owned ones comes last");
}

#[test]
fn position_and_scale_are_those_of_the_last_time() {
    let mut stage = Stage::new(colour());
    assert_eq!((stage.app.position().number(), stage.app.scale()), (2, None));
    stage.app.go_on_with(theory::Position::new(3), Some("Dorian"));
    stage.press('m');
    assert!(text(&drawn(&stage, (80, 24))).contains("D Dorian"), "3rd position of a C harp is D");
    stage.press('s');
    stage.press('p');
    let chosen = stage.app.scale().map(str::to_owned);
    assert!(chosen.is_some() && chosen.as_deref() != Some("Dorian") && stage.app.position().number() == 4);
    stage.press_code(KeyCode::Esc);
    stage.press('m');
    let title = text(&drawn(&stage, (80, 24)));
    assert!(title.contains(&chosen.unwrap()), "{title}");
    stage.press_code(KeyCode::Esc);
    stage.app.go_on_with(None, Some("a scale that is gone"));
    stage.press('m');
    assert!(text(&drawn(&stage, (80, 24))).contains("blues"), "the usual one");
}

#[test]
fn other_drills_may_come_while_it_runs() {
    let mut stage = Stage::new(colour());
    let entry = |name: &str| {
        let drill = own_drill("-4", &Harp::richter("C".parse().unwrap()));
        practice::Drill { name: name.to_owned(), title: format!("Title of {name}"), ..drill }
    };
    stage.offer(["a", "b", "c"].map(entry).into(), Library::default());
    stage.press('j');
    stage.offer(["c", "x", "b"].map(entry).into(), Library::default());
    assert!(text(&drawn(&stage, (80, 24))).contains("» Title of b"), "the same one stays chosen");
    stage.offer(["c"].map(entry).into(), Library::default());
    assert!(text(&drawn(&stage, (80, 24))).contains("» Title of c"));
    stage.offer(Vec::new(), Library { in_time: Vec::new(), ..Library::default() });
    assert_eq!(stage.press_code(KeyCode::Enter), None);
}

/// One thing that may happen to a screen.
#[derive(Clone, Debug)]
enum Happening {
    Key(KeyCode),
    Note(f64, u8),
    Notice(Notice),
    Begin,
    Run,
    Jam,
    PlayRun(u8),
}

fn happening() -> impl Strategy<Value = Happening> {
    let keys = prop_oneof![
        prop::sample::select(" abcdefghijklmnpqrstuwxJKW+-?".chars().map(KeyCode::Char).collect::<Vec<_>>()),
        prop::sample::select(vec![KeyCode::Enter, KeyCode::Up, KeyCode::Down, KeyCode::Left, KeyCode::Right]),
    ];
    let notices = prop::sample::select(vec![
        Notice::NoInput,
        Notice::Lost,
        Notice::Back,
        Notice::Dropped(7),
        Notice::Clipping,
        Notice::Slept,
        Notice::Say("süß 音 words that are long enough to leave any narrow screen on the right".to_owned()),
    ]);
    prop_oneof![
        4 => keys.prop_map(Happening::Key),
        4 => (20.0..9000.0, 1..80u8).prop_map(|(hz, hops)| Happening::Note(hz, hops)),
        1 => notices.prop_map(Happening::Notice),
        1 => Just(Happening::Begin),
        1 => Just(Happening::Run),
        1 => Just(Happening::Jam),
        2 => (0..80u8).prop_map(Happening::PlayRun),
    ]
}

fn happen(stage: &mut Stage, happening: &Happening) {
    match happening {
        Happening::Key(code) => {
            stage.press_code(*code);
        }
        Happening::Note(hz, hops) => {
            stage.hear(f64::from(*hops) / 100.0, |_| Some(*hz));
            stage.rest(0.7);
        }
        Happening::Notice(notice) if notice.is_gap() => stage.lose(notice),
        Happening::Notice(notice) => stage.app.on_notice(notice),
        Happening::Begin => stage.begin("3 -3''' 6o 10''"),
        Happening::Run => stage.in_time(&format!("{BLUES} 10'' 1 {BLUES} 6o"), 2, None),
        Happening::Jam => {
            stage.order(Order::Jam(Box::new(crate::jams::plan("eight-bar", Groove::Shuffle, 1))));
        }
        Happening::PlayRun(eighths) => stage.play_run(f64::from(*eighths) / 10.0, faults),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn no_size_and_no_state_breaks_the_picture(
        happenings in prop::collection::vec(happening(), 0..12),
        width in 1..400u16,
        height in 1..120u16,
    ) {
        let mut stage = Stage::beginning_with(colour(), View::Today);
        stage.remember(player());
        for happening in &happenings {
            happen(&mut stage, happening);
            drawn(&stage, (width, height));
        }
    }

    #[test]
    fn mono_ascii_shows_neither_colour_nor_other_signs(
        happenings in prop::collection::vec(happening(), 0..12),
        width in 1..140u16,
        height in 1..50u16,
    ) {
        let mut stage = Stage::beginning_with(mono_ascii(), View::Today);
        stage.remember(player());
        for happening in &happenings {
            happen(&mut stage, happening);
        }
        for cell in drawn(&stage, (width, height)).content() {
            prop_assert!(cell.symbol().is_ascii(), "{:?}", cell.symbol());
            prop_assert_eq!((cell.fg, cell.bg), (Color::Reset, Color::Reset));
        }
    }
}
