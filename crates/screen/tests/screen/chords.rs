//! Drills of chords on the screen: pictures of every phase, and what the keys do.

use crate::picture::{drawn, text, text_and_styles};
use crate::stage::{RATE, Stage, colour, mono_ascii};
use pitch::reeds::{Reed, Sounding, Voice};
use practice::{Drill, Order, Phase};
use ratatui::crossterm::event::KeyCode;
use screen::{Look, View};

const SIZES: [(u16, u16); 5] = [(200, 60), (120, 40), (80, 24), (60, 18), (40, 12)];

const DRILL: &str = "title = 'Chords for the test'\nabout = 'Some chords.'\ncaution = 'Breathe out before a draw chord.'\n\
                     hold = 1\n[[item]]\nchord = '-1 -2 -3'\ntries = 2\n[[item]]\nchord = '1 4'\n[[item]]\nchord = '4 5 6'\n";

/// A screen with a drill of chords, and how many readings have been heard.
struct Chorus {
    stage: Stage,
    heard: u64,
}

impl Chorus {
    fn new(look: Look) -> Self {
        let mut stage = Stage::new(look);
        let drill = Drill::parse("test", DRILL, stage.harp()).unwrap();
        stage.start(drill);
        Self { stage, heard: 0 }
    }

    /// Plays seconds of these holes, each so many decibels below the loudest.
    fn play(&mut self, seconds: f64, holes: &[(i8, f32)]) -> &mut Self {
        for _ in 0..(100.0 * seconds).round() as u64 {
            let voices = holes.iter().map(|(hole, below)| {
                let reed = Reed { hole: hole.unsigned_abs(), draw: *hole < 0 };
                let way = format!("{hole}");
                let hz = self.stage.harp().hz(self.stage.way(&way)).unwrap();
                Voice { reed: Some(reed), bent: false, hz, level_dbfs: -20.0 - below }
            });
            let time = self.heard * (RATE / 100.0) as u64;
            let sounding = Sounding::new(time, time + 480, voices);
            self.heard += 1;
            for event in self.stage.exercise.hear_reeds(&sounding) {
                self.stage.app.on_event(&event, &self.stage.exercise);
            }
            self.stage.app.on_reeds(&self.stage.exercise);
        }
        self
    }

    fn shown(&self) -> String {
        text(&drawn(&self.stage, (80, 24)))
    }
}

const CHORD: [(i8, f32); 3] = [(-1, 2.0), (-2, 0.0), (-3, 1.0)];

fn pictures(name: &str, act: impl Fn(&mut Chorus)) {
    for (look_name, look) in [("colour", colour()), ("mono-ascii", mono_ascii())] {
        let mut chorus = Chorus::new(look);
        act(&mut chorus);
        for size in SIZES {
            let name = format!("chords_{name}_{}x{}_{look_name}", size.0, size.1);
            insta::assert_snapshot!(name, text_and_styles(&drawn(&chorus.stage, size)));
        }
    }
}

#[test]
fn a_chord_is_asked_for() {
    pictures("waiting", |_| {});
}

#[test]
fn a_chord_sounds() {
    pictures("playing", |chorus| {
        chorus.play(0.2, &[]).play(0.6, &CHORD);
    });
}

#[test]
fn a_leak_is_named_while_it_sounds() {
    pictures("leaked", |chorus| {
        chorus.play(0.2, &[]).play(1.4, &[(-1, 2.0), (-2, 0.0), (-3, 1.0), (-4, 12.0)]);
    });
}

#[test]
fn what_came_of_a_drill_of_chords_is_told() {
    pictures("summary", |chorus| {
        chorus.play(0.2, &[]).play(1.4, &CHORD[..2]).play(0.3, &[]).play(1.4, &CHORD).play(0.3, &[]);
        chorus.play(1.4, &[(1, 0.0), (4, 3.0), (5, 9.0)]).play(0.3, &[]);
        chorus.play(1.4, &[(4, 0.0), (5, 0.0), (6, 0.0)]).play(3.0, &[]);
    });
}

#[test]
fn the_verdict_and_what_to_do_are_told() {
    let mut chorus = Chorus::new(colour());
    assert!(chorus.shown().contains("Breathe out before a draw chord."));
    chorus.play(0.2, &[]).play(1.4, &CHORD[..2]);
    let shown = chorus.shown();
    assert!(shown.contains("3 is missing") && shown.contains("open the mouth wider"), "{shown}");
    assert!(shown.contains("let go; next -1 -2 -3"), "{shown}");
    chorus.play(0.3, &[]).play(1.2, &CHORD);
    assert!(chorus.shown().contains("right, held 1.0 s"), "{}", chorus.shown());
    chorus.play(0.3, &[]).play(1.4, &[(1, 0.0), (2, 6.0), (4, 0.0)]);
    let shown = chorus.shown();
    assert!(shown.contains("2 leaked in, 6 dB below the loudest") && shown.contains("tongue"), "{shown}");
}

#[test]
fn the_keys_of_a_drill_work() {
    let mut chorus = Chorus::new(colour());
    let phase = |chorus: &Chorus| chorus.stage.exercise.chords().unwrap().phase();
    chorus.stage.press(' ');
    assert_eq!(phase(&chorus), Phase::Paused);
    assert!(chorus.shown().contains("paused"));
    chorus.stage.press(' ');
    chorus.play(0.2, &[]).play(1.4, &CHORD).play(0.3, &[]);
    chorus.stage.press('n');
    assert_eq!(chorus.stage.exercise.chords().unwrap().place(), 1);
    chorus.stage.press('q');
    assert_eq!((chorus.stage.app.view(), phase(&chorus)), (View::Summary, Phase::Left));
    assert!(chorus.shown().contains("left early"));
    chorus.stage.press_code(KeyCode::Enter);
    assert_eq!((chorus.stage.app.view(), phase(&chorus)), (View::Drill, Phase::Waiting));
    chorus.stage.order(Order::Leave);
}
