//! What is told of a held note beside its pitch.

use crate::takes::{RATE, Take, c_harp, way};
use scoring::{Figures, Judge, Target, Tolerance};

/// What was measured of a try at 4 draw.
fn judged(hold_s: f64, take: &Take) -> Figures {
    let target = Target { way: way("-4"), cents: 0.0, hold_s };
    let mut judge = Judge::new(&c_harp(), target, Tolerance::default(), RATE).unwrap();
    take.readings().iter().find_map(|reading| judge.hear(reading)).unwrap().figures.unwrap()
}

#[test]
fn rate_and_depth_of_a_vibrato_are_told_and_nothing_else_is_called_one() {
    let figures = |curve: &dyn Fn(f64) -> f64| {
        let take = Take::at(&c_harp(), "-4").curve(4.0, |t| Some(curve(t))).rest(0.6);
        judged(3.0, &take)
    };
    for (rate, depth) in [(4.0, 12.0), (5.5, 30.0), (6.5, 20.0)] {
        let told = figures(&|t| depth * (std::f64::consts::TAU * rate * t).sin()).vibrato.unwrap();
        assert!((told.rate_hz - rate).abs() < 0.15, "{rate}: {told:?}");
        assert!((told.depth_cents - depth).abs() < 2.0, "{depth}: {told:?}");
    }
    // Steady, drifting, too shallow, and moving without a rhythm.
    assert_eq!(figures(&|_| 3.0).vibrato, None);
    assert_eq!(figures(&|t| 4.0 * t).vibrato, None);
    assert_eq!(figures(&|t| 4.0 * (33.0 * t).sin()).vibrato, None);
    assert_eq!(figures(&|t| 12.0 * (9.0 * t * t).sin()).vibrato, None);
}

#[test]
fn an_even_breath_and_a_clear_tone_are_told_in_decibels() {
    let take = Take::at(&c_harp(), "-4").hold(1.5, 0.0).rest(0.6);
    let figures = judged(1.0, &take);
    assert_eq!(figures.level_spread_db, 0.0);
    // An autocorrelation of 0.99 is 10 lg 99 = 19.96 dB (Boersma 1993).
    assert!((figures.hnr_db - 19.96).abs() < 0.01, "{}", figures.hnr_db);
}

#[test]
fn a_vibrato_is_told_about_a_note_that_drifts_and_is_off() {
    // 15 cents to either side, five times a second, of a note that is 12 cents sharp and sinks by 10 cents a second.
    let curve = |t: f64| 12.0 - 10.0 * (t - 1.5) + 15.0 * (std::f64::consts::TAU * 5.0 * t).sin();
    for rest_s in [0.0, 2.0] {
        let take = Take::at(&c_harp(), "-4").rest(rest_s).curve(4.0, |t| Some(curve(t))).rest(0.6);
        let told = judged(3.0, &take).vibrato.unwrap();
        assert!((told.rate_hz - 5.0).abs() < 0.1 && (told.depth_cents - 15.0).abs() < 1.5, "{told:?}");
    }
}

#[test]
fn three_swings_are_a_vibrato_and_fewer_are_none() {
    // The first half swing has no beginning: what is counted lies between one change of side and the next.
    let swings = |count: f64| {
        let take = Take::at(&c_harp(), "-4")
            .hold(0.4, 0.0)
            .curve(count / 5.0, |t| Some(25.0 * (std::f64::consts::TAU * 5.0 * t).sin()))
            .rest(0.6);
        judged(3.0, &take).vibrato.is_some()
    };
    assert_eq!([2.0, 3.0, 3.5, 4.0, 5.0].map(swings), [false, false, false, true, true]);
    // Faster than ten times a second is a flutter, and slower than twice a drift.
    let rate = |hz: f64| {
        let curve = move |t: f64| Some(20.0 * (std::f64::consts::TAU * hz * t).sin());
        judged(4.0, &Take::at(&c_harp(), "-4").curve(4.5, curve).rest(0.6)).vibrato.is_some()
    };
    assert_eq!([1.6, 2.4, 9.0, 11.5].map(rate), [false, true, true, false]);
}

#[test]
fn swings_that_last_differently_are_no_vibrato() {
    // Half swings of 60 and 180 ms in turn: they stray from their mean of 120 by half of it. Of 100 and 140 they stray
    // by a sixth.
    let uneven = |short_s: f64, long_s: f64| {
        let curve = move |t: f64| Some(if t % (short_s + long_s) < short_s { 12.0 } else { -12.0 });
        judged(3.0, &Take::at(&c_harp(), "-4").curve(4.0, curve).rest(0.6)).vibrato
    };
    assert_eq!(uneven(0.06, 0.18), None);
    let told = uneven(0.1, 0.14).unwrap();
    assert!((told.rate_hz - 1.0 / 0.24).abs() < 0.1, "{told:?}");
    // A reading that wavers across the middle by a tenth of the depth is no swing.
    let wavers = |t: f64| {
        let slow = 20.0 * (std::f64::consts::TAU * 4.0 * t).sin();
        Some(slow + 2.0 * (std::f64::consts::TAU * 90.0 * t).sin())
    };
    let told = judged(3.0, &Take::at(&c_harp(), "-4").curve(4.0, wavers).rest(0.6)).vibrato.unwrap();
    assert!((told.rate_hz - 4.0).abs() < 0.1, "{told:?}");
}

#[test]
fn an_uneven_breath_and_a_noisy_tone_are_told_in_decibels() {
    // A level that swings by 3 dB to either side: of a sine the 84th percentile lies at sin(0.34 π) = 0.876 of it.
    let take = Take::at(&c_harp(), "-4").hold(1.5, 0.0).rest(0.6).changed(|_, reading| {
        let t = reading.time as f64 / RATE;
        reading.level_dbfs += 3.0 * (std::f64::consts::TAU * 6.0 * t).sin() as f32;
    });
    let told = judged(1.0, &take);
    assert!((told.level_spread_db - 3.0 * 0.876).abs() < 0.1, "{told:?}");
    // An autocorrelation of a half is as much noise as tone, 0 dB; ratios without noise or without tone stop at 60 dB.
    for (clarity, hnr_db) in [(0.5, 0.0), (1.0, 60.0), (0.0, -60.0)] {
        let take = Take::at(&c_harp(), "-4").hold(1.5, 0.0).changed(|_, reading| reading.clarity = clarity);
        let told = judged(1.0, &take).hnr_db;
        assert!((told - hnr_db).abs() < 0.01, "{clarity}: {told}");
    }
}
