//! When a note was attacked, from levels that follow from an amplitude whose beginning the test knows.
//!
//! That an onset is where the level passes 20 dB below the held one is the convention of `scoring`; everything else
//! here is arithmetic: the level of a reading is the mean power of the 10 ms before it.

use crate::divided::{HOP, RATE, notes_of};
use pitch::Reading;

/// The ear takes a level over this stretch, seconds.
const LEVEL_S: f64 = 0.010;

/// The level that is read at a moment, dBFS, of a sound whose power against a full-scale sine is known at each moment.
fn level_db(power: &dyn Fn(f64) -> f64, now_s: f64) -> f64 {
    let steps = 400;
    let at = |step: u32| now_s - LEVEL_S * (f64::from(step) + 0.5) / f64::from(steps);
    10.0 * ((0..steps).map(|step| power(at(step))).sum::<f64>() / f64::from(steps)).log10()
}

/// When the notes began that are divided from 4 draw of a C harp with this power, seconds. A pitch is told where
/// `sounds` says so.
fn attacks(seconds: f64, power: &dyn Fn(f64) -> f64, sounds: &dyn Fn(f64) -> bool) -> Vec<f64> {
    let readings = (0..(seconds * RATE) as u64 / HOP).map(|number| {
        let now = number * HOP;
        let now_s = now as f64 / RATE;
        Reading {
            time: now,
            known: now,
            hz: sounds(now_s).then_some(587.33),
            sigma_cents: 0.5,
            clarity: 0.95,
            level_dbfs: level_db(power, now_s) as f32,
            onset: false,
        }
    });
    notes_of(readings).iter().map(|note| note.began as f64 / RATE).collect()
}

fn decibels(db: f64) -> f64 {
    10_f64.powf(db / 10.0)
}

/// The power of an amplitude that grows along a line within so many seconds to that of `held_db`.
fn rising(since_s: f64, within_s: f64, held_db: f64) -> f64 {
    (since_s / within_s).clamp(0.0, 1.0).powi(2) * decibels(held_db)
}

#[test]
fn a_note_out_of_silence_begins_where_its_level_passes_20_db_below_the_held_one() {
    let noise = decibels(-75.0);
    for (held_db, within_s) in [(-20.0, 0.01), (-20.0, 0.02), (-35.0, 0.02), (-20.0, 0.035)] {
        let power = |t: f64| noise + rising(t - 0.3, within_s, held_db);
        // A tenth of the amplitude is reached after a tenth of the rise; the ear finds the pitch later.
        let truth = 0.3 + within_s / 10.0;
        let told = attacks(0.8, &power, &|t| t > 0.3 + within_s);
        assert_eq!(told.len(), 1, "{told:?}");
        assert!((told[0] - truth).abs() < 0.0015, "{held_db} {within_s}: {} for {truth}", told[0]);
    }
    // A level that grows by the same decibels in the same time passes it exactly there: from -70 to -20 dBFS in 50 ms.
    let power = |t: f64| decibels((-70.0 + 1000.0 * (t - 0.3)).clamp(-70.0, -20.0));
    let told = attacks(0.8, &power, &|t| t > 0.34);
    assert!((told[0] - 0.33).abs() < 0.0003, "{told:?}");
}

#[test]
fn noise_before_a_note_is_allowed_for() {
    // The noise is but 21 dB below the note: where both together pass -20 dB, the note alone is weaker.
    let power = |t: f64| decibels(-41.0) + rising(t - 0.3, 0.02, -20.0);
    let told = attacks(0.8, &power, &|t| t > 0.32);
    assert!((told[0] - 0.302).abs() < 0.002, "{told:?}");
}

#[test]
fn what_is_left_of_the_note_before_is_taken_off() {
    // The same note again: the first one dies away by 150 to 400 dB a second and is 4 to 16 dB below the second when
    // that begins. A decay along a line in decibels and a rise along a line in amplitude are what is assumed, so the
    // beginning is found nearly exactly; where the level alone passes 20 dB below the held one is up to 6 ms away.
    for (falls_db_per_s, left_db, within_s) in [
        (200.0, -14.0, 0.02),
        (150.0, -16.0, 0.03),
        (300.0, -10.0, 0.03),
        (250.0, -6.0, 0.03),
        (400.0, -8.0, 0.025),
        (300.0, -4.0, 0.02),
    ] {
        let released_s = 0.5 + left_db / falls_db_per_s;
        let first =
            |t: f64| rising(t - 0.1, 0.02, -20.0) * decibels(-falls_db_per_s * (t - released_s).max(0.0));
        let power = |t: f64| decibels(-80.0) + first(t) + rising(t - 0.5, within_s, -20.0);
        let told = attacks(1.0, &power, &|t| t > 0.12);
        let truth = 0.5 + within_s / 10.0;
        assert_eq!(told.len(), 2, "{told:?}");
        assert!((told[1] - truth).abs() < 0.000_15, "{falls_db_per_s} {left_db}: {} for {truth}", told[1]);
    }
}

#[test]
fn what_rises_by_less_than_an_attack_divides_no_note() {
    // A tremolo of the hand, 9 dB from bottom to top and seven times a second, rises by 3 dB in 15 ms at most.
    let tremolo = |t: f64| {
        rising(t - 0.1, 0.02, -20.0) * decibels(4.5 * (std::f64::consts::TAU * 7.0 * t).sin())
            + decibels(-80.0)
    };
    assert_eq!(attacks(1.5, &tremolo, &|t| t > 0.12).len(), 1);
    // A breath that swells by 12 dB in a quarter of a second.
    let swell = |t: f64| {
        rising(t - 0.1, 0.02, -26.0) * decibels((48.0 * (t - 0.4)).clamp(0.0, 12.0)) + decibels(-80.0)
    };
    assert_eq!(attacks(1.2, &swell, &|t| t > 0.12).len(), 1);
    // The tongue touches the reed: 8 dB down and up again within 40 ms.
    let touched = |t: f64| {
        let dip = 1.0 - ((t - 0.5).abs() / 0.02).min(1.0);
        rising(t - 0.1, 0.02, -20.0) * decibels(-12.0 * dip) + decibels(-80.0)
    };
    assert_eq!(attacks(1.0, &touched, &|t| t > 0.12).len(), 2);
}

#[test]
fn a_note_whose_level_tells_nothing_begins_with_its_first_reading() {
    // The level stays as it is: a slide out of a sound that the ear could not read.
    let told = attacks(0.6, &|_| decibels(-20.0), &|t| t >= 0.3);
    assert!((told[0] - 0.3).abs() < 0.0026, "{told:?}");
    // The level rose 80 ms before any pitch was read: so late the ear finds no note.
    let told = attacks(0.8, &|t| decibels(-80.0) + rising(t - 0.22, 0.01, -20.0), &|t| t >= 0.3);
    assert!((told[0] - 0.3).abs() < 0.0026, "{told:?}");
    // The level rose 200 ms before any pitch was read: that was not its attack.
    let told = attacks(0.8, &|t| decibels(-80.0) + rising(t - 0.1, 0.01, -20.0), &|t| t >= 0.3);
    assert!((told[0] - 0.3).abs() < 0.0026, "{told:?}");
}
