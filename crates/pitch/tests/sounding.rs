//! Which reeds sound together, on tones whose reeds are known.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout, reason = "tests")]

mod common;

use common::{Noise, REED, Tone, add};
use pitch::sounding::Sounding;

const RATE: f64 = 48_000.0;

/// Reeds of one breath of a Richter harp whose first blow reed is this MIDI note (the scheme is common practice; the
/// blow reeds are a major chord, the draw reeds a dominant ninth).
fn reeds(blow_1: i32, draw: bool) -> Vec<f64> {
    let (blow, drawn) = ([0, 4, 7, 12, 16, 19, 24, 28, 31, 36], [2, 7, 11, 14, 17, 21, 23, 26, 29, 33]);
    let steps = if draw { drawn } else { blow };
    // The MIDI tuning formula.
    steps.map(|step| 440.0 * 2.0_f64.powf(f64::from(blow_1 + step - 69) / 12.0)).to_vec()
}

fn harp(blow_1: i32) -> [Vec<f64>; 2] {
    [reeds(blow_1, false), reeds(blow_1, true)]
}

/// The reeds told 60 ms after the attack, from the lowest.
fn heard_60_ms_in(parts: &[(f64, f64)], harp: [Vec<f64>; 2]) -> Vec<f64> {
    let mut samples = vec![0.0; (0.2 * RATE) as usize];
    let mut noise = Noise(9);
    for s in &mut samples {
        *s = 0.0005 * noise.next() as f32;
    }
    for (hz, level) in parts {
        add(&mut samples, RATE, *level, &Tone { hz: *hz, amplitudes: &REED, from: 0.05, to: 0.2 });
    }
    let mut sounding = Sounding::new(RATE, harp).unwrap();
    let mut heard = Vec::new();
    sounding.push(&samples[..(0.11 * RATE) as usize], |together| {
        heard = together.parts().iter().map(|part| part.hz).collect();
    });
    heard.sort_by(f64::total_cmp);
    heard
}

/// Sets of `width` adjacent holes on a C, a low F and a high G harp, with the reeds told for each.
fn told(width: usize) -> Vec<(Vec<f64>, Vec<f64>)> {
    let mut all = Vec::new();
    for (blow_1, draw) in [(60, false), (60, true), (53, false), (53, true), (67, false), (67, true)] {
        for set in reeds(blow_1, draw).windows(width) {
            let parts: Vec<(f64, f64)> = set.iter().map(|hz| (*hz, 0.1)).collect();
            all.push((set.to_vec(), heard_60_ms_in(&parts, harp(blow_1))));
        }
    }
    all
}

fn share_right(told: &[(Vec<f64>, Vec<f64>)]) -> f64 {
    for (played, heard) in told.iter().filter(|(played, heard)| played != heard) {
        println!("played {played:.1?}, heard {heard:.1?}");
    }
    told.iter().filter(|(played, heard)| played == heard).count() as f64 / told.len() as f64
}

#[test]
fn a_lone_reed_is_called_lone() {
    assert!(share_right(&told(1)) >= 0.99);
}

#[test]
fn adjacent_pairs_are_told() {
    assert!(share_right(&told(2)) >= 0.97);
}

#[test]
fn adjacent_triples_are_told() {
    assert!(share_right(&told(3)) >= 0.97);
}

#[test]
fn a_leak_20_db_below_is_told() {
    let mut told = Vec::new();
    for set in reeds(60, true).windows(2) {
        told.push((set.to_vec(), heard_60_ms_in(&[(set[0], 0.1), (set[1], 0.01)], harp(60))));
    }
    assert!(share_right(&told) >= 0.85);
}

#[test]
fn without_a_harp_the_two_strongest_pitches_are_told() {
    for pair in [(261.63, 392.0), (293.66, 370.0), (587.33, 698.46), (1_046.5, 1_318.5)] {
        let heard = heard_60_ms_in(&[(pair.0, 0.1), (pair.1, 0.07)], [Vec::new(), Vec::new()]);
        let near = |a: f64, b: f64| common::cents(a, b).abs() < 40.0;
        assert!(
            heard.len() == 2 && near(heard[0], pair.0) && near(heard[1], pair.1),
            "{pair:?} heard as {heard:?}"
        );
    }
}

#[test]
fn silence_and_noise_sound_no_reeds() {
    assert!(heard_60_ms_in(&[], harp(60)).is_empty());
}
