//! Today's practice and what has changed: what the screens say, and playing a plan from its start to its end.

use crate::picture::{drawn, text, text_and_styles};
use crate::stage::{Stage, TODAY, colour, mono_ascii};
use course::{NoteDay, PaceDay, Past, PlayedDay, ThingDay};
use practice::run::RunPhase;
use practice::{Event, Order, Phase, Started};
use ratatui::crossterm::event::KeyCode;
use screen::{Action, View};

fn heard(tab: &str, ago: i32, (landed, tries): (u32, u32), mean: f64) -> NoteDay {
    let way = layout::TabStyle::default().read(tab).unwrap();
    let cents = mean * f64::from(tries);
    NoteDay {
        day: TODAY.plus(-ago),
        way,
        tries,
        landed,
        measured: tries,
        cents,
        cents_squared: (mean * mean + 36.0) * f64::from(tries),
    }
}

/// A player of some weeks, whose deep bends do not come yet.
pub(crate) fn player() -> Past {
    let mut notes = Vec::new();
    for (ago, grown) in [(40, 0), (33, 1), (9, 3), (4, 4), (1, 4)] {
        notes.extend([
            heard("-4'", ago, (5 + grown, 10), -3.0),
            heard("-1'", ago, (6 + grown, 10), 2.0),
            heard("-6'", ago, (4 + grown, 10), -6.0),
            heard("-3'", ago, (2 + grown, 10), 12.0 - f64::from(grown)),
            heard("-2'", ago, (3 + grown, 10), 8.0),
            heard("-2''", ago, (1 + grown, 10), 18.0 - f64::from(grown)),
            heard("-3''", ago, (grown, 10), 26.0 - f64::from(grown)),
        ]);
    }
    let blues = "run C major, up and down";
    let thing = |ago: i32, name: &str, good, of, tempo| ThingDay {
        day: TODAY.plus(-ago),
        name: name.into(),
        of,
        good,
        tempo,
    };
    Past {
        notes,
        things: vec![
            thing(4, "drill first-half-steps", 9, 11, None),
            thing(4, blues, 12, 15, Some(72.0)),
            thing(1, blues, 15, 15, Some(76.0)),
        ],
        paces: vec![
            PaceDay { day: TODAY.plus(-40), name: blues.into(), tempo: 66.0, runs: 2, clean: 2 },
            PaceDay { day: TODAY.plus(-1), name: blues.into(), tempo: 76.0, runs: 3, clean: 2 },
        ],
        played: [40, 33, 9, 4, 2, 1]
            .map(|ago| PlayedDay { day: TODAY.plus(-ago), seconds: 500 + 40 * ago as u32 })
            .into(),
    }
}

const ALL: [(u16, u16); 5] = [(200, 60), (120, 40), (80, 24), (60, 18), (40, 12)];

fn pictures(name: &str, act: impl Fn(&mut Stage)) {
    for (look_name, look) in [("colour", colour()), ("mono-ascii", mono_ascii())] {
        let mut stage = Stage::beginning_with(look, View::Today);
        act(&mut stage);
        for size in ALL {
            let name = format!("{name}_{}x{}_{look_name}", size.0, size.1);
            insta::assert_snapshot!(name, text_and_styles(&drawn(&stage, size)));
        }
    }
}

#[test]
fn the_first_day() {
    pictures("today_first", |_| {});
}

#[test]
fn a_day_of_a_daily_player() {
    pictures("today_daily", |stage| {
        stage.remember(player());
        stage.press_code(KeyCode::Down);
    });
}

#[test]
fn what_has_changed() {
    pictures("progress", |stage| {
        stage.remember(player());
        let tab = layout::TabStyle::default();
        let trace = |cents: i16| scoring::Trace {
            tenths: (0..90).map(|step| Some(10 * cents + 3 * (step % 20))).collect(),
        };
        stage
            .app
            .remember_traces([30, 22, -9, 4].map(|cents| (tab.read("-2'").unwrap(), trace(cents))).into());
        stage.press('g');
        stage.press_code(KeyCode::Down);
    });
}

#[test]
fn nothing_has_changed_yet() {
    let mut stage = Stage::beginning_in(View::Today);
    stage.press('g');
    assert!(text(&drawn(&stage, (80, 24))).contains("Nothing yet."));
    stage.press('q');
    assert_eq!(stage.app.view(), View::Today);
}

fn page(stage: &Stage) -> String {
    text(&drawn(stage, (80, 24)))
}

/// The titles of what was begun.
fn begun(stage: &Stage) -> Vec<String> {
    let title = |event: &Event| match event {
        Event::Started(Started::Drill(drill)) => Some(drill.title.clone()),
        Event::Started(Started::Run(plan)) => Some(plan.material.name.title.clone()),
        _ => None,
    };
    stage.said.iter().filter_map(title).collect()
}

/// Plays everything that is asked for until the exercise is over.
fn play_to_the_end(stage: &mut Stage) {
    for _ in 0..2000 {
        if let Some(running) = stage.exercise.running() {
            match running.phase() {
                RunPhase::CountIn | RunPhase::Playing => stage.play_run(f64::INFINITY, |_| Some((0.0, 0.0))),
                RunPhase::Done | RunPhase::Left => return,
                _ => stage.rest(0.5),
            }
            continue;
        }
        let session = stage.exercise.session().unwrap();
        if matches!(session.phase(), Phase::Done | Phase::Left) {
            return;
        }
        let target = session.target().unwrap();
        let tab = layout::TabStyle::default().print(target.way);
        stage.play(&tab, 0.0, target.hold_s + 0.9);
        stage.rest(0.4);
    }
    panic!("it has no end: {}", page(stage));
}

#[test]
fn enter_plays_the_plan_from_its_start_to_its_end_with_both_hands_on_the_harp() {
    let mut stage = Stage::beginning_in(View::Today);
    stage.press('-');
    stage.press('-');
    let before = page(&stage);
    assert!(before.contains("you have 5"), "{before}");
    stage.press_code(KeyCode::Enter);
    assert_eq!(stage.app.view(), View::Drill);
    let mut blocks = 1;
    loop {
        play_to_the_end(&mut stage);
        stage.rest(0.5);
        let shown = page(&stage);
        if shown.contains("that was the last block") {
            break;
        }
        assert!(shown.contains("next: ") && shown.contains("s (enter: now"), "{shown}");
        stage.rest(8.0);
        blocks += 1;
        assert_eq!(begun(&stage).len(), blocks, "the next block came by itself\n{}", page(&stage));
        assert!(blocks < 9, "{}", page(&stage));
    }
    assert!(blocks >= 2);
    stage.rest(8.0);
    assert_eq!(stage.app.view(), View::Today);
    let after = page(&stage);
    assert!(after.contains("done for today") && !after.contains(" min\n"), "{after}");
    assert_eq!(after.matches("  done").count(), blocks, "{after}");
}

#[test]
fn a_key_while_a_result_is_shown_makes_the_next_block_wait() {
    let mut stage = Stage::beginning_in(View::Today);
    stage.press_code(KeyCode::Enter);
    play_to_the_end(&mut stage);
    stage.rest(0.5);
    stage.press_code(KeyCode::Down);
    stage.rest(20.0);
    assert_eq!(begun(&stage).len(), 1);
    assert!(page(&stage).contains("; enter goes on"), "{}", page(&stage));
    stage.press_code(KeyCode::Enter);
    assert_eq!(begun(&stage).len(), 2);
}

#[test]
fn what_is_left_early_is_passed_over_and_can_be_taken_up_again() {
    let mut stage = Stage::beginning_in(View::Today);
    stage.press_code(KeyCode::Enter);
    stage.play("4", 0.0, 5.5);
    stage.rest(0.5);
    stage.press('q');
    assert_eq!(stage.app.view(), View::Summary);
    stage.rest(20.0);
    assert_eq!(begun(&stage).len(), 1, "who leaves is not driven on");
    stage.press_code(KeyCode::Enter);
    assert_eq!(begun(&stage), ["Warm-up: long notes", "Four bends in turn"]);
    stage.press('q');
    assert_eq!(stage.app.view(), View::Today, "nothing was tried, so there is nothing to show");
    stage.press_code(KeyCode::Home);
    stage.press_code(KeyCode::Enter);
    assert_eq!(begun(&stage).last().unwrap(), "Warm-up: long notes");
}

#[test]
fn blocks_are_left_out_and_moved_and_the_time_is_changed() {
    let mut stage = Stage::beginning_in(View::Today);
    let lines = |stage: &Stage| -> Vec<String> {
        let parts = ["warm up", "due", "first", "hard", "music", "new", "again"];
        let lines =
            page(stage).lines().map(|line| line.replace('»', " ").trim().to_owned()).collect::<Vec<_>>();
        lines.into_iter().filter(|line| parts.iter().any(|part| line.starts_with(part))).collect()
    };
    let first = lines(&stage);
    assert_eq!(first.len(), 5, "{first:?}");
    stage.press_code(KeyCode::Down);
    stage.press('J');
    let moved = lines(&stage);
    assert_eq!((&moved[1], &moved[2]), (&first[2], &first[1]));
    stage.press('K');
    assert_eq!(lines(&stage), first);
    stage.press('n');
    assert!(lines(&stage)[1].ends_with("left out"));
    stage.press_code(KeyCode::Home);
    stage.press_code(KeyCode::Enter);
    play_to_the_end(&mut stage);
    stage.rest(9.0);
    assert!(stage.exercise.running().is_some(), "the block that was left out is passed over");
    stage.press('q');
    stage.press('q');
    stage.press('+');
    assert!(lines(&stage).len() > 5, "{}", page(&stage));
    assert_eq!(stage.app.minutes(), 20);
    for _ in 0..20 {
        stage.press('+');
    }
    assert_eq!(stage.app.minutes(), 60);
}

#[test]
fn the_list_is_one_key_away_and_leads_back() {
    let mut stage = Stage::beginning_in(View::Today);
    stage.press('d');
    assert_eq!(stage.app.view(), View::Home);
    stage.press('m');
    stage.press('q');
    assert_eq!(stage.app.view(), View::Home);
    stage.press('q');
    assert_eq!(stage.app.view(), View::Today);
    stage.press('m');
    stage.press('q');
    assert_eq!(stage.app.view(), View::Today);
    stage.press('l');
    stage.press('q');
    assert_eq!(stage.app.view(), View::Today);
    assert_eq!(stage.press('q'), Some(Action::Quit));
}

/// A drill from the list is none of the plan's: nothing comes after it by itself.
#[test]
fn what_is_begun_from_the_list_is_not_followed_by_a_block() {
    let mut stage = Stage::beginning_in(View::Today);
    stage.press('d');
    stage.begin("4");
    play_to_the_end(&mut stage);
    stage.rest(20.0);
    assert_eq!(begun(&stage).len(), 1);
    assert!(!page(&stage).contains("next: "));
    stage.order(Order::Rest);
}

#[test]
fn what_was_heard_decides_what_the_map_counts_on() {
    let mut stage = Stage::beginning_in(View::Today);
    stage.remember(Past {
        notes: vec![heard("-3'", 1, (0, 30), 40.0), heard("6o", 1, (30, 30), 0.0)],
        ..Past::default()
    });
    stage.press('m');
    let map = page(&stage);
    assert!(map.contains("with your own exceptions"), "{map}");
}

fn programme(name: &str) -> course::Programme {
    let (name, text) = course::programmes().iter().find(|(known, _)| *known == name).unwrap();
    let drills: Vec<practice::Drill> =
        practice::built_in().iter().map(|(name, text)| practice::Drill::read(name, text).unwrap()).collect();
    let phrases: Vec<practice::run::Phrase> = practice::built_in_phrases()
        .iter()
        .map(|(name, text)| practice::run::Phrase::read(name, text).unwrap())
        .collect();
    let (scales, tunings) = (theory::Scales::ours(), layout::Tunings::ours());
    let known = course::Known { drills: &drills, phrases: &phrases, scales: &scales, tunings: &tunings };
    course::Programme::parse(name, text, &known).unwrap()
}

#[test]
fn a_day_of_a_programme() {
    pictures("today_programme", |stage| {
        stage.remember(player());
        let harp = stage.harp().clone();
        stage.app.follow(Some((programme("second-position"), TODAY.plus(-5))), &harp);
    });
}

#[test]
fn the_plan_follows_the_programme_and_its_scales_can_be_played() {
    let mut stage = Stage::beginning_in(View::Today);
    let harp = stage.harp().clone();
    stage.app.follow(Some((programme("second-position"), TODAY)), &harp);
    let shown = page(&stage);
    assert!(shown.contains("Second position") && shown.contains("week 1 of"), "{shown}");
    assert!(shown.contains("2nd position: major pentatonic"), "{shown}");
    for _ in 0..3 {
        let at = page(&stage).lines().find(|line| line.contains('»')).unwrap().to_owned();
        if at.contains("major pentatonic") {
            break;
        }
        stage.press_code(KeyCode::Down);
    }
    stage.press_code(KeyCode::Enter);
    assert_eq!(begun(&stage), ["G major pentatonic, up and down"]);
    // Every week of every programme that comes with the program has something to play on its own harps.
    for (name, _) in course::programmes() {
        let programme = programme(name);
        let mut stage = Stage::beginning_in(View::Today);
        let harp = stage.harp().clone();
        assert!(programme.suits(&harp));
        stage.app.follow(Some((programme, TODAY)), &harp);
        assert!(page(&stage).contains("programme"), "{name}: {}", page(&stage));
    }
}

#[test]
fn a_result_is_set_against_last_time_and_the_best() {
    let mut stage = Stage::beginning_in(View::Today);
    let thing = |ago: i32, good, of| ThingDay {
        day: TODAY.plus(-ago),
        name: "drill test".into(),
        of,
        good,
        tempo: None,
    };
    stage
        .remember(Past { things: vec![thing(9, 1, 1), thing(4, 9, 11), thing(1, 5, 11)], ..Past::default() });
    stage.begin("4");
    play_to_the_end(&mut stage);
    stage.rest(1.0);
    // What the journal tells of this very drill meanwhile changes nothing.
    stage.remember(Past { things: vec![thing(0, 2, 2)], ..Past::default() });
    for size in [(80, 24), (120, 40), (60, 18)] {
        let shown = text(&drawn(&stage, size));
        assert!(shown.contains("before     yesterday 5 of 11, best 9 of 11 on Tuesday"), "{size:?} {shown}");
    }
    let name = "run G blues, up and down";
    let runs = |ago: i32, good| ThingDay {
        day: TODAY.plus(-ago),
        name: name.into(),
        of: 12,
        good,
        tempo: Some(84.0),
    };
    let pace = PaceDay { day: TODAY.plus(-4), name: name.into(), tempo: 80.0, runs: 2, clean: 2 };
    stage.remember(Past { things: vec![runs(4, 12), runs(2, 10)], paces: vec![pace], ..Past::default() });
    stage.in_time("-2 -3' 4", 1, None);
    stage.play_run(f64::INFINITY, |_| Some((0.0, 0.0)));
    stage.rest(1.0);
    let shown = page(&stage);
    assert!(shown.contains("before: on Thursday 10 of 12 right at 84, clean at 80 at best"), "{shown}");
}

fn typed(stage: &mut Stage, text: &str) -> Option<Action> {
    for key in text.chars() {
        assert_eq!(stage.press(key), None);
    }
    stage.press_code(KeyCode::Enter)
}

#[test]
fn a_remark_is_typed_and_its_letters_are_no_commands() {
    let mut stage = Stage::beginning_in(View::Today);
    stage.press('c');
    assert!(page(&stage).contains("remark (enter keeps it)"), "{}", page(&stage));
    assert_eq!(typed(&mut stage, "quick, dull n+"), Some(Action::Remark("quick, dull n+".to_owned())));
    assert_eq!(stage.app.view(), View::Today);
    stage.press('c');
    typed(&mut stage, "   ");
    stage.press('c');
    stage.press('q');
    assert_eq!(stage.press_code(KeyCode::Esc), None);
    assert!(!page(&stage).contains("remark (enter"), "{}", page(&stage));
    stage.press('c');
    for _ in 0..400 {
        stage.press('x');
    }
    stage.press_code(KeyCode::Backspace);
    let shown = page(&stage);
    assert!(shown.lines().all(|line| line.chars().count() <= 80), "{shown}");
    assert_eq!(stage.press_code(KeyCode::Enter), Some(Action::Remark("x".repeat(299))));
}

#[test]
fn the_harp_is_handed_to_another_player_and_back() {
    let mut stage = Stage::beginning_in(View::Today);
    stage.app.call("me", true);
    stage.remember(player());
    assert!(page(&stage).contains("Today, Saturday for me: "), "{}", page(&stage));
    stage.press('h');
    assert_eq!(typed(&mut stage, "Ida"), Some(Action::HandOver("Ida".to_owned())));
    let shown = page(&stage);
    assert!(shown.contains("for Ida: ") && shown.contains("not heard from you yet"), "{shown}");
    assert!(!shown.contains("days in a row"), "nothing of the other one: {shown}");
    stage.press('h');
    assert!(page(&stage).contains("? me"), "{}", page(&stage));
    assert_eq!(stage.press_code(KeyCode::Enter), Some(Action::HandOver("me".to_owned())));
}

#[test]
fn the_lines_of_other_days_hang_beside_that_of_today() {
    let mut stage = Stage::beginning_in(View::Today);
    stage.begin("-3'");
    let dots = |stage: &Stage| {
        let picture = page(stage);
        let below = picture.lines().skip_while(|line| !line.contains(" hole 3")).skip(1);
        below
            .take_while(|line| !line.contains("25 flat"))
            .map(|line| line.matches('·').count())
            .sum::<usize>()
    };
    let before = dots(&stage);
    let way = layout::TabStyle::default().read("-3'").unwrap();
    let sharp = scoring::Trace { tenths: vec![Some(400); 80] };
    stage.app.remember_traces(vec![
        (way, sharp.clone()),
        (layout::TabStyle::default().read("-3''").unwrap(), sharp),
    ]);
    assert!(dots(&stage) >= before + 5, "{}", page(&stage));
    let first = page(&stage);
    // On another harp the lines keep their distance from the pitch asked for.
    stage.press_code(KeyCode::Right);
    stage.press_code(KeyCode::Right);
    let rows = |page: &str| {
        page.lines().filter(|line| line.contains('┊')).map(|line| line.find('·')).collect::<Vec<_>>()
    };
    assert_eq!(rows(&first), rows(&page(&stage)));
    // Another player who takes the harp sees none of these lines.
    stage.press('q');
    stage.press('h');
    typed(&mut stage, "Ida");
    stage.begin("-3'");
    assert_eq!(dots(&stage), before, "{}", page(&stage));
}
