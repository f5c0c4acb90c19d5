//! The level meter against sines of known level (AES17-2020, 3.12: a full-scale sine reads 0 dB FS r.m.s.).

use sound::{Level, LevelReading, Loudness};

fn level_of(amplitude: f64) -> LevelReading {
    let mut level = Level::new(48_000.0);
    let sine: Vec<f32> = (0..9_600)
        .map(|n| (amplitude * (f64::from(n) * std::f64::consts::TAU * 440.0 / 48_000.0).sin()) as f32)
        .collect();
    level.push(&sine);
    level.reading()
}

#[test]
fn a_sine_reads_its_amplitude_in_decibels_for_peak_and_rms_alike() {
    for db in [-60.0, -30.0, -6.0, -1.0] {
        let reading = level_of(10f64.powf(db / 20.0));
        assert!((f64::from(reading.peak_dbfs) - db).abs() < 0.05, "{reading:?} for {db} dB");
        assert!((f64::from(reading.rms_dbfs) - db).abs() < 0.05, "{reading:?} for {db} dB");
    }
}

#[test]
fn levels_have_their_words() {
    let word = |db: f64| level_of(10f64.powf(db / 20.0)).loudness;
    assert_eq!(Level::new(48_000.0).reading().loudness, Loudness::Silent);
    assert_eq!(word(-80.0), Loudness::Silent);
    assert_eq!(word(-55.0), Loudness::TooQuiet);
    assert_eq!(word(-20.0), Loudness::Good);
    assert_eq!(word(-1.0), Loudness::Loud);
    assert_eq!(word(0.0), Loudness::Clipping);
    assert_eq!(Loudness::TooQuiet.to_string(), "too quiet");
}

#[test]
fn only_the_last_tenth_of_a_second_counts() {
    let mut level = Level::new(48_000.0);
    level.push(&vec![1.0; 4_800]);
    assert_eq!(level.reading().loudness, Loudness::Clipping);
    level.push(&vec![0.0; 4_800]);
    let reading = level.reading();
    assert_eq!((reading.loudness, reading.peak_dbfs, reading.rms_dbfs), (Loudness::Silent, -120.0, -120.0));
}
