//! A picture of every view, at the full and at the reduced size, in colour with Unicode and without colour in ASCII.

use crate::picture::{drawn, text_and_styles};
use crate::stage::{Stage, colour, mono_ascii};
use ratatui::crossterm::event::KeyCode;
use screen::Notice;

/// Takes the pictures of what `act` leads to.
fn pictures(name: &str, act: impl Fn(&mut Stage)) {
    pictures_of(name, &[(80, 24), (60, 18)], act);
}

/// Takes the pictures of what `act` leads to, at these sizes.
fn pictures_of(name: &str, sizes: &[(u16, u16)], act: impl Fn(&mut Stage)) {
    for (look_name, look) in [("colour", colour()), ("mono-ascii", mono_ascii())] {
        let mut stage = Stage::new(look);
        act(&mut stage);
        for size in sizes {
            let name = format!("{name}_{}x{}_{look_name}", size.0, size.1);
            insta::assert_snapshot!(name, text_and_styles(&drawn(&stage, *size)));
        }
    }
}

#[test]
fn the_first_screen() {
    pictures_of("home", &ALL, |_| {});
}

#[test]
fn the_first_screen_without_a_microphone() {
    pictures("home_no_microphone", |stage| {
        stage.app.on_notice(&Notice::NoInput);
        stage.press_code(KeyCode::Down);
    });
}

#[test]
fn a_drill_waits() {
    pictures("drill_waiting", |stage| stage.begin("-3' -3'' -3'''"));
}

#[test]
fn a_drill_hears_a_note() {
    pictures("drill_playing", |stage| {
        stage.begin("-3' -3'' -3'''");
        stage.rest(1.0);
        stage.play("-3'", -8.0, 1.0);
    });
}

#[test]
fn a_drill_says_that_a_note_landed() {
    pictures("drill_landed", |stage| {
        stage.begin("-3' -3'' -3'''");
        stage.rest(1.0);
        stage.play("-3'", -4.0, 1.8);
        stage.rest(0.4);
    });
}

#[test]
fn a_drill_waits_for_the_player_to_let_go() {
    let sizes = [(40, 12), (60, 18), (80, 24), (120, 40), (200, 60)];
    pictures_of("drill_released", &sizes, |stage| {
        stage.begin("-3' -3''");
        for off in [40.0, -4.0] {
            stage.rest(0.6);
            stage.play("-3'", off, 1.8);
        }
    });
}

#[test]
fn a_drill_says_what_a_bend_lay_between() {
    pictures("drill_between", |stage| {
        stage.begin("-3'' -3'''");
        stage.rest(1.0);
        stage.play("-3''", 3.0, 2.0);
        stage.rest(2.5);
        stage.play("-3''", 52.0, 2.5);
        stage.rest(0.6);
    });
}

#[test]
fn a_drill_points_to_a_note_beyond_the_picture() {
    pictures("drill_elsewhere", |stage| {
        stage.begin("8' 9'");
        stage.rest(1.0);
        stage.play("4", 5.0, 0.8);
    });
}

#[test]
fn a_drill_is_paused_while_the_microphone_is_gone() {
    pictures("drill_lost", |stage| {
        stage.begin("6o 4o");
        stage.press(' ');
        stage.app.on_notice(&Notice::Lost);
    });
}

#[test]
fn free_playing_names_a_bend() {
    pictures_of("listen", &ALL, |stage| {
        stage.press('l');
        for tab in ["-2", "-3'", "-4"] {
            stage.play(tab, 0.0, 0.5);
            stage.rest(0.1);
        }
        stage.play("-3''", 12.0, 0.6);
    });
}

/// Every size that a view is laid out for.
const ALL: [(u16, u16); 5] = [(200, 60), (120, 40), (80, 24), (60, 18), (40, 12)];

/// The least size as well: which reeds sound has to be read there, too.
const WITH_LEAST: [(u16, u16); 3] = [(80, 24), (60, 18), (40, 12)];

#[test]
fn free_playing_says_that_a_reed_sounds_alone() {
    pictures_of("listen_alone", &WITH_LEAST, |stage| {
        stage.press('l');
        stage.play("-4", -3.0, 0.6);
        stage.hear_reeds(&[("-4", -18.0)]);
    });
}

#[test]
fn free_playing_names_a_reed_that_leaks() {
    pictures_of("listen_leak", &WITH_LEAST, |stage| {
        stage.press('l');
        stage.play("-4", -3.0, 0.6);
        stage.hear_reeds(&[("-4", -18.0), ("-5", -32.0)]);
    });
}

#[test]
fn the_running_line_keeps_what_sounded_along() {
    pictures("listen_lately", |stage| {
        stage.press('l');
        stage.hear_reeds(&[("-4", -18.0), ("-5", -32.0)]);
        stage.play("-4", -3.0, 0.5);
        stage.rest(0.2);
        stage.play("-5", 2.0, 0.5);
    });
}

#[test]
fn free_playing_names_a_chord_without_one_pitch() {
    pictures_of("listen_chord", &WITH_LEAST, |stage| {
        stage.press('l');
        stage.hear_reeds(&[("4", -20.0), ("5", -20.0), ("6", -26.0)]);
    });
}

#[test]
fn free_playing_waits() {
    pictures_of("listen_silent", &ALL, |stage| {
        stage.press('l');
        stage.press('p');
    });
}

#[test]
fn the_end_of_a_drill() {
    pictures_of("summary", &ALL, |stage| {
        stage.begin("-3' -2'' 6o");
        for (tab, off) in
            [("-3'", 4.0), ("-3'", -22.0), ("-2''", 38.0), ("-2''", -6.0), ("6o", 1.0), ("4", 0.0)]
        {
            stage.rest(2.0);
            stage.play(tab, off, 2.0);
        }
        stage.rest(3.0);
    });
}

#[test]
fn the_end_of_a_drill_that_was_left() {
    pictures("summary_left", |stage| {
        stage.begin("-3' -2'' 6o");
        for off in [-12.0, -22.0] {
            stage.rest(2.0);
            stage.play("-3'", off, 2.0);
        }
        stage.press('q');
    });
}

#[test]
fn free_playing_keeps_the_last_note() {
    pictures("listen_last", |stage| {
        stage.press('l');
        stage.play("-3'", -14.0, 0.6);
        stage.rest(2.0);
    });
}

#[test]
fn the_map() {
    pictures_of("map", &ALL, |stage| {
        stage.press('m');
        stage.press('c');
    });
}

#[test]
fn the_map_says_what_stands_in_for_a_note_out_of_reach() {
    pictures("map_out_of_reach", |stage| {
        stage.press('m');
        stage.press('A');
        stage.press('A');
        stage.press_code(KeyCode::Down);
    });
}

#[test]
fn the_keys() {
    pictures_of("help", &ALL, |stage| {
        stage.begin("-3'");
        stage.press('?');
    });
}

#[test]
fn a_screen_that_is_too_small_says_so() {
    let stage = Stage::new(colour());
    insta::assert_snapshot!("too_small", text_and_styles(&drawn(&stage, (30, 8))));
}
