//! What holds for every try.

use crate::takes::{RATE, Take, c_harp, judge, way};
use layout::{Technique, Way};
use pitch::Reading;
use proptest::prelude::*;
use scoring::{Figures, Judge, Outcome, Target, Tolerance, Verdict};

/// Any way to play a C harp.
fn any_way() -> impl Strategy<Value = Way> {
    let ways: Vec<Way> = c_harp().ways().collect();
    proptest::sample::select(ways)
}

fn target(way: Way) -> Target {
    Target { way, cents: 0.0, hold_s: 1.0 }
}

/// A take whose cents count from where `way` is in tune.
fn take_at(way: Way) -> Take {
    Take::at(&c_harp(), &layout::TabStyle::default().print(way))
}

fn verdict_on(way: Way, take: &Take) -> Verdict {
    judge(&c_harp(), target(way), Tolerance::default(), take).expect("a verdict").1
}

/// What has to be said of a note held this many cents off.
fn expected(way: Way, error: f64) -> Outcome {
    let off = error.abs();
    let deep = match way.technique {
        Technique::Overbend => error > 0.0,
        Technique::Natural | Technique::Bend(_) => error < 0.0,
    };
    match (way.technique, deep) {
        _ if off <= 25.0 => Outcome::Landed,
        (Technique::Natural, true) => Outcome::Flat(off),
        (Technique::Natural, false) => Outcome::Sharp(off),
        (_, true) => Outcome::Past(off),
        (_, false) => Outcome::Short(off),
    }
}

fn near(a: Outcome, b: Outcome) -> bool {
    match (a, b) {
        (Outcome::Short(a), Outcome::Short(b))
        | (Outcome::Past(a), Outcome::Past(b))
        | (Outcome::Flat(a), Outcome::Flat(b))
        | (Outcome::Sharp(a), Outcome::Sharp(b)) => (a - b).abs() < 3.0,
        (a, b) => a == b,
    }
}

/// An error of up to 60 cents, but not so near the tolerance that noise may decide.
fn error() -> impl Strategy<Value = f64> {
    (-60.0..60.0_f64).prop_filter("too near the edge", |error| (error.abs() - 25.0).abs() > 1.0)
}

/// A number of −1 to 1 that looks random but depends on the index only.
fn scatter(index: usize) -> f64 {
    let mixed = (index as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    f64::from((mixed >> 40) as u32) / f64::from(1 << 23) - 1.0
}

fn bent(reading: &mut Reading, cents: f64) {
    reading.hz = reading.hz.map(|hz| hz * (cents / 1200.0).exp2());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// The heart of it: landed if and only if within tolerance, else the right word and the right number.
    #[test]
    fn a_known_error_gets_its_verdict(way in any_way(), error in error(), slide_s in 0.05..0.6) {
        // An approach from half a step above or below, as the technique has it.
        let from = if way.technique == Technique::Overbend { -100.0 } else { 100.0 };
        let take = take_at(way).rest(0.3).slide(slide_s, from, error).hold(1.3, error).rest(1.0);
        let verdict = verdict_on(way, &take);
        prop_assert!(near(verdict.outcome, expected(way, error)), "{verdict:?}");
        let figures = verdict.figures.unwrap();
        prop_assert!((figures.cents_off - error).abs() < 0.5, "{figures:?}");
        prop_assert!((0.0..=slide_s + 0.02).contains(&figures.reach_s), "{figures:?}");
        if let Some(between) = verdict.between {
            prop_assert!((between.from_shallow_cents + between.from_deep_cents - 100.0).abs() < 0.01);
            prop_assert!(between.from_shallow_cents > 25.0 && between.from_deep_cents > 25.0);
        }
    }

    /// An imperfect ear: 4 cents of noise, one reading in 40 an octave low, one in 60 missing.
    #[test]
    fn an_imperfect_ear_gives_the_same_verdict(way in any_way(), error in error(), start in 0..10_000_usize) {
        let take = take_at(way).rest(0.3).hold(1.5, error).rest(1.0).changed(|index, reading| {
            bent(reading, 4.0 * scatter(start + index));
            if (start + index).is_multiple_of(40) {
                bent(reading, -1200.0);
            }
            if (start + index).is_multiple_of(60) {
                reading.hz = None;
            }
        });
        let verdict = verdict_on(way, &take);
        prop_assert!(near(verdict.outcome, expected(way, error)), "{verdict:?}");
        prop_assert!((verdict.figures.unwrap().cents_off - error).abs() < 1.0, "{verdict:?}");
    }

    /// Vibrato about a pitch is judged by that pitch.
    #[test]
    fn vibrato_is_judged_by_its_middle(error in error(), depth in 5.0..40.0, hz in 4.0..7.0) {
        let way = way("-2");
        prop_assume!((error.abs() - 25.0).abs() > 3.0);
        let verdict = verdict_on(way, &take_at(way).vibrato(3.0, error, depth, hz).rest(1.0));
        prop_assert!(near(verdict.outcome, expected(way, error)), "{verdict:?}");
        prop_assert!((verdict.figures.unwrap().cents_off - error).abs() < 3.0, "{verdict:?}");
    }

    /// Time is relative, and what is heard more often is not heard otherwise.
    #[test]
    fn clock_and_hop_do_not_matter(error in error(), origin in any::<u32>(), rate in 16_000.0..192_000.0_f64) {
        let way = way("-3''");
        let take = take_at(way).rest(0.2).slide(0.3, 200.0, error).hold(1.5, error).rest(1.0);
        let plain = verdict_on(way, &take);
        let later = take.clone().changed(|_, reading| reading.time += u64::from(origin) << 16);
        prop_assert_eq!(verdict_on(way, &later), plain);
        let sparse = verdict_on(way, &take.clone().every(2));
        prop_assert!(near(sparse.outcome, plain.outcome), "{sparse:?} {plain:?}");
        let scaled = take.changed(|_, reading| {
            reading.time = (reading.time as f64 * (rate / RATE)).round() as u64;
        });
        let mut judge = Judge::new(&c_harp(), target(way), Tolerance::default(), rate).unwrap();
        let elsewhere = scaled.readings().iter().find_map(|reading| judge.hear(reading)).unwrap();
        prop_assert!(near(elsewhere.outcome, plain.outcome), "{elsewhere:?} {plain:?}");
    }

    /// Whatever is heard, the judge neither panics nor says what is no number.
    #[test]
    fn nonsense_does_no_harm(readings in nonsense(), hold_s in any::<f64>(), cents in -50.0..50.0) {
        let asked = Target { way: way("-3'"), cents, hold_s };
        let Some(mut judge) = Judge::new(&c_harp(), asked, Tolerance::default(), RATE) else {
            prop_assert!(hold_s.is_nan());
            return Ok(());
        };
        let mut verdicts = 0;
        for reading in &readings {
            let verdict = judge.hear(reading);
            let live = judge.live();
            prop_assert!(live.held_s.is_finite() && live.cents_off.is_none_or(f64::is_finite));
            if let Some(Verdict { outcome, figures, .. }) = verdict {
                // After its verdict a judge is deaf, also to a clock that starts anew.
                verdicts += usize::from(!matches!(outcome, Outcome::CannotTell(_)));
                prop_assert!(figures.is_none_or(is_finite), "{figures:?}");
            }
        }
        prop_assert!(verdicts <= 1);
    }

    /// A try ends, and with it what has to be remembered.
    #[test]
    fn no_sound_goes_on_for_ever(centre in -300.0..300.0, depth in 0.0..400.0, hz in 0.05..10.0) {
        let way = way("-3''");
        let take = take_at(way).vibrato(12.0, centre, depth, hz);
        let (at, _) = judge(&c_harp(), target(way), Tolerance::default(), &take).expect("a verdict");
        prop_assert!(at <= 7.1, "{at}");
    }
}

fn is_finite(f: Figures) -> bool {
    let all = [
        f.cents_off,
        f.depth_semitones,
        f.reach_s,
        f.held_s,
        f.spread_cents,
        f.drift_cents_per_s,
        f.overshoot_cents,
    ];
    all.into_iter().all(f64::is_finite)
}

/// Readings with times that jump and pitches that are none, among sensible ones.
fn nonsense() -> impl Strategy<Value = Vec<Reading>> {
    let hz = prop_oneof![
        4 => (100.0..2000.0_f64).prop_map(Some),
        2 => Just(None),
        1 => any::<f64>().prop_map(Some),
        1 => proptest::sample::select(vec![Some(f64::NAN), Some(f64::INFINITY), Some(0.0), Some(-440.0)]),
    ];
    let step = prop_oneof![20 => 0..5000_u64, 2 => Just(0), 1 => any::<u64>()];
    let runs = proptest::collection::vec((hz, step, 1..200_usize), 0..40);
    runs.prop_map(|runs| {
        let mut time = 0_u64;
        let mut readings = Vec::new();
        for (hz, step, count) in runs {
            for _ in 0..count {
                // Wrapping on purpose: a clock that starts anew.
                time = time.wrapping_add(step);
                let (sigma_cents, clarity, level_dbfs) = (f32::NAN, f32::NAN, f32::NEG_INFINITY);
                readings.push(Reading {
                    time,
                    known: time,
                    hz,
                    sigma_cents,
                    clarity,
                    level_dbfs,
                    onset: false,
                });
            }
        }
        readings
    })
}
