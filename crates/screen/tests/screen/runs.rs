//! Runs in time on the screen: pictures of every phase, and what the keys do.

use crate::picture::{drawn, text, text_and_styles};
use crate::stage::{Stage, colour, mono_ascii};
use practice::Order;
use practice::run::{Clicking, FormRun, Metre, Rhythm, RunPhase, Running, Swing, Tempi, Tempo, Value};
use ratatui::crossterm::event::KeyCode;
use screen::{Action, Notice, View};
use theory::{Ability, Level, Position, Progressions, ScaleInKey, Scales};

/// The blues scale of the second position, up and down.
pub(crate) const BLUES: &str = "-2 -3' 4 -4' -4 -5 6 -5 -4 -4' 4 -3' -2";

/// What the player does with each note: how many seconds late it is and how many cents off; nothing where
/// it is missing.
pub(crate) fn faults(note: usize) -> Option<(f64, f64)> {
    match note {
        1 => Some((0.030, 38.0)),
        2 => Some((-0.070, 0.0)),
        4 => None,
        6 => Some((0.080, 3.0)),
        9 => Some((0.010, 110.0)),
        _ => Some((0.010, -4.0)),
    }
}

const SIZES: [(u16, u16); 5] = [(200, 60), (120, 40), (80, 24), (60, 18), (40, 12)];

pub(crate) fn pictures(name: &str, act: impl Fn(&mut Stage)) {
    for (look_name, look) in [("colour", colour()), ("mono-ascii", mono_ascii())] {
        let mut stage = Stage::new(look);
        stage.app.on_notice(&Notice::Player);
        act(&mut stage);
        for size in SIZES {
            let name = format!("run_{name}_{}x{}_{look_name}", size.0, size.1);
            insta::assert_snapshot!(name, text_and_styles(&drawn(&stage, size)));
        }
    }
}

pub(crate) fn running(stage: &Stage) -> &Running {
    stage.exercise.running().unwrap()
}

#[test]
fn a_run_counts_in() {
    pictures("count_in", |stage| {
        stage.in_time(BLUES, 4, Some(0.0));
        stage.play_run(-1.2, faults);
    });
}

#[test]
fn a_run_goes_with_faults() {
    pictures("playing", |stage| {
        stage.in_time(BLUES, 4, Some(0.0));
        stage.play_run(2.75, faults);
    });
}

/// More bars than have room: each keeps its place, and the next bar takes the place of one that is over.
#[test]
fn a_long_run_turns_over_bar_by_bar() {
    pictures("long", |stage| {
        stage.in_time(&format!("{BLUES} 4 6 -6 {BLUES} 4 6 -6 {BLUES}"), 1, None);
        stage.play_run(7.0, |_| Some((0.02, 0.0)));
    });
}

#[test]
fn what_came_of_a_run_is_shown_until_the_next() {
    pictures("shown", |stage| {
        stage.in_time(BLUES, 4, Some(0.0));
        stage.play_run(60.0, faults);
    });
}

#[test]
fn what_came_of_the_last_run_stays() {
    pictures("done", |stage| {
        stage.in_time(BLUES, 2, None);
        for _ in 0..2 {
            stage.play_run(60.0, |note| Some((0.11 + 0.004 * note as f64, 0.0)));
            stage.rest(3.2);
        }
    });
}

/// Whether about 120 ms late is told after these words: the made-up attack and a hop of the ear shift it a little.
fn says_late(text: &str, after: &str) -> bool {
    (117..=128).any(|ms| text.contains(&format!("{after}{ms} ms late")))
}

/// A machine whose delay nobody measured cannot be told from a player who is late.
#[test]
fn nobody_is_late_as_a_whole_where_the_delay_is_not_known() {
    for (delay_s, is_late) in [(Some(0.0), true), (None, false)] {
        let mut stage = Stage::new(colour());
        stage.in_time(BLUES, 1, delay_s);
        stage.play_run(2.0, |_| Some((0.12, 0.0)));
        let going = text(&drawn(&stage, (80, 24)));
        assert_eq!(says_late(&going, ""), is_late, "{going}");
        assert_eq!(going.contains("the run's own middle"), !is_late, "{going}");
        stage.play_run(60.0, |_| Some((0.12, 0.0)));
        let over = text(&drawn(&stage, (80, 24)));
        assert_eq!(says_late(&over, "as a whole "), is_late, "{over}");
        assert_eq!(over.contains("the run's own middle"), !is_late, "{over}");
        assert_eq!(over.contains("of 13 right at 80, clean"), !is_late, "{over}");
    }
}

/// A note that may still be sounding is not called missing.
#[test]
fn a_long_note_is_not_missing_while_it_sounds() {
    let mut stage = Stage::new(colour());
    stage.in_time("-2 4 -4", 1, Some(0.0));
    // The last note is held from 0.75 s to the end of the bar, at 3 s, and is let go after three quarters of that.
    stage.play_run(2.2, |_| Some((0.0, 0.0)));
    let shown = text(&drawn(&stage, (80, 24)));
    assert!(!shown.contains("missing"), "{shown}");
    stage.play_run(2.9, |note| (note < 2).then_some((0.0, 0.0)));
    let shown = text(&drawn(&stage, (80, 24)));
    assert_eq!(shown.matches('■').count(), 3, "{shown}");
}

#[test]
fn the_mark_of_the_present_goes_down_and_the_beat_moves() {
    let mut stage = Stage::new(colour());
    stage.in_time(BLUES, 1, Some(0.0));
    let mut rows = Vec::new();
    for (until, beat) in [(0.1, "[1]"), (0.9, "(2)"), (1.6, "(3)"), (2.4, "(4)"), (3.1, "[1]")] {
        stage.play_run(until, |_| Some((0.0, 0.0)));
        let shown = text(&drawn(&stage, (80, 24)));
        assert!(shown.lines().nth(2).unwrap().contains(beat), "{beat}: {shown}");
        rows.push(shown.lines().position(|line| line.starts_with('»')).unwrap());
    }
    assert!(rows.is_sorted() && rows[0] < rows[4], "{rows:?}");
}

/// The chords of a form stand above the bars.
#[test]
fn the_chords_of_a_form_are_shown_bar_by_bar() {
    pictures("form", |stage| {
        let key = ScaleInKey::in_position(
            Scales::ours().find("mixolydian").unwrap().clone(),
            stage.harp(),
            Position::new(2).unwrap(),
        );
        let progressions = Progressions::ours();
        let form = progressions.find("twelve-bar").unwrap();
        let rhythm =
            Rhythm::new(Tempo::new(80.0).unwrap(), Metre::COMMON, Value::EIGHTHS, Swing::STRAIGHT).unwrap();
        let run = FormRun { key: &key, form, range: None, ability: &Ability::new(Level::DrawBends) };
        let material = run.material(stage.harp(), rhythm).unwrap();
        stage.in_time_over(material, (1, Some(0.0)), Clicking::default());
        stage.play_run(10.0, |_| Some((0.01, 0.0)));
    });
}

/// The blues scale of the map, over the band.
fn over_the_band(stage: &mut Stage) {
    stage.press('m');
    stage.press('t');
    stage.rest(0.1);
    assert_eq!(running(stage).band(), None, "it begins to the click");
    stage.press('f');
    stage.rest(0.1);
}

#[test]
fn a_run_goes_over_the_chord_of_home() {
    pictures("band", |stage| {
        over_the_band(stage);
        stage.play_run(2.75, |_| Some((0.01, 0.0)));
    });
}

/// The band is the beat, so that nothing is clicked behind the count-in; the weak bars keep their chords.
#[test]
fn the_band_takes_the_place_of_the_click_and_gives_it_back() {
    let mut stage = Stage::new(colour());
    over_the_band(&mut stage);
    let clicks = |stage: &Stage| running(stage).clicks(0).len();
    assert_eq!((running(&stage).plan().chords_of_bar(1), clicks(&stage)), (vec![("G7", "I7")], 4));
    stage.press('+');
    assert!(running(&stage).band().is_some(), "at another tempo it goes on over the band");
    stage.play_run(60.0, |note| (!(8..16).contains(&note)).then_some((0.0, 0.0)));
    stage.press('w');
    let weak = running(&stage).plan();
    assert_eq!((weak.material.bars(), weak.over.as_ref().unwrap().from_bar), (1, 1));
    stage.press('W');
    assert_eq!(running(&stage).plan().over.as_ref().unwrap().from_bar, 0);
    stage.press('f');
    assert!(running(&stage).band().is_none() && clicks(&stage) > 4);
    assert!(running(&stage).plan().chords_of_bar(1).is_empty());
}

/// Whoever tries his own time is not shown the beat either.
#[test]
fn a_bar_without_a_click_goes_without_a_beat_on_the_screen() {
    let mut stage = Stage::new(colour());
    let clicking = Clicking { silent_bars: 1, ..Clicking::default() };
    stage.in_time_with(BLUES, (1, Some(0.0)), clicking);
    for (until, beat) in [(-0.5, "(4)"), (0.1, "[1]"), (3.1, "your own time"), (4.0, "your own time")] {
        stage.play_run(until, |_| Some((0.0, 0.0)));
        let shown = text(&drawn(&stage, (80, 24)));
        let row = shown.lines().nth(2).unwrap();
        assert!(row.contains(beat), "{until}: {row}");
        assert!(beat.len() == 3 || !row.contains('('), "{until}: {row}");
    }
}

#[test]
fn the_scale_of_the_map_is_played_in_time_and_leads_back_to_it() {
    let mut stage = Stage::new(colour());
    stage.press('m');
    assert!(matches!(stage.press('t'), Some(Action::Order(Order::Run(_)))));
    assert_eq!(stage.app.view(), View::Run);
    let plan = running(&stage).plan().clone();
    assert_eq!(plan.material.name.title, "G blues, up and down");
    assert_eq!(
        (plan.material.notes().len(), plan.runs, plan.tempi, plan.delay_s),
        (13, 4, Tempi::Steps, None)
    );
    assert_eq!(plan.material.rhythm.words(), "eighths at 80, 4/4");
    stage.press('+');
    stage.rest(1.0);
    stage.press('q');
    assert_eq!(stage.app.view(), View::Map);
    stage.press('t');
    assert_eq!(running(&stage).tempo().bpm(), 84.0, "the last tempo that was used");
}

#[test]
fn the_keys_of_a_run_do_what_they_say() {
    let mut stage = Stage::new(colour());
    stage.in_time(BLUES, 3, Some(0.0));
    for (key, bpm) in [('+', 84.0), ('-', 80.0), ('-', 76.0)] {
        stage.press(key);
        assert_eq!(running(&stage).tempo().bpm(), bpm);
    }
    stage.press_code(KeyCode::Right);
    stage.rest(1.0);
    stage.press(' ');
    assert_eq!(running(&stage).phase(), RunPhase::Paused);
    assert!(text(&drawn(&stage, (80, 24))).contains("space go on"));
    stage.press(' ');
    stage.rest(0.1);
    assert_eq!(stage.press('w'), None, "nothing is weak yet");
    stage.play_run(60.0, |note| (note != 9).then_some((0.0, 0.0)));
    assert_eq!(running(&stage).phase(), RunPhase::Shown);
    stage.press('w');
    assert_eq!(running(&stage).plan().material.name.title, "G blues, up and down, bar 2");
    assert_eq!(running(&stage).asked().len(), 5);
    // The next run comes by itself.
    stage.rest(0.1);
    stage.play_run(60.0, |_| Some((0.0, 0.0)));
    stage.rest(3.2);
    assert_eq!((running(&stage).number(), running(&stage).phase()), (2, RunPhase::CountIn));
    // Back to all bars.
    stage.press('W');
    assert_eq!(running(&stage).plan().material.name.title, "G blues, up and down");
    assert_eq!(running(&stage).plan().material.bars(), 2);
    assert_eq!(stage.press('W'), None, "all bars are there");
    // Nobody reads the page of keys while a run goes on behind it.
    stage.press('?');
    stage.rest(20.0);
    stage.press('?');
    assert_eq!(running(&stage).phase(), RunPhase::Paused);
}

/// What is over begins anew: nobody is asked to play on in a recording that is at its end.
#[test]
fn again_at_the_end_begins_anew() {
    let mut stage = Stage::new(colour());
    stage.in_time("-2 4", 1, Some(0.0));
    stage.play_run(60.0, |_| Some((0.0, 0.0)));
    assert_eq!(running(&stage).phase(), RunPhase::Done);
    assert!(matches!(stage.press('a'), Some(Action::Order(Order::Run(_)))));
    assert_eq!(running(&stage).phase(), RunPhase::CountIn);
}
