//! The reference tone: exact, soft at both ends, never loud.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use common::{RATE, cents, dbfs, fitted_hz, power_at};
use proptest::prelude::*;
use synth::Tone;

fn rendered(tone: &mut Tone, samples: usize, block: usize) -> Vec<f32> {
    let mut sound = vec![0.0; samples];
    sound.chunks_mut(block).for_each(|block| tone.fill(block));
    sound
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn pitch_and_level_are_exact(
        hz in 80.0..3500.0f64, level in -60.0..-12.0f64, block in 1usize..999,
        rate in prop::sample::select(vec![8_000.0, 44_100.0, 96_000.0]),
    ) {
        let sound = rendered(&mut Tone::new(hz, rate).unwrap().level(level).unwrap(), rate as usize, block);
        let steady = &sound[(rate * 0.1) as usize..];
        prop_assert!(cents(hz, fitted_hz(steady, hz, rate)).abs() < 0.01);
        prop_assert!((dbfs(steady) - level).abs() < 0.1);
        let same = rendered(&mut Tone::new(hz, rate).unwrap().level(level).unwrap(), rate as usize, 4096);
        prop_assert!(sound == same);
    }
}

/// Three times this pitch folds back beside the pitch itself, which the fit once took for a part of the tone.
#[test]
fn a_tone_near_a_quarter_of_the_rate_is_exact() {
    let (hz, rate) = (1_999.226_397_716_503, 8_000.0);
    let sound = rendered(&mut Tone::new(hz, rate).unwrap(), 8_000, 480);
    assert!(cents(hz, fitted_hz(&sound[800..], hz, rate)).abs() < 0.01);
}

#[test]
fn loudest_tone_stays_far_from_full_scale() {
    for hz in [100.0, 440.0, 1500.0, 3000.0] {
        let mut tone = Tone::new(hz, RATE).unwrap().level(Tone::LOUDEST_DBFS).unwrap();
        let peak = rendered(&mut tone, 48_000, 480).iter().fold(0f32, |m, x| m.max(x.abs()));
        assert!(peak < 0.5, "{hz} Hz peaks at {peak}");
    }
    assert!((dbfs(&rendered(&mut Tone::new(440.0, RATE).unwrap(), 48_000, 480)[4800..]) + 20.0).abs() < 0.1);
}

#[test]
fn finish_fades_out_and_then_stays_silent() {
    let mut tone = Tone::new(440.0, RATE).unwrap();
    assert!(!tone.is_done());
    let before = rendered(&mut tone, 24_000, 480);
    assert!(dbfs(&before[..96]) < -45.0, "no soft beginning");
    tone.finish();
    let fading = rendered(&mut tone, 5760, 480);
    assert!(dbfs(&fading[..480]) > -24.0 && dbfs(&fading[5660..]) < -60.0);
    assert!(tone.is_done());
    assert!(rendered(&mut tone, 480, 480).iter().all(|x| *x == 0.0));
}

#[test]
fn lasting_tone_ends_by_itself() {
    let mut tone = Tone::new(440.0, RATE).unwrap().lasting(0.5);
    let sound = rendered(&mut tone, 48_000, 480);
    assert!(tone.is_done());
    assert!(dbfs(&sound[22_000..24_000]) > -21.0);
    assert!(sound[24_000 + 5_760..].iter().all(|x| *x == 0.0));
}

#[test]
fn partials_stop_below_half_the_rate() {
    let sound = rendered(&mut Tone::new(3000.0, 8_000.0).unwrap(), 8_000, 480);
    // Twice 3000 Hz would fold back to 2000 Hz.
    assert!(power_at(&sound[1000..], 2000.0, 8_000.0) < 1e-9);
}
