//! Which reeds sound together, on the simulated player: a small fixed part of what `examples/reeds` measures.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "tests")]

#[path = "../examples/reeds/cases.rs"]
mod cases;
mod common;
#[path = "../examples/reeds/simulated.rs"]
mod simulated;

use assert_no_alloc::{AllocDisabler, assert_no_alloc, violation_count};
use cases::{Case, HARPS, Kind, cases, harp, holes, right};
use common::{REED, Tone, add, cents};
use layout::Harp;
use pitch::reeds::{Reed, ReedSettings, Reeds, Sounding, Voice};
use simulated::{Manner, leak, render};

#[global_allocator]
static ALLOCATOR: AllocDisabler = AllocDisabler;

fn ears(harp: &Harp, sample_rate: f64) -> Reeds {
    Reeds::new(ReedSettings { sample_rate, holes: holes(harp) }).unwrap()
}

fn hear(harp: &Harp, samples: &[f32], rate: f64) -> Vec<Sounding> {
    all_of(ears(harp, rate), samples)
}

/// What is heard of a harp with these holes (48 kHz).
fn hear_holes(holes: &[[f64; 2]], samples: &[f32]) -> Vec<Sounding> {
    all_of(Reeds::new(ReedSettings { sample_rate: 48_000.0, holes: holes.to_vec() }).unwrap(), samples)
}

fn all_of(mut ears: Reeds, samples: &[f32]) -> Vec<Sounding> {
    let mut heard = Vec::new();
    ears.push(samples, |sounding| heard.push(sounding));
    heard
}

/// Whether the set told 60 ms after the start is right.
fn in_time(harp: &Harp, case: &Case, seed: u64, rate: f64) -> bool {
    let (samples, began) = render(harp, case, Manner::of(seed), rate);
    let heard = hear(harp, &samples, rate);
    let limit = began as u64 + (0.060 * rate) as u64;
    heard.iter().rfind(|s| s.known <= limit).is_some_and(|s| right(s, harp, &case.ways))
}

/// The share of the cases of some kinds that are right in time.
fn share(kinds: &[Kind], seed: u64) -> f64 {
    let (mut good, mut all) = (0, 0);
    for key in HARPS {
        let harp = harp(key);
        for (i, case) in (0..).zip(cases(&harp)).filter(|(_, case)| kinds.contains(&case.kind)) {
            good += i32::from(in_time(&harp, &case, seed + i, 48_000.0));
            all += 1;
        }
    }
    f64::from(good) / f64::from(all)
}

#[test]
fn a_lone_reed_is_called_lone() {
    let share = share(&[Kind::Lone], 70_000);
    assert!(share >= 0.99, "{share}");
}

#[test]
fn adjacent_reeds_are_told_within_sixty_milliseconds() {
    let share = share(&[Kind::Pair, Kind::Triple], 80_000);
    assert!(share >= 0.97, "{share}");
}

#[test]
fn an_octave_is_told_once_it_has_beaten() {
    // Two reeds of one harp are never exactly an octave apart; here they wander each by itself.
    let (mut good, mut all) = (0, 0);
    for key in HARPS {
        let harp = harp(key);
        for (seed, case) in (4_000..).zip(cases(&harp)).filter(|(_, case)| case.kind == Kind::Octave) {
            let (samples, _) = render(&harp, &case, Manner::of(seed), 48_000.0);
            let heard = hear(&harp, &samples, 48_000.0);
            let told = heard.iter().rfind(|s| s.known < samples.len() as u64 - 2_400);
            good += i32::from(told.is_some_and(|s| right(s, &harp, &case.ways)));
            all += 1;
        }
    }
    assert!(f64::from(good) >= 0.6 * f64::from(all), "{good} of {all}");
}

#[test]
fn a_neighbour_twenty_decibels_down_is_told_with_its_level() {
    let harp = harp("C");
    for case in cases(&harp).iter().filter(|case| case.kind == Kind::Lone && case.ways[0].hole < 10) {
        let other = case.ways[0].hole + 1;
        let (samples, began) = leak(&harp, case, other, -20.0, Manner::of(9));
        let heard = hear(&harp, &samples, 48_000.0);
        let then = heard.iter().find(|s| s.known > began as u64 + 9_600).unwrap();
        let levels: Vec<_> = then.voices().map(|voice| voice.level_dbfs).collect();
        assert_eq!(levels.len(), 2, "{:?}: {then:?}", case.ways);
        assert!((levels[1] - levels[0] + 20.0).abs() < 3.0, "{:?}: {levels:?}", case.ways);
    }
}

/// Steady reeds of these pitches, from a tenth of a second on (48 kHz).
fn steady(pitches: &[f64], amplitudes: &[f64], seconds: f64) -> Vec<f32> {
    let mut samples = vec![0.0; (seconds * 48_000.0) as usize];
    for hz in pitches {
        add(&mut samples, 48_000.0, 0.1, &Tone { hz: *hz, amplitudes, from: 0.1, to: 1.0 });
    }
    samples
}

#[test]
fn without_a_harp_two_pitches_are_told() {
    for (low, high) in [(110.0, 138.6), (261.6, 329.6), (440.0, 660.0), (880.0, 1_174.7)] {
        let heard = hear_holes(&[], &steady(&[low, high], &REED, 0.4));
        let mut told: Vec<f64> = heard.last().unwrap().voices().map(|voice| voice.hz).collect();
        told.sort_by(f64::total_cmp);
        let near = told.iter().zip([low, high]).all(|(told, hz)| cents(*told, hz).abs() < 20.0);
        assert!(told.len() == 2 && near, "{told:?} for {low} and {high} Hz");
    }
}

#[test]
fn the_highest_reed_that_can_be_listened_to_is_told_soon() {
    let heard = hear_holes(&[[4_700.0, 4_990.0]], &steady(&[4_990.0], &[1.0], 0.4));
    // From 50 ms after it began: the shortest window, 32 ms, and a reading.
    for sounding in heard.iter().filter(|sounding| sounding.known > 7_200) {
        let told: Vec<f64> = sounding.voices().map(|voice| voice.hz).collect();
        assert!(told.len() == 1 && (told[0] - 4_990.0).abs() < 15.0, "{told:?} at sample {}", sounding.known);
    }
}

/// The share of right readings among all from a tenth of a second after the attack on, for the cases of some kinds with
/// a vibrato of so many cents.
fn share_held(kinds: &[Kind], vibrato: f64) -> f64 {
    let (mut good, mut all) = (0, 0);
    for key in HARPS {
        let harp = harp(key);
        for (seed, case) in (500..).zip(cases(&harp)).filter(|(_, case)| kinds.contains(&case.kind)) {
            let manner = Manner { vibrato, ..Manner::of(seed) };
            let (samples, began) = render(&harp, &case, manner, 48_000.0);
            let heard = hear(&harp, &samples, 48_000.0);
            let held = heard.iter().filter(|s| s.known > began as u64 + 4_800);
            for sounding in held {
                good += i32::from(right(sounding, &harp, &case.ways));
                all += 1;
            }
        }
    }
    f64::from(good) / f64::from(all)
}

#[test]
fn while_they_are_held_a_lone_reed_stays_lone_and_a_vibrato_hides_none_of_several() {
    // Where a chord glides lines are blurred, so that weak voices are harder to tell, and octaves most of all.
    let lone = [Kind::Lone, Kind::Bend];
    for (kinds, vibrato, least) in [
        (&lone[..], 0.0, 0.985),
        (&lone[..], 30.0, 0.995),
        (&[Kind::Triple], 30.0, 0.86),
        (&[Kind::Octave], 30.0, 0.6),
    ] {
        let share = share_held(kinds, vibrato);
        assert!(share >= least, "{share} of {kinds:?} with a vibrato of {vibrato} cents");
    }
}

#[test]
fn what_is_told_are_reeds_of_one_breath_under_one_mouth() {
    let harp = harp("C");
    let reeds = holes(&harp);
    // Pairs of both breaths, or too far apart: each reed by its hole, from 1, and whether it is a draw reed.
    for [(a, draw), (b, other)] in [
        [(4, false), (5, true)],
        [(3, true), (4, false)],
        [(1, false), (8, false)],
        [(2, true), (9, true)],
        [(3, false), (9, true)],
    ] {
        let hz = |hole: usize, draw: bool| reeds[hole - 1][usize::from(draw)];
        let both = steady(&[hz(a, draw), hz(b, other)], &REED, 0.3);
        let heard = hear(&harp, &both, 48_000.0);
        assert!(heard.last().unwrap().voices().count() > 0, "hole {a} and hole {b}");
        for sounding in heard {
            let told: Vec<Reed> = sounding.voices().filter_map(|voice| voice.reed).collect();
            let reach = |a: &Reed, b: &Reed| a.draw == b.draw && a.hole.abs_diff(b.hole) <= 4;
            assert!(told.iter().all(|a| told.iter().all(|b| reach(a, b))), "{told:?}");
        }
    }
}

#[test]
fn a_reading_is_about_the_middle_of_what_was_heard() {
    let harp = harp("C");
    let heard = hear(&harp, &steady(&[523.25], &REED, 0.4), 48_000.0);
    // Half of 60 ms, and the tenth of a millisecond that the filter takes.
    let told = heard.last().unwrap();
    assert!((1_443..1_448).contains(&(told.known - told.time)), "{}", told.known - told.time);
}

#[test]
fn every_rate_tells_the_same_reeds_and_blocks_do_not_matter() {
    let harp = harp("C");
    let case = cases(&harp).into_iter().find(|case| case.kind == Kind::Triple).unwrap();
    for rate in [14_700.0, 16_000.0, 22_050.0, 44_100.0, 96_000.0, 192_000.0] {
        let (samples, began) = render(&harp, &case, Manner::of(3), rate);
        let heard = hear(&harp, &samples, rate);
        let then = heard.iter().find(|s| s.known as f64 > began as f64 + 0.2 * rate).unwrap();
        assert!(right(then, &harp, &case.ways), "{rate}: {then:?}");
        let mut again = Vec::new();
        let mut reeds = ears(&harp, rate);
        samples.chunks(77).for_each(|block| reeds.push(block, |sounding| again.push(sounding)));
        assert_eq!(heard, again);
    }
}

#[test]
fn it_allocates_nothing_after_it_is_made_and_hears_nothing_in_silence() {
    let harp = harp("low F");
    let case = cases(&harp).into_iter().find(|case| case.kind == Kind::Four).unwrap();
    let (samples, _) = render(&harp, &case, Manner::of(5), 48_000.0);
    let mut reeds = ears(&harp, 48_000.0);
    let (mut told, silence) = (0, vec![0.0; 4_800]);
    assert_no_alloc(|| {
        samples.chunks(480).for_each(|block| reeds.push(block, |sounding| told += sounding.voices().count()));
        reeds.reset();
        reeds.push(&silence, |sounding| assert_eq!(sounding.voices().count(), 0));
    });
    assert_eq!(violation_count(), 0);
    assert!(told > 60, "something was heard ({told})");
}

#[test]
fn what_cannot_be_listened_to_is_refused_with_what_could_be() {
    let with = |sample_rate, holes| Reeds::new(ReedSettings { sample_rate, holes }).map(|_| ());
    let said = |sample_rate, holes| with(sample_rate, holes).unwrap_err().to_string();
    assert!(said(8_000.0, Vec::new()).contains("8000 samples a second; it takes 12000 to 192000"));
    assert!(with(f64::NAN, Vec::new()).is_err());
    assert!(with(48_000.0, vec![[f64::NAN, 300.0]]).is_err());
    assert!(said(48_000.0, vec![[300.0, 6_000.0]]).contains("a reed at 6000 Hz; it takes 50 to 5000"));
    assert!(said(48_000.0, vec![[300.0, 340.0]; 17]).contains("17 holes; it takes 0 to 16"));
    assert_eq!(with(48_000.0, vec![[300.0, 340.0]; 16]), Ok(()));
    assert_eq!(with(48_000.0, Vec::new()), Ok(()));
}

#[test]
fn a_sounding_keeps_the_strongest_voices_in_order() {
    let voice = |hole, level_dbfs| Voice {
        reed: Some(Reed { hole, draw: true }),
        bent: false,
        hz: 400.0,
        level_dbfs,
    };
    let levels = [(1, -30.0), (2, -12.0), (3, -40.0), (4, -20.0), (5, -25.0), (6, -35.0)];
    let sounding = Sounding::new(7, 9, levels.map(|(hole, level)| voice(hole, level)));
    let holes: Vec<_> = sounding.voices().map(|voice| voice.reed.unwrap().hole).collect();
    assert_eq!((sounding.time, sounding.known, holes), (7, 9, vec![2, 4, 5, 1, 6]));
    assert_eq!(Sounding::new(0, 0, []).voices().count(), 0);
    let unsure = [7, 3].map(|hole| Reed { hole, draw: false });
    assert_eq!(sounding.with_unsure(unsure).unsure().collect::<Vec<_>>(), unsure);
    assert_eq!(sounding.unsure().count(), 0);
}
