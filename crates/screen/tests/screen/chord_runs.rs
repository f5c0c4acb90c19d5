//! Chord rhythms on the screen: what is to come, what is played, and what came of it.

use crate::picture::{drawn, text_and_styles};
use crate::stage::{RATE, Stage, colour, mono_ascii};
use pitch::Reading;
use pitch::reeds::{Reed, Sounding, Voice};
use practice::run::{Clicking, Phrase, Plan, StartAt, Tempi};
use practice::{Order, built_in_phrases};
use screen::Look;

const SIZES: [(u16, u16); 5] = [(200, 60), (120, 40), (80, 24), (60, 18), (40, 12)];

/// What is played for a chord of the run: its holes, and seconds late; nothing is silence.
type Plays = fn(usize) -> Option<(&'static [i8], f64)>;

/// A run of a built-in phrase, played until so many seconds from its first beat.
fn played(look: Look, until_s: f64, plays: Plays) -> Stage {
    let mut stage = Stage::new(look);
    let (name, text) = built_in_phrases().iter().find(|(name, _)| *name == "two-breath-chug").unwrap();
    let phrase = Phrase::parse(name, text, stage.harp()).unwrap();
    let (start, tempi, clicking) = (StartAt::CountIn, Tempi::Same, Clicking::default());
    let material = phrase.material;
    let plan = Plan {
        material,
        start,
        runs: 1,
        tempi,
        own_tempo_first: false,
        over: None,
        clicking,
        delay_s: Some(0.0),
    };
    stage.order(Order::Run(Box::new(plan)));
    let mut time = 0;
    loop {
        let running = stage.exercise.running().unwrap();
        let now = running.now().unwrap_or(f64::NEG_INFINITY);
        if now >= until_s || !stage.exercise.is_on() {
            return stage;
        }
        let sounds = running.asked().iter().enumerate().find_map(|(index, asked)| {
            let (holes, late_s) = plays(index)?;
            (0.0..0.7 * asked.length_s).contains(&(now - asked.onset_s - late_s)).then_some(holes)
        });
        let voices = sounds.unwrap_or_default().iter().map(|hole| Voice {
            reed: Some(Reed { hole: hole.unsigned_abs(), draw: *hole < 0 }),
            bent: false,
            hz: 400.0,
            level_dbfs: -20.0,
        });
        let sounding = Sounding::new(time, time + 240, voices);
        let reading = Reading {
            time,
            known: time + 240,
            hz: None,
            sigma_cents: 1.0,
            clarity: 0.5,
            level_dbfs: if sounds.is_some() { -18.0 } else { -70.0 },
            onset: false,
        };
        time += (RATE / 200.0) as u64;
        let mut events = stage.exercise.hear(&reading);
        events.extend(stage.exercise.hear_reeds(&sounding));
        for event in &events {
            stage.app.on_event(event, &stage.exercise);
        }
        stage.app.on_reading(&reading, &stage.exercise);
    }
}

/// Right, but for one late, one missed, one of the other breath, one with a hole too few and one with a hole too many.
fn with_faults(index: usize) -> Option<(&'static [i8], f64)> {
    const DRAW: &[i8] = &[-1, -2, -3];
    const BLOW: &[i8] = &[1, 2, 3];
    match index {
        1 => Some((DRAW, 0.08)),
        3 => None,
        4 | 24 => Some((BLOW, 0.0)),
        7 => Some((&[2, 3], 0.0)),
        9 => Some((&[-1, -2, -3, -4], 0.0)),
        23 => Some((DRAW, 0.0)),
        _ => Some((if index % 4 < 2 { DRAW } else { BLOW }, 0.0)),
    }
}

fn pictures(name: &str, until_s: f64) {
    for (look_name, look) in [("colour", colour()), ("mono-ascii", mono_ascii())] {
        let stage = played(look, until_s, with_faults);
        for size in SIZES {
            let name = format!("chord_run_{name}_{}x{}_{look_name}", size.0, size.1);
            insta::assert_snapshot!(name, text_and_styles(&drawn(&stage, size)));
        }
    }
}

#[test]
fn a_chord_rhythm_is_played() {
    pictures("playing", 3.9);
}

#[test]
fn what_came_of_a_chord_rhythm_is_told() {
    pictures("over", f64::INFINITY);
}
