//! The ear as a stream: cut up any way, at any rate, fed with anything.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "tests")]

mod common;

use common::{Noise, REED, Tone, add, cents, readings};
use pitch::{Ear, Settings};
use proptest::prelude::*;

fn phrase(rate: f64) -> Vec<f32> {
    let mut samples = vec![0.0; (0.7 * rate) as usize];
    add(&mut samples, rate, 0.2, &Tone { hz: 196.0, amplitudes: &REED, from: 0.05, to: 0.3 });
    add(&mut samples, rate, 0.2, &Tone { hz: 523.25, amplitudes: &REED, from: 0.35, to: 0.65 });
    let mut noise = Noise(7);
    for s in &mut samples {
        *s += 0.001 * noise.next() as f32;
    }
    samples
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn nothing_that_arrives_breaks_it(samples in prop::collection::vec(any::<f32>(), 0..4_000)) {
        for reading in readings(16_000.0, &samples) {
            prop_assert!(reading.hz.is_none_or(f64::is_finite) && reading.level_dbfs.is_finite());
            prop_assert!((0.0..=1.0).contains(&reading.clarity) && reading.sigma_cents.is_finite());
        }
    }
}

#[test]
fn every_rate_hears_the_same_pitch_at_the_same_time() {
    for rate in [
        8_000.0, 11_025.0, 16_000.0, 22_050.0, 24_000.0, 32_000.0, 44_100.0, 48_000.0, 88_200.0, 96_000.0,
        192_000.0,
    ] {
        let all = readings(rate, &phrase(rate));
        for (hz, from, to) in [(196.0, 0.12, 0.28), (523.25, 0.42, 0.63)] {
            let held = all.iter().filter(|r| (from..to).contains(&(r.known as f64 / rate)));
            for reading in held {
                let heard = reading.hz.unwrap_or_else(|| panic!("{hz} Hz unheard at a rate of {rate} Hz"));
                assert!(cents(heard, hz).abs() < 1.0, "{heard} Hz for {hz} Hz at a rate of {rate} Hz");
            }
        }
        let onsets: Vec<f64> = all.iter().filter(|r| r.onset).map(|r| r.known as f64 / rate).collect();
        assert_eq!(onsets.len(), 2, "onsets {onsets:?} at a rate of {rate} Hz");
        assert!(
            (0.05..0.08).contains(&onsets[0]) && (0.35..0.37).contains(&onsets[1]),
            "{onsets:?} at {rate} Hz"
        );
    }
}

#[test]
fn what_is_no_number_counts_as_silence() {
    let mut broken = phrase(48_000.0);
    let mut gapped = broken.clone();
    for (n, bad) in
        [(9_000, f32::NAN), (9_001, f32::INFINITY), (9_002, f32::NEG_INFINITY), (20_000, f32::MAX)]
    {
        (broken[n], gapped[n]) = (bad, 0.0);
    }
    assert_eq!(readings(48_000.0, &broken), readings(48_000.0, &gapped));
}

#[test]
fn silence_and_a_constant_are_no_notes() {
    for constant in [0.0, 1.0, -0.3] {
        let all = readings(48_000.0, &vec![constant; 48_000]);
        let late = all.iter().skip(40);
        assert!(late.into_iter().all(|r| r.hz.is_none()), "a constant {constant} was called a note");
    }
}

#[test]
fn a_clipped_note_keeps_its_pitch() {
    let mut samples = vec![0.0; 24_000];
    add(&mut samples, 48_000.0, 0.9, &Tone { hz: 349.23, amplitudes: &REED, from: 0.02, to: 0.5 });
    for s in &mut samples {
        *s = s.clamp(-0.4, 0.4);
    }
    let held = readings(48_000.0, &samples).into_iter().filter(|r| (4_800..23_000).contains(&r.known));
    assert!(held.into_iter().all(|r| r.hz.is_some_and(|hz| cents(hz, 349.23).abs() < 0.5)));
}

#[test]
fn a_reset_ear_is_a_new_ear() {
    let samples = phrase(48_000.0);
    let mut ear = Ear::new(Settings::new(48_000.0)).unwrap();
    ear.push(&samples[..10_001], |_| ());
    ear.reset();
    let mut again = Vec::new();
    ear.push(&samples, |reading| again.push(reading));
    assert_eq!(again, readings(48_000.0, &samples));
}

#[test]
fn a_reading_comes_every_hop_and_is_about_the_past() {
    let mut ear = Ear::new(Settings::new(48_000.0)).unwrap();
    // 2.5 ms.
    let hop = 120;
    let mut all = Vec::new();
    ear.push(&phrase(48_000.0), |reading| all.push(reading));
    for (n, reading) in all.iter().enumerate() {
        assert_eq!(reading.known, (n as u64 + 1) * hop);
        assert!(reading.time <= reading.known);
    }
}

#[test]
fn a_held_note_is_told_for_a_moment_ago_however_long_it_is_held() {
    // The middle of a window of 20 ms, and what the filter takes.
    for hz in [110.0, 220.0, 440.0, 1_760.0] {
        let mut samples = vec![0.0; 48_000];
        add(&mut samples, 48_000.0, 0.1, &Tone { hz, amplitudes: &REED, from: 0.05, to: 1.0 });
        let all = readings(48_000.0, &samples);
        let late = all.iter().filter(|r| r.hz.is_some()).map(|r| r.known - r.time).max().unwrap();
        assert!(late < 500, "{hz} Hz is told {late} samples late");
    }
}

#[test]
fn a_reading_without_a_note_is_about_the_middle_of_the_stretch_whose_level_it_tells() {
    // Ten milliseconds, and what the filter takes: a tenth of a millisecond where it filters.
    for (rate, ago) in [(16_000.0, 80..=80), (48_000.0, 243..=247), (96_000.0, 486..=494)] {
        for reading in readings(rate, &vec![0.0; rate as usize / 10]).iter().skip(4) {
            assert!(ago.contains(&(reading.known - reading.time)), "{reading:?} at {rate} Hz");
        }
    }
}

#[test]
fn the_level_is_that_against_a_sine_of_full_scale() {
    for amplitude in [1.0, 0.5, 0.01_f64] {
        let mut samples = vec![0.0; 24_000];
        let tone = Tone { hz: 500.0, amplitudes: &[1.0], from: -1.0, to: 1.0 };
        add(&mut samples, 48_000.0, amplitude, &tone);
        let level = readings(48_000.0, &samples).last().unwrap().level_dbfs;
        // Ten milliseconds are five whole periods, of which the mean square is half the square of the amplitude.
        assert!((f64::from(level) - 20.0 * amplitude.log10()).abs() < 0.1, "{level} dB for {amplitude}");
    }
    assert!(readings(48_000.0, &[0.0; 2_400]).iter().all(|r| r.level_dbfs == -120.0));
}

/// Fast rates are divided by a whole number to about 16 kHz, slow ones are left alone.
#[test]
fn what_is_not_the_player_is_taken_out_once_for_each_sample_of_the_rate_that_is_listened_to() {
    for (rate, factor) in [
        (8_000.0, 1),
        (16_000.0, 1),
        (22_050.0, 1),
        (32_000.0, 2),
        (44_100.0, 3),
        (48_000.0, 3),
        (96_000.0, 6),
        (192_000.0, 12),
    ] {
        let mut ear = Ear::new(Settings::new(rate)).unwrap();
        assert_eq!(ear.factor(), factor, "at {rate} Hz");
        let (mut cleaned, mut heard) = (0, 0);
        let samples = phrase(rate);
        for block in samples.chunks(1_000) {
            let clean = |_| {
                cleaned += 1;
                0.0
            };
            // All of it is taken out, so that nothing is heard.
            ear.push_cleaned(block, clean, |reading| heard += usize::from(reading.hz.is_some()));
        }
        assert_eq!((cleaned, heard), (samples.len() / factor, 0), "at {rate} Hz");
    }
}

#[test]
fn settings_that_cannot_work_are_refused_in_words() {
    let refused = |settings: Settings, why: &str| {
        Ear::new(settings).unwrap_err().to_string() == format!("notes cannot be {why}")
    };
    let new = Settings::new;
    assert!(refused(new(4_000.0), "told at 4000 samples a second; it takes 8000 to 192000"));
    assert!(refused(new(f64::NAN), "told at NaN samples a second; it takes 8000 to 192000"));
    let from = |low_hz| Settings { low_hz, ..new(48_000.0) };
    assert!(refused(from(10.0), "looked for from 10 Hz; it takes 60 to 4000"));
    let upward = Settings { high_hz: 900.0, ..from(900.0) };
    assert!(refused(upward, "looked for up to 900 Hz; it takes 1350 to 4000"));
    // A fifth is 3:2.
    let spans = |high_hz| Ear::new(Settings { low_hz: 600.0, high_hz, ..Settings::new(48_000.0) }).is_ok();
    assert!(spans(900.0) && !spans(890.0) && !spans(601.6));
}

#[test]
fn every_pitch_of_every_range_is_heard() {
    for (low_hz, high_hz) in [
        (60.0, 4_000.0),
        (60.0, 90.0),
        (150.0, 700.0),
        (260.0, 4_000.0),
        (600.0, 1_200.0),
        (2_400.0, 3_800.0),
    ] {
        for amplitudes in [&REED[..], &[1.0]] {
            for step in 0..=24 {
                let hz = low_hz * f64::powf(high_hz / low_hz, f64::from(step) / 24.0);
                let mut samples = vec![0.0; 9_600];
                add(&mut samples, 48_000.0, 0.1, &Tone { hz, amplitudes, from: 0.02, to: 0.2 });
                let mut ear = Ear::new(Settings { low_hz, high_hz, ..Settings::new(48_000.0) }).unwrap();
                let mut unheard = 0;
                ear.push(&samples, |reading| {
                    let due = (4_800..9_000).contains(&reading.known);
                    unheard +=
                        usize::from(due && reading.hz.is_none_or(|heard| cents(heard, hz).abs() > 3.0));
                });
                assert_eq!(unheard, 0, "readings off {hz} Hz of {low_hz} to {high_hz} Hz, {amplitudes:?}");
            }
        }
    }
}

/// A note that glides beside a steady neighbour 12 dB down and among a little noise.
fn beside_a_neighbour(hz: f64, ratio: f64, glides: f64) -> Vec<f32> {
    let rate = 48_000.0;
    let mut noise = Noise(3);
    let (mut turns, mut other) = (0.0, 0.0);
    (0..33_600)
        .map(|n| {
            let t = f64::from(n) / rate - 0.05;
            let open = (t / 0.010).min((0.6 - t) / 0.010).clamp(0.0, 1.0);
            let bent = ((t - 0.25) / 0.1).clamp(0.0, 1.0);
            turns += hz * (glides * bent / 12.0).exp2() / rate;
            other += hz * ratio / rate;
            let reed = |turns: f64| {
                let wave = |(a, h): (&f64, u32)| a * (std::f64::consts::TAU * turns * f64::from(h)).sin();
                REED.iter().zip(1..).map(wave).sum::<f64>()
            };
            (0.1 * open * (reed(turns) + 0.25 * reed(other)) + 0.002 * noise.next()) as f32
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn within_a_note_no_reading_is_about_an_earlier_time_than_the_last(
        (octave, semitones, glides) in (0.0..4.5_f64, 3_u32..5, -2.0..0.5_f64),
    ) {
        let hz = 90.0 * octave.exp2();
        let all = readings(48_000.0, &beside_a_neighbour(hz, (f64::from(semitones) / 12.0).exp2(), glides));
        for two in all.windows(2) {
            let one_note = two[0].hz.is_some() && two[1].hz.is_some() && !two[1].onset;
            prop_assert!(!one_note || two[0].time <= two[1].time, "{hz} Hz: {:?} then {:?}", two[0], two[1]);
        }
    }
}
