//! The pitch that is rendered is the pitch that was asked for, and the truth tells it sample by sample.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use common::{RATE, cents, fitted_hz, harp, held, power_at, quiet, take, way};
use layout::{Breath, Technique};
use proptest::prelude::*;
use std::f64::consts::TAU;
use synth::{Gesture, SimulatedPlayer};

/// Scientific pitch from the MIDI Tuning Standard: f = 440·2^((d − 69)/12).
fn midi_hz(key: f64) -> f64 {
    440.0 * ((key - 69.0) / 12.0).exp2()
}

#[test]
fn check_values_of_the_midi_tuning_standard() {
    // 3 draw on a C harp is B4 (71), its bends B♭4, A4, A♭4; 6 overblow is B♭5 (82). OEIS A291810, MIDI
    // Tuning Standard.
    let draw_3 = |depth| way(3, Breath::Draw, Technique::Bend(depth));
    let cases = [
        (way(3, Breath::Draw, Technique::Natural), 71.0),
        (draw_3(1), 70.0),
        (draw_3(2), 69.0),
        (draw_3(3), 68.0),
        (way(6, Breath::Blow, Technique::Overbend), 82.0),
        (way(10, Breath::Blow, Technique::Natural), 96.0),
    ];
    for (way, key) in cases {
        let mut player = quiet(&harp("C"), RATE, 7);
        let (played, sound) = take(&mut player, Gesture::new(way).pure().seconds(1.0));
        let hz = fitted_hz(held(&played, &sound, RATE), midi_hz(key), RATE);
        assert!(cents(midi_hz(key), hz).abs() < 0.01, "{way:?}: {hz} Hz");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn pitch_is_exact_at_every_rate(
        index in 0usize..36, offset in -60.0..60.0f64, seed: u64,
        rate in prop::sample::select(vec![8_000.0, 16_000.0, 44_100.0, 96_000.0, 192_000.0]),
        key in prop::sample::select(vec!["low low F", "G", "C", "high G"]),
    ) {
        let harp = harp(key);
        let way = harp.ways().nth(index % harp.ways().count()).unwrap();
        let wanted = harp.hz(way).unwrap() * (offset / 1200.0).exp2();
        prop_assume!(wanted < 0.44 * rate);
        let mut player = quiet(&harp, rate, seed);
        let (played, sound) = take(&mut player, Gesture::new(way).pure().cents_off(offset).seconds(0.8));
        prop_assert!(cents(wanted, played.hz).abs() < 1e-9);
        let hz = fitted_hz(held(&played, &sound, rate), wanted, rate);
        prop_assert!(cents(wanted, hz).abs() < 0.01, "{way:?} at {rate} Hz: {wanted} Hz asked, {hz} Hz rendered");
    }
}

/// If the truth is the instantaneous frequency of the sound, then the sound multiplied by a vector that turns
/// backwards at that frequency stands still. Returns how far that vector turns per window at most, in cycles.
fn turning(player: &SimulatedPlayer, sound: &[f32], from: u64, to: u64) -> f64 {
    let window = 4096;
    let (mut phase, mut turns) = (0.0f64, Vec::new());
    let (mut re, mut im, mut weight) = (0.0, 0.0, 0usize);
    for at in from..to {
        let w = (TAU * weight as f64 / f64::from(window)).cos().mul_add(-0.5, 0.5);
        let x = w * f64::from(sound[at as usize]);
        re += x * (TAU * phase).cos();
        im -= x * (TAU * phase).sin();
        phase = (phase + player.truth(at).unwrap() / RATE).fract();
        weight += 1;
        if weight == window as usize {
            turns.push(im.atan2(re) / TAU);
            (re, im, weight) = (0.0, 0.0, 0);
        }
    }
    assert!(turns.len() >= 5, "too short to tell");
    turns
        .windows(2)
        .map(|pair| (pair[1] - pair[0] + 0.5).rem_euclid(1.0) - 0.5)
        .fold(0.0, |m, d| d.abs().max(m))
}

#[test]
fn truth_is_the_instantaneous_frequency() {
    let bend = Gesture::new(way(3, Breath::Draw, Technique::Bend(2))).breath(f64::NEG_INFINITY);
    let slide = bend.clone().dwell(0.1).glide(0.4);
    let gestures = [
        bend.clone().jitter(4.0),
        slide.clone(),
        slide.clone().overshoot(40.0, 0.3),
        slide.undershoot(40.0, 0.3).drift(-30.0),
        bend.clone().vibrato(5.5, 25.0),
        bend.scoop(80.0, 0.2),
    ];
    for gesture in gestures {
        let mut player = quiet(&harp("C"), RATE, 3);
        let (played, sound) = take(&mut player, gesture.clone());
        let turned = turning(&player, &sound, played.began + 1500, played.released);
        assert!(turned < 0.002, "{gesture:?} turns by {turned} cycles");
    }
}

#[test]
fn slide_starts_at_the_natural_reed_and_ends_at_the_target() {
    let target = way(3, Breath::Draw, Technique::Bend(2));
    let mut player = quiet(&harp("C"), RATE, 5);
    let gesture = Gesture::new(target).pure().cents_off(-15.0).dwell(0.2).glide(0.4);
    let (played, _) = take(&mut player, gesture);
    let truth = |seconds: f64| player.truth(played.began + (seconds * RATE) as u64).unwrap();
    assert!(cents(midi_hz(71.0), truth(0.1)).abs() < 1e-6);
    // Half of the slide from B4 (71) to A4 less 15 cents (68.85) is at 69.925.
    assert!(cents(midi_hz(69.925), truth(0.4)).abs() < 0.01);
    assert!(cents(midi_hz(68.85), truth(0.7)).abs() < 1e-6);
    assert_eq!(played.settled - played.began, (0.6 * RATE) as u64);
    assert_eq!(player.truth(played.ended), None);
    assert_eq!(player.truth(played.began - 1), None);
}

#[test]
fn overshoot_goes_beyond_and_undershoot_stops_before() {
    let bend = Gesture::new(way(2, Breath::Draw, Technique::Bend(1))).pure().glide(0.1);
    let overblow = Gesture::new(way(6, Breath::Blow, Technique::Overbend)).pure().glide(0.1);
    let after = |gesture: Gesture| {
        let mut player = quiet(&harp("C"), RATE, 5);
        let played = player.play(gesture).unwrap();
        cents(played.hz, player.truth(played.began + (0.1 * RATE) as u64).unwrap())
    };
    assert!((after(bend.clone().overshoot(30.0, 0.2)) + 30.0).abs() < 0.01);
    assert!((after(bend.undershoot(30.0, 0.2)) - 30.0).abs() < 0.01);
    assert!((after(overblow.overshoot(30.0, 0.2)) - 30.0).abs() < 0.01);
}

#[test]
fn pop_speaks_on_the_natural_reed_first() {
    // 6 blow is G5 (79), its overblow B♭5 (82).
    let mut player = quiet(&harp("C"), RATE, 5);
    let (played, sound) =
        take(&mut player, Gesture::new(way(6, Breath::Blow, Technique::Overbend)).pure().pop(0.3));
    let early = &sound[played.began as usize + 4800..played.began as usize + 13_000];
    assert!(cents(midi_hz(79.0), fitted_hz(early, midi_hz(79.0), RATE)).abs() < 0.1);
    let late = held(&played, &sound, RATE);
    assert!(cents(midi_hz(82.0), fitted_hz(late, midi_hz(82.0), RATE)).abs() < 0.01);
}

#[test]
fn chord_and_leak_sound_at_their_levels() {
    let chord = [1, 2, 3].map(|hole| way(hole, Breath::Draw, Technique::Natural));
    let alone = |index: usize| {
        let level = -18.0 - 10.0 * 3f64.log10();
        let gesture = Gesture::new(chord[index]).pure().level(level);
        let (played, sound) = take(&mut quiet(&harp("C"), RATE, 5), gesture);
        held(&played, &sound, RATE).to_vec()
    };
    let (played, sound) = take(&mut quiet(&harp("C"), RATE, 5), Gesture::chord(&chord).pure());
    let together = held(&played, &sound, RATE);
    // D4, G4 and B4: OEIS A291810. The level of the chord is that of all three together, so each has a third of its
    // power.
    for (index, key) in [62.0, 67.0, 71.0].into_iter().enumerate() {
        let heard = power_at(together, midi_hz(key), RATE) / power_at(&alone(index), midi_hz(key), RATE);
        assert!((10.0 * heard.log10()).abs() < 0.5, "hole {} is off by a factor of {heard}", index + 1);
    }

    // 4 draw on a C harp is D5 (74): OEIS A291810. It leaks at 15 dB below the note, which is at −18 dBFS.
    let leak = Gesture::new(way(4, Breath::Draw, Technique::Natural)).pure().level(-33.0);
    let power = |gesture| {
        let (played, sound) = take(&mut quiet(&harp("C"), RATE, 5), gesture);
        10.0 * power_at(held(&played, &sound, RATE), midi_hz(74.0), RATE).log10()
    };
    let (leaking, alone) = (power(Gesture::new(chord[2]).pure().leak(4, -15.0)), power(leak));
    assert!((leaking - alone).abs() < 0.5, "the leak is at {leaking} dB, alone at {alone} dB");
}
