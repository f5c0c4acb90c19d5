//! Joined notes and the model that is played to the player.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used)]

mod common;

use common::{RATE, harp, quiet, render, way};
use layout::{Breath, Technique, cents_between};
use synth::{Gesture, Model, Slur, SynthError, Timed};

fn timed(hole: u8, breath: Breath, bend: u8, at: (f64, f64), joined: bool) -> Timed {
    let technique = if bend == 0 { Technique::Natural } else { Technique::Bend(bend) };
    Timed { way: way(hole, breath, technique), onset_s: at.0, length_s: at.1, joined, others: [None; 5] }
}

/// The pitch is midway, in cents, when the joined note is due, and there when the slide is over.
#[test]
fn a_joined_note_is_reached_without_an_attack() {
    let harp = harp("C");
    let (home, whole) = (way(2, Breath::Draw, Technique::Natural), way(2, Breath::Draw, Technique::Bend(2)));
    let mut player = quiet(&harp, RATE, 1);
    let gesture = Gesture::new(home).pure().seconds(1.0).then(whole, 0.3, 0.05).then(home, 0.6, 0.05);
    let played = player.play(gesture).unwrap();
    let cents = |seconds: f64| {
        let at = played.began + (seconds * RATE) as u64;
        cents_between(harp.hz(home).unwrap(), player.truth(at).unwrap())
    };
    for (seconds, wanted) in
        [(0.2, 0.0), (0.3, -100.0), (0.4, -200.0), (0.55, -200.0), (0.6, -100.0), (0.7, 0.0)]
    {
        assert!((cents(seconds) - wanted).abs() < 1.0, "{seconds} s: {}", cents(seconds));
    }
    let sound = render(&mut player);
    // No dip: the level of every 20 ms stays near that of the whole.
    let level =
        |samples: &[f32]| samples.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / samples.len() as f64;
    let held = &sound[(played.began + 4_800) as usize..(played.began + 43_200) as usize];
    for window in held.chunks_exact(960) {
        let off_db = 10.0 * (level(window) / level(held)).log10();
        assert!(off_db.abs() < 3.0, "{off_db} dB");
    }
}

#[test]
fn what_cannot_be_joined_is_refused() {
    let harp = harp("C");
    let (draw, blow) = (way(4, Breath::Draw, Technique::Natural), way(4, Breath::Blow, Technique::Natural));
    let mut player = quiet(&harp, RATE, 1);
    assert_eq!(player.play(Gesture::new(draw).then(blow, 0.5, 0.05)), Err(SynthError::Slur));
    let many = (1..9).fold(Gesture::new(draw), |gesture, n| gesture.then(draw, 0.2 * f64::from(n), 0.05));
    assert!(matches!(player.play(many), Err(SynthError::Range { .. })));
    let back = Gesture::new(draw).then(draw, 0.5, 0.05).then(draw, 0.2, 0.05);
    assert!(matches!(player.play(back), Err(SynthError::Range { .. })));
}

#[test]
fn joined_notes_share_an_attack() {
    let notes = [
        timed(2, Breath::Draw, 0, (0.0, 0.5), false),
        timed(2, Breath::Draw, 2, (0.5, 0.5), true),
        timed(4, Breath::Blow, 0, (1.0, 1.0), false),
    ];
    let slurs = Slur::all(notes);
    let told: Vec<(f64, f64)> =
        slurs.iter().map(|slur| (slur.first().unwrap().onset_s, slur.length_s())).collect();
    assert_eq!(told, [(0.0, 1.0), (1.0, 1.0)]);
}

/// Each note begins when it is due, after the lead, and the loudest sample of any harp stays below -12 dBFS.
#[test]
fn the_model_plays_in_time_and_not_loud() {
    let notes = [
        timed(2, Breath::Draw, 2, (0.0, 0.4), false),
        timed(2, Breath::Draw, 0, (0.4, 0.4), true),
        timed(4, Breath::Blow, 0, (0.8, 0.4), false),
        timed(8, Breath::Blow, 1, (1.2, 0.4), false),
        timed(10, Breath::Blow, 2, (1.6, 0.4), false),
    ];
    for key in ["low F", "C", "high G"] {
        let mut model = Model::new(&harp(key), RATE, notes, 0.5).unwrap();
        let mut sound = Vec::new();
        let mut block = [0.0; 480];
        while model.fill(&mut block) > 0 {
            sound.extend(block);
        }
        let seconds = sound.len() as f64 / RATE;
        assert!((2.3..2.55).contains(&seconds), "{key}: {seconds} s");
        let before = (0.5 * RATE) as usize;
        assert!(sound[..before].iter().all(|x| x.abs() < 1e-6), "{key}: it sounds before its time");
        assert!(sound[before..before + 2_400].iter().any(|x| x.abs() > 1e-3), "{key}: it is late");
        let peak = sound.iter().fold(0.0_f32, |peak, x| peak.max(x.abs()));
        let dbfs = 20.0 * f64::from(peak).log10();
        assert!((-26.0..-12.0).contains(&dbfs), "{key}: {dbfs} dBFS");
    }
}
