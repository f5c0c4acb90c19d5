//! What the ear tells of a note while a second reed leaks in, as it does when the lips touch the next hole.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "tests")]

mod common;

use common::{Noise, REED, Tone, add, cents, readings};

const RATE: f64 = 48_000.0;

/// How many readings are known later than a quarter of a second after the attack (at 0.05 s), and how many of them tell
/// another note: a pitch that is more than 50 cents off.
fn readings_and_wrong(samples: &[f32], hz: f64) -> (usize, usize) {
    let all = readings(RATE, samples);
    let held = || all.iter().filter(|r| r.known > 14_400);
    let wrong = held().filter(|r| r.hz.is_some_and(|told| cents(told, hz).abs() > 50.0));
    (held().count(), wrong.count())
}

#[test]
fn a_note_is_told_an_octave_too_high_no_longer_than_a_quarter_of_a_second_beside_a_leaking_reed() {
    // A reed whose second harmonic is the strongest by far, and 12 dB below it a second reed a third, a fourth or a
    // fifth higher, just and tempered.
    let own = [0.2, 0.95, 0.1, 0.04, 0.05, 0.03, 0.03];
    let power = |amplitudes: &[f64]| amplitudes.iter().map(|a| a * a).sum::<f64>();
    let down = 10.0_f64.powf(-12.0 / 20.0) * (power(&own) / power(&REED)).sqrt();
    let leaks: Vec<f64> = REED.iter().map(|amplitude| down * amplitude).collect();
    for hz in [117.8, 164.8, 207.9, 293.7] {
        for times in [1.2, 1.25, 4.0 / 3.0, 1.5, 1.4983] {
            let mut samples = vec![0.0; 48_000];
            let other = hz * times;
            add(&mut samples, RATE, 0.1, &Tone { hz, amplitudes: &own, from: 0.05, to: 1.0 });
            add(&mut samples, RATE, 0.1, &Tone { hz: other, amplitudes: &leaks, from: 0.05, to: 1.0 });
            let (all, wrong) = readings_and_wrong(&samples, hz);
            assert!(all > 200 && wrong == 0, "{hz} Hz beside {other} Hz: {wrong} of {all} readings");
        }
    }
}

/// A note with uneven harmonics beside a reed a third above, a little out of tune, whose level is `leak` times that of
/// the note; in white noise 38 dB below the note.
fn beside_a_third(hz: f64, leak: f64, mut noise: Noise) -> Vec<f32> {
    let third = 1.26 * hz * (1.0 + 0.002 * noise.next());
    let mut uneven = || REED.map(|amplitude| amplitude * (1.0 + 0.5 * noise.next()));
    let (own, other) = (uneven(), uneven());
    let mut samples = vec![0.0; 48_000];
    add(&mut samples, RATE, 0.15, &Tone { hz, amplitudes: &own, from: 0.05, to: 1.0 });
    add(&mut samples, RATE, 0.15 * leak, &Tone { hz: third, amplitudes: &other, from: 0.06, to: 1.0 });
    samples.iter().map(|sample| sample + (0.003 * noise.next()) as f32).collect()
}

#[test]
fn a_reed_that_leaks_in_a_third_above_seldom_turns_the_note_into_another() {
    // A tempered third is 1.26, so four periods of the note and five of the other reed are nearly alike, and the note
    // two octaves below may be taken for both. Missing harmonics bring the note back, if they are looked for over a
    // window that is long enough to keep the lines of the other reed apart from them.
    let (mut all, mut wrong) = (0, 0);
    for hz in [466.16, 523.25, 698.46, 783.99, 1_046.5] {
        // 6 and 8 dB below the note.
        for leak in [0.5, 0.4] {
            for seed in 3..15 {
                let (some, others) = readings_and_wrong(&beside_a_third(hz, leak, Noise(seed)), hz);
                (all, wrong) = (all + some, wrong + others);
            }
        }
    }
    // 4.3 % of the readings are wrong; 6.1 % if missing harmonics are looked for over 20 ms only.
    let share = wrong as f64 / all as f64;
    assert!(all > 30_000 && share < 0.05, "{wrong} of {all} readings are another note");
}
