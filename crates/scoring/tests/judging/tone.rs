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
