//! What is measured of the held part of a try, on pitch curves whose figures follow from how they are made.

use crate::takes::{RATE, Take, c_harp, judge, way};
use scoring::{Figures, Judge, Outcome, Target, Tolerance, Verdict, Why};
use std::f64::consts::TAU;

/// What is said of a take that is asked to be held for so long.
fn verdict(target: &str, hold_s: f64, take: impl Fn(Take) -> Take) -> Verdict {
    let asked = Target { way: way(target), cents: 0.0, hold_s };
    let take = take(Take::at(&c_harp(), target)).rest(1.0);
    judge(&c_harp(), asked, Tolerance::default(), &take).unwrap().1
}

fn figures(target: &str, hold_s: f64, take: impl Fn(Take) -> Take) -> Figures {
    verdict(target, hold_s, take).figures.unwrap()
}

#[test]
fn the_held_part_reaches_to_the_ends_of_a_note_that_swings_or_drifts() {
    // Ten swings and a quarter of 29 cents to either side: the last one ends where it is highest, and belongs to the
    // note.
    let swings = figures("-2", 3.0, |t| t.rest(0.4).vibrato(10.25 / 5.5, 0.0, 29.0, 5.5));
    assert!((swings.held_s - 10.25 / 5.5).abs() < 0.008 && swings.reach_s < 0.001, "{swings:?}");
    // A steady one that is elsewhere for 50 ms in its middle is still where it is for the rest.
    let blip = figures("-2", 2.0, |t| t.hold(0.5, 3.0).hold(0.05, 80.0).hold(0.6, 3.0));
    assert!((blip.cents_off - 3.0).abs() < 1e-6 && (blip.held_s - 1.15).abs() < 0.012, "{blip:?}");
    // A note that sinks by 45 cents in one and a half seconds.
    let sinks = figures("-2", 3.0, |t| t.rest(0.4).slide(1.5, 22.5, -22.5));
    assert!((sinks.held_s - 1.5).abs() < 0.012 && sinks.reach_s < 0.001, "{sinks:?}");
    assert!((sinks.drift_cents_per_s + 30.0).abs() < 0.1, "{sinks:?}");
    // Of a steady one what is 20 cents off is the way into it: it comes near, leaves and comes back for good after 0.12
    // s.
    let wavers = figures("-2", 2.0, |t| t.rest(0.3).hold(0.06, 0.0).hold(0.06, 20.0).hold(1.0, 0.0));
    assert!((wavers.reach_s - 0.12).abs() < 0.006 && (wavers.held_s - 1.0).abs() < 0.012, "{wavers:?}");
}

#[test]
fn the_middle_of_a_vibrato_does_not_hang_on_where_it_is_cut_off() {
    // The plain mean of 8.8 swings of 30 cents is off by 30 (1 - cos 0.8·2π) / (8.8·2π) = 0.4 cents, and a straight
    // line through them by more.
    for (rest_s, error) in [(0.0, 0.0), (0.7, 9.0), (2.0, -14.0)] {
        let told = figures("-2", 1.5, |t| t.rest(rest_s).vibrato(1.6, error, 30.0, 5.5));
        assert!((told.cents_off - error).abs() < 0.3, "{error}: {told:?}");
        assert!(told.drift_cents_per_s.abs() < 5.0, "{told:?}");
    }
    // An ear that loses every other reading above the middle: each reading stands for the time around it.
    let told = figures("-2", 1.5, |t| {
        t.vibrato(1.0, 0.0, 30.0, 5.5).changed(|index, reading| {
            let above = (TAU * 5.5 * reading.time as f64 / RATE).sin() > 0.0;
            reading.hz = reading.hz.filter(|_| !above || index % 2 == 0);
        })
    });
    assert!(told.cents_off.abs() < 1.0, "{told:?}");
}

#[test]
fn the_line_through_a_drifting_note_is_exact_however_few_readings_there_are() {
    // Readings that come at odd times, up to 64 ms apart, of a pitch that rises by 20 cents a second.
    let told = figures("-4", 2.0, |t| {
        t.rest(0.3).slide(0.8, -8.0, 8.0).changed(|index, reading| {
            let kept = [0, 9, 13, 25, 28, 40].contains(&(index % 43));
            reading.hz = reading.hz.filter(|_| kept);
        })
    });
    assert!((told.drift_cents_per_s - 20.0).abs() < 1e-6, "{told:?}");
}

#[test]
fn overshoot_is_how_far_beyond_the_held_pitch_the_approach_went() {
    // A bend is overshot downwards: 70 cents below where it is then held, 15 cents sharp.
    let too_deep =
        |t: Take| t.hold(0.1, 100.0).slide(0.2, 100.0, -55.0).slide(0.15, -55.0, 15.0).hold(1.2, 15.0);
    assert!((figures("-3'", 1.0, too_deep).overshoot_cents - 70.0).abs() < 4.0);
    // A natural note and an overbend are overshot upwards, and what lies below is only the way.
    for target in ["-4", "6o"] {
        let above = |t: Take| t.slide(0.2, -50.0, 50.0).slide(0.15, 50.0, -10.0).hold(1.2, -10.0);
        assert!((figures(target, 1.0, above).overshoot_cents - 60.0).abs() < 4.0, "{target}");
        let below = |t: Take| t.slide(0.2, 10.0, -50.0).slide(0.15, -50.0, 0.0).hold(1.2, 0.0);
        assert!(figures(target, 1.0, below).overshoot_cents < 11.0, "{target}");
    }
    // What sinks at the end, when it is let go, comes after the held part.
    let let_go = |t: Take| t.hold(1.0, 0.0).slide(0.08, 0.0, -60.0);
    assert_eq!(figures("-3'", 2.0, let_go).overshoot_cents, 0.0);
    // The same where the note drifts, long after the judge began to listen and at once.
    for rest_s in [0.0, 3.0] {
        let drifts = |t: Take| {
            t.rest(rest_s).slide(0.2, 100.0, -70.0).slide(0.15, -70.0, 10.0).slide(1.2, 10.0, -10.0)
        };
        let told = figures("-3'", 2.0, drifts);
        assert!((told.overshoot_cents - 70.0).abs() < 6.0 && (0.28..0.4).contains(&told.reach_s), "{told:?}");
        let little = |t: Take| {
            t.rest(rest_s)
                .slide(0.2, 100.0, -25.0)
                .hold(0.06, -25.0)
                .slide(0.1, -25.0, 10.0)
                .slide(1.2, 10.0, -10.0)
        };
        let told = figures("-3'", 2.0, little);
        assert!((told.overshoot_cents - 25.0).abs() < 3.0, "{told:?}");
    }
}

#[test]
fn a_pitch_of_which_the_ear_is_less_sure_than_the_tolerance_is_wide_is_not_judged() {
    let with = |sigma_cents: f32, error: f64| {
        verdict("-4", 1.0, |t| t.hold(1.3, error).changed(|_, reading| reading.sigma_cents = sigma_cents))
    };
    assert_eq!(with(26.0, 40.0).outcome, Outcome::CannotTell(Why::Unsure));
    assert_eq!(with(26.0, 0.0).outcome, Outcome::CannotTell(Why::Unsure));
    assert!((with(24.0, 0.0).figures.unwrap().sigma_cents - 24.0).abs() < 1e-9);
    assert_eq!(with(24.0, 0.0).outcome, Outcome::Landed);
    // The middle one of its readings counts: two fifths of them that are bad spoil nothing.
    let at_times = verdict("-4", 1.0, |t| {
        t.hold(1.3, 0.0)
            .changed(|index, reading| reading.sigma_cents = if index % 5 < 2 { 300.0 } else { 2.0 })
    });
    assert_eq!(at_times.outcome, Outcome::Landed);
}

#[test]
fn a_note_in_tune_has_no_depth_below_its_reed_and_none_of_minus_nought() {
    let told = figures("-4", 1.0, |t| t.hold(1.3, 0.0));
    assert!(told.depth_semitones == 0.0 && told.depth_semitones.is_sign_positive(), "{told:?}");
}

#[test]
fn the_judge_listens_an_octave_around_the_harp_and_no_further() {
    // The lowest reed of a C harp is C4, the highest C7: 261.6 and 2093 Hz. Mains hum of 100 Hz and a whistle at 4.5
    // kHz are none of it.
    let judge =
        Judge::new(&c_harp(), Target { way: way("-4"), cents: 0.0, hold_s: 1.0 }, Tolerance::default(), RATE)
            .unwrap();
    let hears = |hz: f64| {
        let mut reading = Take::at(&c_harp(), "-4").hold(0.01, 0.0).readings()[0];
        reading.hz = Some(hz);
        judge.cents_off(&reading).is_some()
    };
    assert_eq!(
        [100.0, 128.0, 133.0, 262.0, 4_150.0, 4_250.0].map(hears),
        [false, false, true, true, true, false]
    );
    let in_span = |cents: f64| judge.in_span(&Take::at(&c_harp(), "-4").hold(0.01, cents).readings()[0]);
    // 4 draw bends by a half step; 65 cents beyond either end still are a miss at it.
    assert_eq!([-170.0, -160.0, 0.0, 60.0, 70.0].map(in_span), [false, true, true, true, false]);
}

#[test]
fn the_curve_of_a_try_begins_with_its_first_sound() {
    let take = Take::at(&c_harp(), "-4").rest(0.5).slide(0.4, -20.0, 0.0).hold(0.4, 0.0);
    let asked = Target { way: way("-4"), cents: 0.0, hold_s: 5.0 };
    let mut judge = Judge::new(&c_harp(), asked, Tolerance::default(), RATE).unwrap();
    for reading in take.readings() {
        judge.hear(reading);
    }
    let curve: Vec<Option<f64>> = judge.trace().cents().collect();
    // 0.8 s in steps of 20 ms; the slide rises by a cent in each of them.
    assert!((39..=41).contains(&curve.len()), "{}", curve.len());
    assert!((curve[10].unwrap() + 9.2).abs() < 0.6 && curve[30] == Some(0.0), "{curve:?}");
}
