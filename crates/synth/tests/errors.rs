//! Requests that can't be played: a clear sentence, and nothing queued.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use common::{harp, quiet, way};
use layout::{Breath, Technique};
use proptest::prelude::*;
use synth::{Curve, Gesture, SynthError, Tone};

/// What the player says about a gesture that it refuses.
fn refused(gesture: Gesture, rate: f64) -> String {
    let mut player = quiet(&harp("high G"), rate, 1);
    let error = player.play(gesture).unwrap_err();
    assert!(player.is_idle(), "refused but queued");
    error.to_string()
}

#[test]
fn ways_that_the_harp_does_not_have() {
    let cases = [
        way(11, Breath::Blow, Technique::Natural),
        way(0, Breath::Draw, Technique::Natural),
        way(1, Breath::Draw, Technique::Bend(3)),
        way(1, Breath::Draw, Technique::Overbend),
    ];
    for way in cases {
        let why = harp("high G").play(way).unwrap_err();
        assert_eq!(refused(Gesture::new(way), 48_000.0), why.to_string());
    }
    let leaking = Gesture::new(way(10, Breath::Blow, Technique::Natural)).leak(11, -20.0);
    assert!(refused(leaking, 48_000.0).contains("11"));
}

#[test]
fn numbers_out_of_range() {
    let note = Gesture::new(way(4, Breath::Draw, Technique::Natural));
    let cases = [
        (note.clone().seconds(-1.0), "a time held in seconds of -1 is out of range; use 0 to 3600"),
        (note.clone().level(0.0), "a level in dBFS of 0 is out of range; use -90 to -6"),
        (note.clone().cents_off(f64::NAN), "an offset in cents of NaN is out of range; use -600 to 600"),
        (note.clone().rest(f64::INFINITY), "a rest in seconds of inf is out of range; use 0 to 3600"),
        (note.clone().leak(5, 3.0), "a leak in dB of 3 is out of range; use -80 to 0"),
        (note.clone().breath(50.0), "breath noise in dB of 50 is out of range; use -inf to 20"),
        (note.clone().glide(-0.1), "a slide in seconds of -0.1 is out of range; use 0 to 60"),
        (note.clone().pop(0.0), "a pop or squeak in seconds of 0 is out of range; use 0.001 to 5"),
        (note.clone().attack(0.0), "an attack in seconds of 0 is out of range; use 0.001 to 2"),
        (note.vibrato(5.0, 500.0), "a vibrato depth in cents of 500 is out of range; use 0 to 200"),
    ];
    for (gesture, sentence) in cases {
        assert_eq!(refused(gesture, 48_000.0), sentence);
    }
}

#[test]
fn chords_that_fit_under_no_mouth() {
    let natural = |hole, breath| way(hole, breath, Technique::Natural);
    let chords = [
        vec![],
        vec![natural(1, Breath::Blow), natural(2, Breath::Draw)],
        vec![natural(3, Breath::Blow), natural(3, Breath::Blow)],
        vec![natural(1, Breath::Blow), natural(7, Breath::Blow)],
        (1..=7).map(|hole| natural(hole, Breath::Blow)).collect(),
    ];
    for chord in chords {
        assert!(
            refused(Gesture::chord(&chord), 48_000.0).starts_with("a chord needs one breath"),
            "{chord:?}"
        );
    }
    let own_hole = Gesture::new(natural(3, Breath::Blow)).leak(3, -20.0);
    assert!(refused(own_hole, 48_000.0).starts_with("hole 3 is played"));
}

#[test]
fn pitches_beyond_the_sample_rate() {
    // 10 overdraw on a high G harp is G♯7, 3322.4 Hz (MIDI Tuning Standard); 100 cents more pass 0.45 of 8
    // kHz.
    let note = Gesture::new(way(10, Breath::Draw, Technique::Overbend));
    let mut player = quiet(&harp("high G"), 8_000.0, 1);
    assert!(player.play(&note).is_ok());
    let sentence = refused(note.cents_off(150.0), 8_000.0);
    assert!(
        sentence.ends_with("Hz is too high for this sample rate; it carries up to 3600.0 Hz"),
        "{sentence}"
    );
}

#[test]
fn odd_sample_rates_are_brought_into_range() {
    for (asked, used) in
        [(f64::NAN, 8_000.0), (0.0, 8_000.0), (-5.0, 8_000.0), (1e9, 192_000.0), (16_000.0, 16_000.0)]
    {
        assert_eq!(quiet(&harp("C"), asked, 1).sample_rate(), used);
    }
}

#[test]
fn tones_that_nobody_should_hear() {
    assert!(matches!(
        Tone::new(440.0, 48_000.0).unwrap().level(-3.0),
        Err(SynthError::Range { high: -12.0, .. })
    ));
    assert!(Tone::new(5.0, 48_000.0).is_err());
    assert!(Tone::new(4_000.0, 8_000.0).is_err());
    assert!(Tone::new(440.0, 0.0).is_err());
    assert!(Tone::new(f64::NAN, 48_000.0).is_err());
}

/// A number as somebody might give it by mistake, or on purpose.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -30.0..30.0f64,
        2 => 0.0..0.2f64,
        1 => prop::sample::select(vec![0.0, -0.0, 1e300, -1e300, 3600.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY]),
    ]
}

/// Sets one thing about a gesture to numbers of any kind.
fn set(gesture: Gesture, what: u8, a: f64, b: f64) -> Gesture {
    match what {
        0 => gesture.cents_off(a),
        1 => gesture.seconds(a).curve(Curve::Settling),
        2 => gesture.rest(a),
        3 => gesture.late(a),
        4 => gesture.level(a),
        5 => gesture.glide(a).dwell(b),
        6 => gesture.scoop(a, b),
        7 => gesture.overshoot(a, b),
        8 => gesture.undershoot(a, b),
        9 => gesture.drift(a).jitter(b),
        10 => gesture.vibrato(a, b),
        11 => gesture.pop(a),
        12 => gesture.squeak(a),
        13 => gesture.leak(a as u8, b),
        14 => gesture.attack(a).release(b),
        15 => gesture.breath(a).breath_before(b),
        _ => gesture.shimmer(a).fundamental(b),
    }
}

proptest! {
    #[test]
    fn whatever_is_asked_is_refused_or_sounds(
        hole in 0u8..12, depth in 0u8..5, blow: bool, seed: u64,
        settings in prop::collection::vec((0u8..17, any_number(), any_number()), 0..6),
    ) {
        let breath = if blow { Breath::Blow } else { Breath::Draw };
        let technique = match depth {
            0 => Technique::Natural,
            4 => Technique::Overbend,
            depth => Technique::Bend(depth),
        };
        let note = Gesture::new(way(hole, breath, technique)).rest(0.01).seconds(0.1);
        let gesture = settings.into_iter().fold(note, |gesture, (what, a, b)| set(gesture, what, a, b));
        let mut player = quiet(&harp("C"), 8_000.0, seed);
        for _ in 0..2 {
            if let Ok(played) = player.play(&gesture) {
                prop_assert!(played.hz.is_finite() && played.began <= played.released && played.released < played.ended);
                let mut sound = [0.0f32; 1000];
                player.fill(&mut sound);
                prop_assert!(sound.iter().all(|x| x.is_finite() && x.abs() <= 1.0));
                prop_assert!((0..2000).all(|at| player.truth(at).is_none_or(|hz| hz > 0.0 && hz < 3600.0)));
            }
        }
    }
}
