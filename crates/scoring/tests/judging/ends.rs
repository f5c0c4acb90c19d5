//! How a try begins and ends: the times that the documentation of `scoring` states, and the order in which readings
//! count.

use crate::takes::{HOP, RATE, Take, c_harp, judge, way};
use scoring::{Judge, Outcome, Target, Tolerance, Verdict, Why};

fn asked(target: &str, hold_s: f64) -> Target {
    Target { way: way(target), cents: 0.0, hold_s }
}

/// When the verdict on a take is given, seconds, and the verdict.
fn told(target: &str, hold_s: f64, take: impl Fn(Take) -> Take) -> (f64, Verdict) {
    let take = take(Take::at(&c_harp(), target)).rest(12.0);
    judge(&c_harp(), asked(target, hold_s), Tolerance::default(), &take).unwrap()
}

#[track_caller]
fn at(told: (f64, Verdict), seconds: f64, outcome: Outcome) {
    assert!((told.0 - seconds).abs() < 0.03, "{} for {seconds}", told.0);
    let same = std::mem::discriminant(&told.1.outcome) == std::mem::discriminant(&outcome);
    assert!(same, "{:?} for {outcome:?}", told.1.outcome);
}

#[test]
fn a_held_pitch_is_judged_when_it_has_been_held_long_enough() {
    // In tune: as long as asked. Wrong: a second at least. The natural note before a bend: a second more.
    at(told("-3'", 0.5, |t| t.rest(0.3).hold(3.0, 0.0)), 0.8, Outcome::Landed);
    at(told("-3'", 0.5, |t| t.rest(0.3).hold(3.0, 40.0)), 1.3, Outcome::Short(40.0));
    at(told("-3'", 2.0, |t| t.rest(0.3).hold(3.0, 40.0)), 2.3, Outcome::Short(40.0));
    at(told("-3'", 0.5, |t| t.rest(0.3).hold(3.0, 100.0)), 2.3, Outcome::Short(100.0));
    at(told("-3'", 2.0, |t| t.rest(0.3).hold(4.0, 100.0)), 3.3, Outcome::Short(100.0));
    // 35 cents below the natural note is no approach any more.
    at(told("-3'", 0.5, |t| t.rest(0.3).hold(3.0, 65.0)), 1.3, Outcome::Short(65.0));
    // A natural note has no approach.
    at(told("-3", 0.5, |t| t.rest(0.3).hold(3.0, 30.0)), 1.3, Outcome::Sharp(30.0));
}

#[test]
fn silence_ends_a_try_and_a_shorter_one_does_not() {
    at(told("-3'", 1.0, |t| t.rest(0.3).hold(0.6, 0.0)), 1.25, Outcome::TooBrief(0.6));
    // A breath of 0.24 s: the try goes on, and is judged by what comes after.
    at(told("-3'", 1.0, |t| t.hold(0.6, 0.0).rest(0.24).hold(1.2, 40.0)), 1.84, Outcome::Short(40.0));
    // Sounds of less than 0.1 s do not end a silence.
    let squeak = |t: Take| t.hold(0.6, 0.0).rest(0.2).hold(0.08, 900.0).rest(2.0);
    at(told("-3'", 1.0, squeak), 0.95, Outcome::TooBrief(0.6));
    // Over within 0.3 s and not in tune is too short to say; in tune it is too brief.
    assert_eq!(
        told("-3'", 1.0, |t| t.rest(0.5).hold(0.26, 40.0)).1.outcome,
        Outcome::CannotTell(Why::TooShort)
    );
    at(told("-3'", 1.0, |t| t.hold(0.26, 0.0)), 0.61, Outcome::TooBrief(0.26));
    at(told("-3'", 1.0, |t| t.hold(0.36, 40.0)), 0.71, Outcome::Short(40.0));
}

#[test]
fn of_a_try_that_is_let_go_what_was_in_tune_counts_before_what_was_longer() {
    let outcome = |take: fn(Take) -> Take| told("-3''", 2.0, take).1.outcome;
    // In tune for 0.4 s, then a wrong depth for 0.8 s.
    let right_first = outcome(|t| t.hold(0.4, 0.0).slide(0.05, 0.0, 60.0).hold(0.8, 60.0));
    assert!(matches!(right_first, Outcome::TooBrief(held) if (held - 0.4).abs() < 0.03), "{right_first:?}");
    // In tune in passing only, on the way down: nothing was held there.
    let passing = outcome(|t| t.slide(0.5, 200.0, -60.0).hold(0.8, -60.0));
    assert!(matches!(passing, Outcome::Past(cents) if (cents - 60.0).abs() < 1.0), "{passing:?}");
    // A wrong depth for 0.5 s after the natural note for 0.9: the depth was meant, and for 0.2 s it was not.
    let meant = outcome(|t| t.hold(0.9, 200.0).slide(0.05, 200.0, 60.0).hold(0.5, 60.0));
    assert!(matches!(meant, Outcome::Short(cents) if (cents - 60.0).abs() < 1.0), "{meant:?}");
    let not_meant = outcome(|t| t.hold(0.9, 200.0).slide(0.05, 200.0, 60.0).hold(0.2, 60.0));
    assert!(matches!(not_meant, Outcome::Short(cents) if (cents - 200.0).abs() < 1.0), "{not_meant:?}");
}

#[test]
fn wandering_and_waiting_come_to_an_end() {
    // A siren that never stays: 6 s more than the hold.
    for hold_s in [0.5, 2.0] {
        let siren = |t: Take| t.rest(0.3).curve(11.0, |t| Some(100.0 * (5.0 * t).sin()));
        at(told("-3'", hold_s, siren), 6.3 + hold_s, Outcome::Unsteady(0.0));
    }
    // Nothing at all for 10 s; the loudest sound of it is told.
    let click = |t: Take| {
        t.changed(|_, _| ())
            .rest(4.0)
            .changed(|index, reading| reading.level_dbfs = if index == 300 { -33.0 } else { -71.0 })
    };
    let (at_s, verdict) = told("-3'", 1.0, click);
    assert_eq!(verdict.outcome, Outcome::NotHeard(-33.0));
    assert!((at_s - 10.0).abs() < 0.01);
    // A sound of 0.1 s begins no try; a patient judge waits on.
    at(told("-3'", 1.0, |t| t.rest(5.0).hold(0.1, 0.0).rest(6.0)), 10.0, Outcome::NotHeard(0.0));
    let mut patient = Judge::new(&c_harp(), asked("-3'", 1.0), Tolerance::default(), RATE).unwrap().patient();
    assert!(
        Take::at(&c_harp(), "-3'")
            .rest(12.0)
            .readings()
            .iter()
            .all(|reading| patient.hear(reading).is_none())
    );
}

#[test]
fn a_sound_too_short_to_be_a_try_leaves_nothing_behind() {
    // Two wrong squeaks and the note: the try begins with the note.
    let take = Take::at(&c_harp(), "-3'")
        .rest(0.2)
        .hold(0.1, 60.0)
        .rest(0.3)
        .hold(0.1, 60.0)
        .rest(0.3)
        .hold(0.4, 0.0);
    let mut judge = Judge::new(&c_harp(), asked("-3'", 1.0), Tolerance::default(), RATE).unwrap();
    for reading in take.readings() {
        assert_eq!(judge.hear(reading), None);
    }
    let began = judge.began().unwrap();
    assert!((began as f64 / RATE - 1.0).abs() < 0.006, "{began}");
    assert!(judge.trace().cents().all(|cents| cents == Some(0.0)));
}

#[test]
fn a_reading_of_an_earlier_moment_changes_nothing() {
    // The windows of the ear differ in length: here each third reading describes a moment before the one that came
    // before it, and something else.
    let plain = Take::at(&c_harp(), "-3'").hold(2.0, 0.0);
    let mut judge = Judge::new(&c_harp(), asked("-3'", 1.0), Tolerance::default(), RATE).unwrap();
    let mut verdict = None;
    for (index, reading) in plain.readings().iter().enumerate().skip(20) {
        verdict = verdict.or(judge.hear(reading));
        if index % 3 == 0 {
            // Half a hop ago; and as long before the first reading as this one is behind it, and a quarter of a hop
            // more.
            for earlier in [reading.time - HOP / 2, (40 * HOP - HOP / 4).saturating_sub(reading.time)] {
                let wrong = pitch::Reading { time: earlier, hz: reading.hz.map(|hz| 1.2 * hz), ..*reading };
                verdict = verdict.or(judge.hear(&wrong));
                assert!(verdict.is_some() || judge.live().cents_off.is_none_or(|cents| cents.abs() < 1e-9));
            }
        }
    }
    let verdict = verdict.unwrap();
    assert_eq!(verdict.outcome, Outcome::Landed);
    assert!(verdict.figures.unwrap().cents_off.abs() < 1e-9);
    assert_eq!(judge.began(), Some(20 * HOP), "with the very first reading");
}

#[test]
fn the_target_is_reached_once_it_was_met_for_50_ms() {
    let reached = |take: Take| {
        let mut judge = Judge::new(&c_harp(), asked("-3'", 3.0), Tolerance::default(), RATE).unwrap();
        for reading in take.readings() {
            assert_eq!(judge.hear(reading), None);
        }
        judge.live().reached_s
    };
    let take = || Take::at(&c_harp(), "-3'").rest(0.4).hold(0.3, 90.0);
    // Passed through within 40 ms, twice; then met for good 0.55 s after the beginning.
    let passing = take().hold(0.04, 0.0).hold(0.1, 90.0).hold(0.04, 0.0).hold(0.07, 90.0);
    assert_eq!(reached(passing.clone()), None);
    let met = reached(passing.hold(0.3, 0.0)).unwrap();
    assert!((met - 0.55).abs() < 0.02, "{met}");
    // A dropout of the ear while it is met does not matter.
    let met = reached(take().hold(0.03, 0.0).rest(0.04).hold(0.03, 0.0)).unwrap();
    assert!((met - 0.3).abs() < 0.012, "{met}");
}

#[test]
fn a_note_that_was_near_is_told_from_one_that_was_not() {
    let near = |take: fn(Take) -> Take| told("-3'", 1.0, take).1.is_near();
    assert!(near(|t| t.hold(1.3, 0.0)) && near(|t| t.hold(1.3, 40.0)) && near(|t| t.hold(1.3, -40.0)));
    assert!(!near(|t| t.hold(1.3, 400.0)) && !near(|t| t.hold(0.6, 0.0)) && !near(|t| t.rest(1.0)));
}

#[test]
fn tolerances_include_their_edge_and_say_what_is_wrong_with_them() {
    // 10 and 25 cents up and back again by way of hertz.
    for (cents, within) in
        [(10.0, [true, true]), (10.01, [false, true]), (25.0, [false, true]), (25.01, [false, false])]
    {
        let hz = 440.0 * f64::exp2(cents / 1200.0);
        let there = layout::cents_between(440.0, hz);
        assert_eq!([Tolerance::USUAL.centred(there), Tolerance::USUAL.in_tune(there)], within, "{cents}");
        assert_eq!([Tolerance::USUAL.centred(-there), Tolerance::USUAL.in_tune(-there)], within, "-{cents}");
    }
    let rounded = 10.0 + 5e-7;
    assert!(Tolerance::USUAL.centred(rounded) && Tolerance::USUAL.in_tune(25.0 + 5e-7));
    let refused = Tolerance::new(26.0, 25.0).unwrap_err().to_string();
    assert!(refused.contains("26") && refused.contains("25") && refused.contains("1 to 50"), "{refused}");
}

#[test]
fn outcomes_have_one_word_everywhere_and_reasons_a_half_sentence() {
    let c5 = layout::Note::new(72).unwrap();
    let words = [
        (Outcome::Landed, "landed"),
        (Outcome::Short(40.0), "short"),
        (Outcome::Past(40.0), "past"),
        (Outcome::Flat(40.0), "flat"),
        (Outcome::Sharp(40.0), "sharp"),
        (Outcome::AnotherNote(c5, None), "another note"),
        (Outcome::TooBrief(0.4), "let go early"),
        (Outcome::Unsteady(60.0), "unsteady"),
        (Outcome::NotHeard(-60.0), "not heard"),
        (Outcome::CannotTell(Why::Unsure), "cannot tell"),
    ];
    for (outcome, word) in words {
        assert_eq!(outcome.word(), word);
        let verdict = Verdict { outcome, figures: None, between: None };
        assert_eq!(verdict.asks_again(), ["not heard", "cannot tell"].contains(&word), "{word}");
        // Of what may have been hidden only what landed is told.
        let hidden = if word == "landed" { outcome } else { Outcome::CannotTell(Why::Masked) };
        assert_eq!(verdict.hidden().outcome, hidden);
    }
    let reasons = [Why::SamplesLost, Why::TooShort, Why::Unsure, Why::Masked].map(Why::words);
    for (reason, says) in reasons.iter().zip(["lost", "too short", "noise", "loudspeaker"]) {
        assert!(reason.contains(says), "{reason}");
    }
}
