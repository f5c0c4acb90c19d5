//! Requests that can't be played: a clear sentence, and nothing queued.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use common::{harp, quiet, way};
use layout::{Breath, Technique};
use proptest::prelude::*;
use synth::{Gesture, SynthError, Tone};

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
    // 10 overdraw on a high G harp is G♯7, 3322.4 Hz (MIDI Tuning Standard); 150 cents more, 3623 Hz, pass 0.45 of 8
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

/// One number of a gesture: how it is set, its lowest and highest value, and the highest that is tried where a longer
/// time would only cost time.
type Setting = (fn(Gesture, f64) -> Gesture, f64, f64, f64);

const SETTINGS: [Setting; 19] = [
    (|g, x| g.cents_off(x), -600.0, 600.0, 600.0),
    (|g, x| g.seconds(x), 0.0, 3600.0, 0.1),
    (|g, x| g.rest(x), 0.0, 3600.0, 0.05),
    (|g, x| g.level(x), -90.0, -6.0, -6.0),
    (|g, x| g.glide(x), 0.0, 60.0, 0.05),
    (|g, x| g.dwell(x), 0.0, 60.0, 0.05),
    (|g, x| g.scoop(x, 0.05), -600.0, 600.0, 600.0),
    (|g, x| g.scoop(20.0, x), 0.0, 60.0, 0.05),
    (|g, x| g.overshoot(x, 0.05), -600.0, 600.0, 600.0),
    (|g, x| g.undershoot(20.0, x), 0.0, 60.0, 0.05),
    (|g, x| g.drift(x), -1200.0, 1200.0, 1200.0),
    (|g, x| g.jitter(x), 0.0, 50.0, 50.0),
    (|g, x| g.vibrato(x, 10.0), 0.0, 20.0, 20.0),
    (|g, x| g.vibrato(5.0, x), 0.0, 200.0, 200.0),
    (|g, x| g.pop(x), 0.001, 5.0, 0.05),
    (|g, x| g.squeak(x), 0.001, 5.0, 0.05),
    (|g, x| g.breath(x), f64::NEG_INFINITY, 20.0, 20.0),
    (|g, x| g.breath_before(x), f64::NEG_INFINITY, -6.0, -6.0),
    (|g, x| g.shimmer(x), 0.0, 3.0, 3.0),
];

/// A short note on a C harp, by the number of its way.
fn short(index: usize) -> Gesture {
    Gesture::new(harp("C").ways().nth(index).unwrap()).rest(0.01).seconds(0.05)
}

proptest! {
    #[test]
    fn what_is_in_range_sounds(
        index in 0usize..36, seed: u64, settings in prop::collection::vec((0..SETTINGS.len(), 0.0..=1.0f64), 0..6),
    ) {
        let gesture = settings.iter().fold(short(index), |gesture, (which, share)| {
            let (set, low, _, high) = SETTINGS[*which];
            // A level has no bottom; 90 dB below the top is far below hearing.
            let low = if low.is_finite() { low } else { high - 90.0 };
            set(gesture, low + share * (high - low))
        });
        let mut player = quiet(&harp("C"), 48_000.0, seed);
        for _ in 0..2 {
            let before = player.position();
            let played = player.play(&gesture).unwrap();
            prop_assert!(before <= played.began && played.began <= played.released && played.released < played.ended);
            let mut sound = vec![0.0f32; (played.ended - before) as usize];
            player.fill(&mut sound);
            prop_assert!(sound.iter().all(|x| x.is_finite() && x.abs() <= 1.0) && sound.iter().any(|x| *x != 0.0));
            prop_assert!((played.began..played.ended).all(|at| player.truth(at).is_some_and(|hz| hz > 0.0 && hz < 21_600.0)));
        }
    }

    #[test]
    fn one_number_out_of_range_is_enough_to_be_refused(index in 0usize..36, which in 0..SETTINGS.len(), beyond in 0.001..1e6f64) {
        let (set, low, high, _) = SETTINGS[which];
        let mut wrong = vec![high + beyond, f64::INFINITY, f64::NAN];
        wrong.extend(low.is_finite().then_some(low - beyond));
        for number in wrong {
            let why = refused(set(short(index), number), 48_000.0);
            prop_assert!(why.contains(&format!("of {number} is out of range; use {low} to {high}")), "{why}");
        }
    }
}
