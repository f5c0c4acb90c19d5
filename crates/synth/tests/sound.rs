//! What is rendered: every way of every harp, at its level, within its band.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use common::{RATE, dbfs, harp, held, power_at, quiet, take, way};
use layout::{Breath, Harp, HarpKey, Technique};
use proptest::prelude::*;
use synth::{Gesture, SimulatedPlayer};

fn decibels(power: f64) -> f64 {
    10.0 * power.log10()
}

#[test]
fn every_way_of_every_richter_harp_sounds_at_its_level() {
    let rate = 16_000.0;
    let mut ways = 0;
    for key in HarpKey::all() {
        let mut player = quiet(&Harp::richter(key), rate, 11);
        for way in player.harp().clone().ways() {
            let gesture = Gesture::new(way).rest(0.01).seconds(0.3).shimmer(0.0);
            let before = player.position();
            let (mut played, sound) = take(&mut player, gesture);
            assert!(sound.iter().all(|x| x.is_finite() && x.abs() < 1.0), "{key} {way:?}");
            played.settled -= before;
            played.released -= before;
            let level = dbfs(held(&played, &sound, rate));
            assert!((level + 18.0).abs() < 0.3, "{key} {way:?} is at {level} dBFS");
            ways += 1;
        }
    }
    // 27 keys from low low F to high G, each with 20 natural notes, 12 bends and 10 overbends (layout: OEIS
    // A291810).
    assert_eq!(ways, 27 * (20 + 12 + 10));
}

#[test]
fn release_ends_in_silence_and_attack_begins_in_it() {
    let mut player = quiet(&harp("C"), RATE, 2);
    let (played, sound) = take(&mut player, Gesture::new(way(1, Breath::Blow, Technique::Natural)));
    assert!(sound[..=played.began as usize].iter().all(|x| *x == 0.0));
    assert!(sound[played.ended as usize..].iter().all(|x| *x == 0.0));
    let start = &sound[played.began as usize..played.began as usize + 240];
    assert!(dbfs(start) < -35.0, "the attack jumps in");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn level_is_what_was_asked(level in -70.0..-10.0f64, seed: u64, index in 0usize..36) {
        let harp = harp("A");
        let gesture = Gesture::new(harp.ways().nth(index).unwrap()).pure().seconds(0.5).level(level);
        let (played, sound) = take(&mut quiet(&harp, RATE, seed), gesture);
        let heard = dbfs(held(&played, &sound, RATE));
        prop_assert!((heard - level).abs() < 0.1, "{heard} dBFS instead of {level}");
    }

    #[test]
    fn nothing_above_the_band(
        seed: u64, index in 0usize..36,
        rate in prop::sample::select(vec![8_000.0, 11_025.0, 22_050.0, 48_000.0]),
    ) {
        let harp = harp("C");
        let way = harp.ways().nth(index).unwrap();
        // As much movement of the pitch as a player makes, upwards too.
        let gesture = Gesture::new(way).pure().seconds(0.2).glide(0.05).overshoot(-60.0, 0.1).vibrato(6.0, 30.0);
        prop_assume!(harp.hz(way).unwrap() < 0.4 * rate);
        let (played, sound) = take(&mut quiet(&harp, rate, seed), gesture);
        let sound = &sound[played.began as usize..played.ended as usize];
        let bin = rate / sound.len() as f64;
        // From half a dozen bins above the limit, clear of the window's main lobe (±4 bins), up to half the
        // rate.
        let above = (0..).map(|i| 0.45 * rate + (6.0 + 3.0 * f64::from(i)) * bin).take_while(|hz| *hz < rate / 2.0);
        let strongest = above.map(|hz| power_at(sound, hz, rate)).fold(0.0, f64::max);
        prop_assert!(decibels(strongest) < -18.0 - 75.0, "{} dB above the band", decibels(strongest));
    }
}

/// Levels of the first partials of a way in dB, the fundamental at 0.
fn partials(way: layout::Way, seed: u64, level: f64) -> Vec<f64> {
    let harp = harp("C");
    let (played, sound) =
        take(&mut quiet(&harp, RATE, seed), Gesture::new(way).pure().seconds(0.4).level(level));
    let sound = held(&played, &sound, RATE);
    let powers: Vec<f64> = (1..=8).map(|k| power_at(sound, f64::from(k) * played.hz, RATE)).collect();
    powers.iter().map(|p| decibels(p / powers[0])).collect()
}

/// Mean over some reeds of how strong the third partial and those above it are against the fundamental.
fn brightness(way: layout::Way, level: f64) -> f64 {
    (1..=8).map(|seed| partials(way, seed, level)[2..].iter().sum::<f64>() / 6.0).sum::<f64>() / 8.0
}

/// These are properties we chose to give the sound (common practice, no source), kept here so that they stay.
#[test]
fn spectrum_follows_register_loudness_and_technique() {
    let low = way(1, Breath::Blow, Technique::Natural);
    let stronger = (1..=8).filter(|seed| partials(low, *seed, -18.0)[1] > 0.0).count();
    assert!(stronger >= 4, "the second harmonic of a low reed is stronger in {stronger} of 8 harps only");
    let high = way(10, Breath::Blow, Technique::Natural);
    assert!(brightness(high, -18.0) < brightness(low, -18.0) - 15.0);
    assert!(brightness(low, -12.0) > brightness(low, -30.0) + 2.0);
    let bend = way(3, Breath::Draw, Technique::Bend(2));
    assert!(brightness(bend, -18.0) < brightness(bend.natural(), -18.0) - 2.0);
}

/// The sound of a room in which nobody plays.
fn room(rate: f64, dbfs: f64, samples: usize) -> Vec<f32> {
    let mut sound = vec![0.0; samples];
    SimulatedPlayer::new(&harp("C"), rate, 3).with_room(dbfs).fill(&mut sound);
    sound
}

#[test]
fn room_has_its_level_at_every_rate() {
    for rate in [8_000.0, 44_100.0, 192_000.0] {
        let level = dbfs(&room(rate, -40.0, (10.0 * rate) as usize));
        assert!((level + 40.0).abs() < 0.5, "{level} dBFS at {rate} Hz");
    }
    assert!(room(RATE, f64::NEG_INFINITY, 100).iter().all(|x| *x == 0.0));
}

/// Pink noise is defined by a power density of 1/f: 3.01 dB less an octave.
#[test]
fn room_is_pink() {
    let sound = room(RATE, -20.0, 4096 * 100);
    let density = |hz: f64| {
        decibels(sound.chunks_exact(4096).map(|segment| power_at(segment, hz, RATE)).sum::<f64>() / 100.0)
    };
    // Least-squares line through octave steps from 62.5 Hz to 8 kHz.
    let levels = (0..8).map(|octave| density(62.5 * f64::from(1 << octave)));
    let slope = levels.enumerate().map(|(i, level)| (i as f64 - 3.5) * level).sum::<f64>() / 42.0;
    assert!((slope + 3.01).abs() < 0.3, "{slope} dB an octave");
}

#[test]
fn room_is_quiet_and_breath_is_heard_in_the_rest() {
    let harp = harp("C");
    let mut room = vec![0.0; 480_000];
    SimulatedPlayer::new(&harp, RATE, 1).fill(&mut room);
    assert!((dbfs(&room) + 72.0).abs() < 1.0, "{} dBFS", dbfs(&room));

    let gesture = Gesture::new(harp.ways().next().unwrap()).rest(1.0).breath_before(-40.0);
    let (_, sound) = take(&mut quiet(&harp, RATE, 1), gesture);
    assert!(dbfs(&sound[..2400]) < -55.0);
    assert!((dbfs(&sound[21_600..26_400]) + 40.0).abs() < 1.5);
    assert!(dbfs(&sound[45_600..48_000]) < -55.0);
}

#[test]
fn squeak_adds_a_foreign_tone_to_the_start_only() {
    let harp = harp("C");
    let plain = Gesture::new(way(6, Breath::Blow, Technique::Overbend)).pure().seconds(0.5);
    let (played, without) = take(&mut quiet(&harp, RATE, 1), plain.clone());
    let (_, with) = take(&mut quiet(&harp, RATE, 1), plain.squeak(0.08));
    let at = played.began as usize;
    let difference: Vec<f32> = with.iter().zip(&without).map(|(a, b)| a - b).collect();
    assert!(dbfs(&difference[at..at + 3840]) > -40.0);
    assert!(difference[at + 3840..].iter().all(|x| *x == 0.0));
    let whistle = power_at(&difference[at..at + 3840], 5.1 * played.hz, RATE);
    assert!(whistle > 20.0 * power_at(&difference[at..at + 3840], 4.0 * played.hz, RATE));
}
