//! Single tries with known errors: what was played is written down, and so is what has to be said about it.
//!
//! The harp layout behind the names of other notes is OEIS A291810 (see `layout`); the tolerances are those of
//! [`Tolerance`]. That slides, pops and clicks are no mistakes is common practice, no source.

use crate::takes::{Take, c_harp, judge, way};
use layout::{Breath, Harp, HarpKey, Note, ReedCents, Technique, Way};
use scoring::{Outcome, Target, Tolerance, Verdict, Why};

/// Plays `take` at `target` with a hold of one second; the outcome has to be `expected`, numbers within `within`.
#[track_caller]
fn check(target: &str, take: impl Fn(Take) -> Take, expected: Outcome) -> Verdict {
    let harp = c_harp();
    let verdict = verdict_on(&harp, target, take);
    assert!(alike(verdict.outcome, expected, 1.0), "{target}: expected {expected:?}, got {verdict:?}");
    verdict
}

#[track_caller]
fn verdict_on(harp: &Harp, target: &str, take: impl Fn(Take) -> Take) -> Verdict {
    let asked = Target { way: way(target), cents: 0.0, hold_s: 1.0 };
    let take = take(Take::at(harp, target)).rest(11.0);
    judge(harp, asked, Tolerance::default(), &take).expect("a verdict").1
}

fn alike(a: Outcome, b: Outcome, within: f64) -> bool {
    use Outcome::{Flat, Past, Sharp, Short, TooBrief, Unsteady};
    match (a, b) {
        (Short(a), Short(b)) | (Past(a), Past(b)) | (Flat(a), Flat(b)) | (Sharp(a), Sharp(b)) => {
            (a - b).abs() <= within
        }
        (TooBrief(a), TooBrief(b)) => (a - b).abs() <= 0.03,
        (Unsteady(a), Unsteady(b)) => (a - b).abs() <= 10.0,
        (a, b) => a == b,
    }
}

fn note(name: &str) -> Note {
    name.parse().unwrap()
}

#[test]
fn held_notes_get_their_cents() {
    // Tries, each with a known error.
    for (target, error, expected) in [
        ("-3", -12.0, Outcome::Landed),
        ("-3", 60.0, Outcome::Sharp(60.0)),
        ("-3", -60.0, Outcome::Flat(60.0)),
        ("-3'", 31.0, Outcome::Short(31.0)),
        ("-3''", -18.0, Outcome::Landed),
        ("-3'''", -60.0, Outcome::Past(60.0)),
        ("-3'''", 60.0, Outcome::Short(60.0)),
        ("-2'", -27.0, Outcome::Past(27.0)),
        ("-2''", 24.0, Outcome::Landed),
        ("-1'", -60.0, Outcome::Past(60.0)),
        ("-4'", 60.0, Outcome::Short(60.0)),
        ("-6'", 7.0, Outcome::Landed),
        ("8'", 45.0, Outcome::Short(45.0)),
        ("10'", -33.0, Outcome::Past(33.0)),
        ("10''", 60.0, Outcome::Short(60.0)),
        ("6o", -48.0, Outcome::Short(48.0)),
        ("6o", 52.0, Outcome::Past(52.0)),
        ("-9o", 60.0, Outcome::Past(60.0)),
    ] {
        let verdict = check(target, |take| take.rest(0.5).hold(1.3, error), expected);
        let figures = verdict.figures.unwrap();
        assert!((figures.cents_off - error).abs() < 0.01, "{target} {error}: {figures:?}");
        assert!(figures.drift_cents_per_s.abs() < 0.01 && figures.spread_cents < 0.01);
    }
}

#[test]
fn other_depths_of_the_same_hole_are_short_or_past() {
    for (target, played, expected) in [
        ("-3''", "-3'", Outcome::Short(100.0)),
        ("-3''", "-3'''", Outcome::Past(100.0)),
        ("-3'", "-3'''", Outcome::Past(200.0)),
        ("-3'''", "-3", Outcome::Short(300.0)),
        ("-2''", "-2", Outcome::Short(200.0)),
        ("10''", "10", Outcome::Short(200.0)),
        ("-3", "-3'", Outcome::Flat(100.0)),
        ("4o", "-4", Outcome::Short(100.0)),
    ] {
        let harp = c_harp();
        let cents = layout::cents_between(harp.hz(way(target)).unwrap(), harp.hz(way(played)).unwrap());
        check(target, |take| take.hold(3.0, cents), expected);
    }
}

#[test]
fn other_holes_are_another_note() {
    for (target, cents, name, simplest) in [
        // A hole too low: 2 draw rather than 3 blow, for the breath was draw.
        ("-3'''", -100.0, "G4", Some("-2")),
        ("-3'", 200.0, "C5", Some("4")),
        ("-4'", 200.0, "Eb5", Some("4o")),
        ("4", -100.0, "B4", Some("-3")),
        ("8'", 500.0, "Ab6", Some("-9o")),
        // An overblow that never speaks: the natural blow reed, three semitones below the overblow on hole 6.
        ("6o", -300.0, "G5", Some("6")),
        ("8'", -300.0, "C6", Some("7")),
        // A note beyond the harp: nothing makes it.
        ("1", -100.0, "B3", None),
    ] {
        let expected = Outcome::AnotherNote(note(name), simplest.map(way));
        check(target, |take| take.hold(1.5, cents), expected);
    }
}

#[test]
fn what_players_do_is_no_mistake() {
    let landed = Outcome::Landed;
    // Sliding in from the natural note, quickly, slowly, and after setting up on it for longer than the hold.
    check("-3''", |t| t.hold(0.2, 200.0).slide(0.15, 200.0, 3.0).hold(1.2, 3.0), landed);
    check("-3''", |t| t.hold(0.1, 200.0).slide(1.0, 200.0, 3.0).hold(1.2, 3.0), landed);
    check("-3''", |t| t.hold(1.5, 200.0).slide(0.2, 200.0, 3.0).hold(1.2, 3.0), landed);
    // Stopping on the way at another depth.
    check("-3''", |t| t.hold(0.7, 100.0).slide(0.1, 100.0, 3.0).hold(1.2, 3.0), landed);
    // The pop of an overblow: the blow reed and a squeak, then the note.
    check("6o", |t| t.hold(0.06, -300.0).hold(0.09, 900.0).hold(1.2, -8.0), landed);
    // Breaths, clicks and squeaks before the try.
    check("-4'", |t| t.hold(0.05, 900.0).rest(0.5).hold(0.1, -500.0).rest(1.0).hold(1.2, 4.0), landed);
    // A click each half second through the note, and a wrong octave for a tenth of a second.
    let with_clicks = |t: Take| (0..5).fold(t, |t, _| t.hold(0.4, -6.0).hold(0.03, 1700.0));
    check("-4'", with_clicks, landed);
    check("-4'", |t| t.hold(0.4, -6.0).hold(0.1, -1206.0).hold(0.9, -6.0), landed);
    check("-4'", |t| t.hold(0.4, -6.0).hold(0.1, 1194.0).hold(0.9, -6.0), landed);
    // The ear drops out for 50 ms.
    check("-4'", |t| t.hold(0.6, -6.0).rest(0.05).hold(0.6, -6.0), landed);
    // Vibrato about the right pitch: a little, and a lot.
    check("-2", |t| t.vibrato(1.3, 5.0, 20.0, 5.5), landed);
    check("-2", |t| t.vibrato(1.8, 5.0, 45.0, 5.0), landed);
    // The release: the pitch droops as the breath ends, or the bend is let up.
    check("-2'", |t| t.hold(1.05, 0.0).slide(0.2, 0.0, -80.0), landed);
}

#[test]
fn a_click_before_the_try_does_not_start_its_clock() {
    let verdict =
        check("-3'", |t| t.hold(0.05, 0.0).rest(0.2).slide(0.2, 100.0, 0.0).hold(1.2, 0.0), Outcome::Landed);
    let reach = verdict.figures.unwrap().reach_s;
    assert!((0.15..0.21).contains(&reach), "{reach}");
}

#[test]
fn notes_let_go_early() {
    check("-3'", |t| t.slide(0.2, 100.0, 0.0).hold(0.6, 4.0), Outcome::TooBrief(0.63));
    // Right but brief after a longer natural note: the bend is what counts.
    check("-3'", |t| t.hold(1.2, 100.0).slide(0.1, 100.0, 0.0).hold(0.5, 4.0), Outcome::TooBrief(0.52));
    // Wrong after a longer natural note: again the bend counts.
    check("-3''", |t| t.hold(1.2, 200.0).slide(0.1, 200.0, 40.0).hold(0.7, 40.0), Outcome::Short(40.0));
    // Nothing but the natural note.
    check("-3''", |t| t.hold(1.2, 200.0), Outcome::Short(200.0));
    // Too early and wrong as well: what was held is judged.
    check("-3'", |t| t.hold(0.5, 44.0), Outcome::Short(44.0));
    check("-3'", |t| t.hold(0.6, 0.0).slide(0.15, 0.0, -60.0), Outcome::TooBrief(0.64));
    // A breath in the middle: neither part reaches the hold.
    check("-3'", |t| t.hold(0.6, 0.0).rest(0.2).hold(0.7, 0.0), Outcome::TooBrief(0.7));
}

#[test]
fn wandering_is_unsteady() {
    // A siren between natural and whole step.
    let siren = |t: Take| t.curve(9.0, |t| Some(100.0 * (t * 3.0).sin()));
    check("-3'", siren, Outcome::Unsteady(92.0));
    // One slow sweep, then silence: passing through the target is not holding it.
    check("-3''", |t| t.slide(1.5, 200.0, -100.0), Outcome::Unsteady(102.0));
    // A wide wobble about the target.
    check("-3'", |t| t.vibrato(4.0, 0.0, 75.0, 5.0), Outcome::Unsteady(64.0));
}

#[test]
fn silence_is_not_heard() {
    let harp = c_harp();
    let target = Target { way: way("-3'"), cents: 0.0, hold_s: 1.0 };
    let (at, verdict) =
        judge(&harp, target, Tolerance::default(), &Take::at(&harp, "-3'").rest(12.0)).unwrap();
    assert_eq!(verdict, Verdict { outcome: Outcome::NotHeard(-80.0), figures: None, between: None });
    assert!((9.9..10.1).contains(&at), "{at}");
}

#[test]
fn between_two_depths_both_distances_are_named() {
    let verdict = check("-3''", |t| t.hold(1.5, 42.0), Outcome::Short(42.0));
    let between = verdict.between.unwrap();
    assert_eq!((between.shallow, between.deep), (way("-3'"), way("-3''")));
    assert!(
        (between.from_shallow_cents - 58.0).abs() < 0.01 && (between.from_deep_cents - 42.0).abs() < 0.01
    );

    // Between the natural note and the half step, asked for the natural one.
    let between = check("-3", |t| t.hold(1.5, -45.0), Outcome::Flat(45.0)).between.unwrap();
    assert_eq!((between.shallow, between.deep), (way("-3"), way("-3'")));

    // In tune at another depth, or beyond the deepest: between nothing.
    assert_eq!(check("-3''", |t| t.hold(1.5, 90.0), Outcome::Short(90.0)).between, None);
    assert_eq!(check("-3'''", |t| t.hold(1.5, -40.0), Outcome::Past(40.0)).between, None);
    assert_eq!(check("6o", |t| t.hold(1.5, -40.0), Outcome::Short(40.0)).between, None);
}

#[test]
fn depth_counts_from_the_reed() {
    for (target, error, depth) in
        [("-3''", -20.0, 2.2), ("8'", 30.0, 0.7), ("-3", 10.0, -0.1), ("6o", 20.0, 1.2), ("-7o", -40.0, 0.6)]
    {
        let verdict = verdict_on(&c_harp(), target, |t| t.hold(1.2, error));
        let measured = verdict.figures.unwrap().depth_semitones;
        assert!((measured - depth).abs() < 1e-6, "{target} {error}: {measured}");
    }
}

#[test]
fn slides_are_timed_and_their_overshoot_measured() {
    // Down from the natural note in 0.3 s, 70 cents too far, back in 0.2 s.
    let played = |t: Take| t.hold(0.1, 100.0).slide(0.3, 100.0, -70.0).slide(0.2, -70.0, 0.0).hold(1.2, 0.0);
    let figures = check("-3'", played, Outcome::Landed).figures.unwrap();
    assert!((figures.overshoot_cents - 70.0).abs() < 4.0, "{figures:?}");
    assert!((0.51..0.58).contains(&figures.reach_s), "{figures:?}");
    // The same slide without going too far.
    let figures = check("-3'", |t| t.slide(0.4, 100.0, 0.0).hold(1.2, 0.0), Outcome::Landed).figures.unwrap();
    assert_eq!(figures.overshoot_cents, 0.0);
    assert!((figures.reach_s - 0.34).abs() < 0.02, "{figures:?}");
    assert!((figures.held_s - 1.0).abs() < 0.02, "{figures:?}");
}

#[test]
fn drift_and_spread_are_measured() {
    let figures = check("-2", |t| t.slide(1.3, 6.0, -20.0), Outcome::Landed).figures.unwrap();
    assert!((figures.drift_cents_per_s + 20.0).abs() < 0.5, "{figures:?}");
    // Vibrato does not tilt it. A sine of amplitude A has its 84th percentile at A·sin(61.2°).
    let figures = check("-2", |t| t.vibrato(1.8, 0.0, 20.0, 5.5), Outcome::Landed).figures.unwrap();
    assert!(figures.drift_cents_per_s.abs() < 12.0, "{figures:?}");
    assert!((figures.spread_cents - 20.0 * 61.2_f64.to_radians().sin()).abs() < 1.5, "{figures:?}");
}

#[test]
fn tolerances_decide() {
    let harp = c_harp();
    for (tolerance, error, landed) in [
        (Tolerance::USUAL, 25.0, true),
        (Tolerance::USUAL, -25.2, false),
        (Tolerance::EXPERT, 9.9, true),
        (Tolerance::EXPERT, 10.2, false),
        (Tolerance::new(5.0, 5.0).unwrap(), -4.9, true),
        (Tolerance::new(5.0, 5.0).unwrap(), -5.2, false),
    ] {
        let target = Target { way: way("-4'"), cents: 0.0, hold_s: 1.0 };
        let take = Take::at(&harp, "-4'").hold(1.5, error);
        let (_, verdict) = judge(&harp, target, tolerance, &take).unwrap();
        assert_eq!(verdict.outcome == Outcome::Landed, landed, "{tolerance:?} {error}: {verdict:?}");
    }
    for (centred, in_tune) in [(0.0, 25.0), (10.0, 51.0), (26.0, 25.0), (f64::NAN, 25.0)] {
        assert!(Tolerance::new(centred, in_tune).is_err());
    }
}

#[test]
fn wanted_offsets_move_the_target() {
    // The third of early blues recordings lies about 319 cents above the tonic (Cutting, Empirical Musicology
    // Review 13, 2019): on a C harp in G, 3 draw half step and 19 cents.
    let harp = c_harp();
    let target = Target { way: way("-3'"), cents: 19.0, hold_s: 1.0 };
    let take = Take::at(&harp, "-3'").hold(1.5, 24.0);
    let (_, verdict) = judge(&harp, target, Tolerance::EXPERT, &take).unwrap();
    assert_eq!(verdict.outcome, Outcome::Landed);
    let figures = verdict.figures.unwrap();
    assert!((figures.cents_off - 5.0).abs() < 0.01 && (figures.depth_semitones - 0.76).abs() < 1e-3);
}

#[test]
fn bends_are_judged_against_the_note_not_the_reed() {
    // A harp in just intonation: its 3 draw lies 11.7 cents low, so the half step is 88.3 cents below it.
    let mut draw = vec![0.0; 10];
    draw[2] = -11.7;
    let harp = c_harp().with_reed_cents(ReedCents { blow: vec![], draw });
    let verdict = verdict_on(&harp, "-3'", |t| t.hold(1.5, 0.0));
    assert_eq!(verdict.outcome, Outcome::Landed);
    assert!((verdict.figures.unwrap().depth_semitones - 0.883).abs() < 1e-6);
    // The natural note is in tune where the reed is.
    let verdict = verdict_on(&harp, "-3", |t| t.hold(1.5, 0.0));
    assert_eq!(verdict.outcome, Outcome::Landed);
    assert!(verdict.figures.unwrap().cents_off.abs() < 1e-6);
}

#[test]
fn every_way_of_every_harp_lands_when_played() {
    for key in HarpKey::all() {
        let harp = Harp::richter(key);
        for way in harp.ways() {
            let target = Target { way, cents: 0.0, hold_s: 0.5 };
            let mut judge =
                scoring::Judge::new(&harp, target, Tolerance::default(), crate::takes::RATE).unwrap();
            let hz = harp.hz(way);
            let verdict = (0..200u64).find_map(|hop| {
                let time = hop * crate::takes::HOP;
                judge.hear(&pitch::Reading {
                    time,
                    known: time,
                    hz,
                    sigma_cents: 0.0,
                    clarity: 1.0,
                    level_dbfs: -20.0,
                    onset: false,
                })
            });
            assert_eq!(verdict.map(|v| v.outcome), Some(Outcome::Landed), "{way:?} on {key}");
        }
    }
}

#[test]
fn what_a_harp_cannot_do_has_no_judge() {
    let harp = c_harp();
    let usual = Tolerance::default();
    let judge = |way, cents, hold_s, rate| {
        scoring::Judge::new(&harp, Target { way, cents, hold_s }, usual, rate).is_some()
    };
    assert!(judge(way("-3'"), 0.0, 1.0, 48_000.0));
    assert!(!judge(way("-1'''"), 0.0, 1.0, 48_000.0));
    assert!(!judge(Way::new(11, Breath::Draw, Technique::Natural), 0.0, 1.0, 48_000.0));
    assert!(!judge(way("-3'"), f64::NAN, 1.0, 48_000.0));
    assert!(!judge(way("-3'"), 0.0, f64::NAN, 48_000.0));
    assert!(!judge(way("-3'"), 0.0, 1.0, 0.0));
    assert!(!judge(way("-3'"), 0.0, 1.0, f64::INFINITY));
}

#[test]
fn lost_samples_spoil_only_a_try_that_had_begun() {
    let harp = c_harp();
    let target = Target { way: way("-3'"), cents: 0.0, hold_s: 1.0 };
    let mut judge = scoring::Judge::new(&harp, target, Tolerance::default(), crate::takes::RATE).unwrap();
    assert_eq!(judge.gap(), None);
    let take = Take::at(&harp, "-3'").rest(0.3).hold(0.5, 0.0);
    for reading in take.readings() {
        assert_eq!(judge.hear(reading), None);
    }
    assert_eq!(judge.began(), Some(14_336), "the first hop after 0.3 s");
    assert_eq!(judge.gap().map(|v| v.outcome), Some(Outcome::CannotTell(Why::SamplesLost)));
    // A device that came back counts from nought again; the new try is judged as ever.
    let again = Take::at(&harp, "-3'").hold(1.2, 0.0);
    let verdict = again.readings().iter().find_map(|reading| judge.hear(reading)).unwrap();
    assert_eq!(verdict.outcome, Outcome::Landed);
}

#[test]
fn the_live_state_follows() {
    let harp = c_harp();
    let target = Target { way: way("-3'"), cents: 0.0, hold_s: 2.0 };
    let mut judge = scoring::Judge::new(&harp, target, Tolerance::default(), crate::takes::RATE).unwrap();
    let take = Take::at(&harp, "-3'").rest(0.2).slide(0.2, 100.0, 4.0).hold(1.0, 4.0).rest(0.2);
    let at = |seconds: f64| (seconds * crate::takes::RATE / crate::takes::HOP as f64) as usize;
    let mut lives = Vec::new();
    for reading in take.readings() {
        assert_eq!(judge.hear(reading), None);
        lives.push(judge.live());
    }
    assert!(!lives[at(0.1)].sounding && lives[at(0.1)].cents_off.is_none());
    assert!(lives[at(0.25)].sounding && lives[at(0.25)].reached_s.is_none());
    let held = lives[at(1.3)];
    assert!((held.cents_off.unwrap() - 4.0).abs() < 1e-6);
    assert!((held.held_s - 0.95).abs() < 0.05, "{held:?}");
    assert!((held.reached_s.unwrap() - 0.155).abs() < 0.02, "{held:?}");
    assert!(!lives.last().unwrap().sounding);
}
