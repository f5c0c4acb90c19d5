//! What spoils a recording does so by the amount it says.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use common::{RATE, power_at};
use std::f64::consts::TAU;
use synth::{BandLimit, Beat, Click, Colour, Hum, Metronome, Noise, Reverb, clip, dbfs};

fn sine(hz: f64, samples: usize, rate: f64) -> Vec<f32> {
    (0..samples).map(|n| (TAU * hz * n as f64 / rate).sin() as f32).collect()
}

#[test]
fn noise_has_its_level_at_every_rate() {
    for rate in [8_000.0, 44_100.0, 192_000.0] {
        for colour in [Colour::White, Colour::Pink] {
            let mut sound = vec![0.0; (10.0 * rate) as usize];
            Noise::new(rate, colour, -40.0, 3).add(&mut sound);
            assert!((dbfs(&sound) + 40.0).abs() < 0.5, "{colour:?} at {rate}: {}", dbfs(&sound));
        }
    }
    let mut silence = vec![0.0; 100];
    Noise::new(RATE, Colour::Pink, f64::NEG_INFINITY, 3).add(&mut silence);
    assert!(silence.iter().all(|x| *x == 0.0));
}

/// Power density of a noise around a frequency, averaged over 100 segments, in dB.
fn density(sound: &[f32], hz: f64) -> f64 {
    let segments = sound.chunks_exact(4096);
    let count = segments.len() as f64;
    10.0 * (segments.map(|s| power_at(s, hz, RATE)).sum::<f64>() / count).log10()
}

/// Pink noise is defined by a power density of 1/f: 3.01 dB less an octave. White noise has the same
/// everywhere.
#[test]
fn noise_has_its_slope() {
    let slope = |colour| {
        let mut sound = vec![0.0; 4096 * 100];
        Noise::new(RATE, colour, -20.0, 3).add(&mut sound);
        // Least-squares line through octave steps from 62.5 Hz to 8 kHz.
        let levels = (0..8).map(|octave| density(&sound, 62.5 * f64::from(1 << octave)));
        levels.enumerate().map(|(i, level)| (i as f64 - 3.5) * level).sum::<f64>() / 42.0
    };
    assert!((slope(Colour::Pink) + 3.01).abs() < 0.3, "{}", slope(Colour::Pink));
    assert!(slope(Colour::White).abs() < 0.3, "{}", slope(Colour::White));
}

#[test]
fn hum_stands_on_the_mains_and_its_harmonics() {
    let mut sound = vec![0.0; 48_000];
    Hum::new(RATE, 50.0, -40.0).add(&mut sound);
    assert!((dbfs(&sound) + 40.0).abs() < 0.1);
    assert!(power_at(&sound, 100.0, RATE) > power_at(&sound, 50.0, RATE));
    assert!(power_at(&sound, 75.0, RATE) < 1e-9 * power_at(&sound, 50.0, RATE));
}

#[test]
fn band_limit_is_a_fourth_order_butterworth() {
    let gain = |hz: f64| {
        let mut sound = sine(hz, 48_000, RATE);
        BandLimit::new(RATE, 200.0, 6000.0).apply(&mut sound);
        dbfs(&sound[24_000..])
    };
    // Butterworth, order n: −10·lg(1 + (f/f0)^2n); at 100 Hz for n = 4 that is −24.1 dB. The upper edge is
    // bent by the bilinear transform, so only its corner is exact.
    assert!((gain(200.0) + 3.01).abs() < 0.05 && (gain(6000.0) + 3.01).abs() < 0.05);
    assert!((gain(100.0) + 24.1).abs() < 0.2, "{}", gain(100.0));
    assert!(gain(1000.0).abs() < 0.05);
    assert!(gain(12_000.0) < -24.0);
}

#[test]
fn band_limit_leaves_out_what_the_rate_has_not() {
    let mut sound = sine(1000.0, 8_000, 8_000.0);
    BandLimit::new(8_000.0, 200.0, 6000.0).apply(&mut sound);
    assert!(dbfs(&sound[4000..]).abs() < 0.05);
}

#[test]
fn room_dies_away_in_its_time() {
    let decay_s = 0.8;
    let mut sound = vec![0.0; 96_000];
    sound[0] = 1.0;
    let mut reverb = Reverb::new(RATE, decay_s, -10.0);
    sound.chunks_mut(777).for_each(|block| reverb.apply(block));
    assert_eq!(sound[0], 1.0, "the direct sound is not touched");
    // Half of the decay time is 30 dB (reverberation time as in ISO 3382: 60 dB).
    let level = |from: f64| dbfs(&sound[(from * RATE) as usize..((from + 0.1) * RATE) as usize]);
    let fallen = level(0.1) - level(0.1 + decay_s / 2.0);
    assert!((fallen - 30.0).abs() < 3.0, "{fallen} dB");
}

#[test]
fn room_is_mixed_in_at_its_level() {
    let mut sound = vec![0.0; 480_000];
    Noise::new(RATE, Colour::White, -20.0, 1).add(&mut sound);
    let dry = sound.clone();
    Reverb::new(RATE, 0.6, -12.0).apply(&mut sound);
    let room: Vec<f32> = sound.iter().zip(&dry).map(|(a, b)| a - b).collect();
    assert!((dbfs(&room) + 32.0).abs() < 1.0, "{}", dbfs(&room));
}

#[test]
fn clipping_cuts_off_at_the_limit_and_nothing_below() {
    let mut sound = sine(440.0, 4800, RATE);
    let before = sound.clone();
    clip(&mut sound, 0.5);
    assert!(sound.iter().zip(&before).all(|(a, b)| if b.abs() <= 0.5 { a == b } else { a.abs() == 0.5 }));
    assert!(sound.contains(&0.5));
}

#[test]
fn clicks_come_on_the_beat() {
    let mut sound = vec![0.0; 480_000];
    let mut metronome = Metronome::new(Click::new(RATE, -12.0), 137.0, 4);
    sound.chunks_mut(333).for_each(|block| metronome.add(block));
    let beat = RATE * 60.0 / 137.0;
    for i in 0..22 {
        let at = (f64::from(i) * beat).ceil() as usize;
        assert!(at == 0 || dbfs(&sound[at - 480..at]) < -100.0, "beat {i} has not died away");
        assert!(dbfs(&sound[at..at + 240]) > -25.0, "beat {i} is missing");
    }
    let first = &sound[..960];
    let second = &sound[beat.ceil() as usize..beat.ceil() as usize + 960];
    assert!(power_at(first, 2600.0, RATE) > power_at(first, 1900.0, RATE));
    assert!(power_at(second, 1900.0, RATE) > power_at(second, 2600.0, RATE));
}

#[test]
fn click_is_never_louder_than_its_bound() {
    let mut click = Click::new(RATE, 20.0);
    click.strike(Beat::One);
    let peak = (0..4800).map(|_| click.sample().abs()).fold(0.0, f64::max);
    assert!(peak <= 0.502, "{peak}");
    assert_eq!(click.sample(), 0.0);
}
