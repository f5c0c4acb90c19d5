//! The simulated player plays runs with known faults; each note has to be judged as what it was.

use crate::{blues, harp, ways};
use layout::{Harp, Technique, Way};
use oorandom::Rand64;
use pitch::{Ear, Settings};
use practice::run::{Plan, StartAt};
use practice::{Event, Exercise, Order, RunJudged};
use scoring::timed::{AskedNote, NoteVerdict, Timing};
use scoring::{Outcome, Tolerance};
use synth::{Gesture, SimulatedPlayer};

const RATE: f64 = 48_000.0;

/// What the player does with a note.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Does {
    Right,
    Early,
    Late,
    Missing,
    Wrong,
    Sharp,
}

fn plan(harp: &Harp, bpm: f64) -> Plan {
    Plan { material: blues(harp, bpm), start: StartAt::CountIn, runs: 1, ladder: false, delay_s: Some(0.0) }
}

/// Early and late by this much, seconds: more than the window, less than would make it another note.
fn astray(note: &AskedNote) -> f64 {
    (0.3 * note.length_s).min(0.11)
}

/// How a note is played: bends through a quick slide, in tune or 40 cents sharp.
fn gesture(way: Way, note: &AskedNote, does: Does) -> Gesture {
    let cents = if does == Does::Sharp { 40.0 } else { 0.0 };
    let note = Gesture::new(way).cents_off(cents).seconds(0.62 * note.length_s.min(0.6)).level(-18.0);
    if matches!(way.technique, Technique::Bend(_)) { note.glide(0.03) } else { note }
}

/// Plays one run as `does` says, and gives back what came of it.
fn played(harp: &Harp, bpm: f64, does: &[Does]) -> RunJudged {
    let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
    exercise.order(Order::Run(Box::new(plan(harp, bpm))));
    let fundamentals = harp.ways().filter_map(|way| harp.hz(way)).collect();
    let mut ear = Ear::new(Settings::new(RATE).with_harp(fundamentals)).unwrap();
    let mut player = SimulatedPlayer::new(harp, RATE, 5);
    let wrong = ways(harp, "-1")[0];
    for _ in 0..4_000 {
        let mut block = [0.0; 512];
        player.fill(&mut block);
        let mut readings = Vec::new();
        ear.push(&block, |reading| readings.push(reading));
        for reading in readings {
            for event in exercise.hear(&reading) {
                match event {
                    Event::RunBegan(began) => {
                        let asked = exercise.running().unwrap().asked().to_vec();
                        for (note, does) in asked.iter().zip(does) {
                            let late = match does {
                                Does::Early => -astray(note),
                                Does::Late => astray(note),
                                _ => 0.0,
                            };
                            if *does == Does::Missing {
                                continue;
                            }
                            let way = if *does == Does::Wrong { wrong } else { note.way };
                            let onset = began.first_beat_samples + (note.onset_s + late) * RATE;
                            player.play_at(&gesture(way, note, *does), onset).unwrap();
                        }
                    }
                    Event::RunJudged(judged) => return *judged,
                    _ => {}
                }
            }
        }
    }
    panic!("the run never ended");
}

/// What a verdict says, in the words of the player's deeds.
fn named(note: &NoteVerdict) -> Does {
    match (note.pitch, note.timing) {
        (None, _) => Does::Missing,
        (Some(Outcome::AnotherNote(..)), _) => Does::Wrong,
        (Some(Outcome::Short(_) | Outcome::Sharp(_)), _) => Does::Sharp,
        (_, Some(Timing::Early)) => Does::Early,
        (_, Some(Timing::Late)) => Does::Late,
        _ => Does::Right,
    }
}

#[test]
fn every_note_is_judged_as_what_it_was() {
    let (mut blamed, mut right, mut named_right, mut faults) = (0, 0, 0, 0);
    for (key, bpm, seed) in [("C", 60.0, 1), ("C", 100.0, 2), ("low F", 80.0, 3), ("high G", 100.0, 4)] {
        let harp = harp(key);
        let mut random = Rand64::new(seed);
        let does: Vec<Does> = (0..13)
            .map(|i| match random.rand_range(0..12) {
                0 if i > 0 => Does::Early,
                1 => Does::Late,
                2 if i > 0 => Does::Missing,
                3 if i > 0 => Does::Wrong,
                4 => Does::Sharp,
                _ => Does::Right,
            })
            .collect();
        let judged = played(&harp, bpm, &does);
        for (note, does) in judged.verdict.notes.iter().zip(&does) {
            let name = named(note);
            if *does == Does::Right {
                right += 1;
                blamed += usize::from(!note.is_right());
                assert!(note.late_s.unwrap().abs() < 0.05, "{key} at {bpm}: {note:?}");
            } else {
                faults += 1;
                named_right += usize::from(name == *does);
                assert_eq!(name, *does, "{key} at {bpm}: {note:?}; besides {:?}", judged.verdict.extra);
            }
        }
        assert!(judged.verdict.extra.is_empty(), "{:?}", judged.verdict.extra);
    }
    println!("runs: {blamed} of {right} right notes blamed; {named_right} of {faults} faults named");
    assert_eq!(blamed, 0);
}

#[test]
fn a_run_is_told_as_a_whole() {
    let harp = harp("C");
    let judged = played(&harp, 80.0, &[Does::Right; 13]);
    let whole = judged.verdict.whole;
    assert_eq!((whole.asked, whole.played, whole.right, whole.clean), (13, 13, 13, true));
    assert!(whole.late_s.unwrap().abs() < 0.03, "{whole:?}");
    assert!(whole.rushing.unwrap().abs() < 0.01, "{whole:?}");
    let breaths = judged.verdict.breaths;
    // Blown: 4 twice and 6 once, an eighth each; drawn: nine eighths and the last note of four.
    assert!(
        (breaths.blow_s - 3.0 * 0.375).abs() < 1e-9 && (breaths.draw_s - (9.0 * 0.375 + 1.5)).abs() < 1e-9
    );
}

#[test]
fn the_weak_change_is_the_one_that_is_late() {
    let harp = harp("C");
    let mut does = [Does::Right; 13];
    (does[3], does[9]) = (Does::Late, Does::Late);
    let verdict = played(&harp, 80.0, &does).verdict;
    let mut weakest: Vec<(Way, Way)> =
        verdict.weakest.iter().map(|change| (change.from, change.to)).collect();
    let [before, after, down] = [ways(&harp, "4")[0], ways(&harp, "-4'")[0], ways(&harp, "-4")[0]];
    weakest.sort_by_key(|(from, _)| from.breath == down.breath);
    assert_eq!(weakest, [(before, after), (down, after)]);
    assert!(!verdict.whole.clean);
}

#[test]
fn left_in_the_middle_it_says_so_and_judges_nothing() {
    let harp = harp("C");
    let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
    exercise.order(Order::Run(Box::new(plan(&harp, 80.0))));
    let events = exercise.order(Order::Leave);
    assert!(matches!(&events[..], [Event::Ended(practice::Ending::Left)]));
    assert!(exercise.running().unwrap().results().is_empty());
}

/// While a run goes on, a note that nobody played is missing once a later one is answered, and nothing is said of what is to
/// come or may still sound; at the end the same is said of each note as in the verdict.
#[test]
fn what_is_said_meanwhile_is_what_the_verdict_says() {
    let harp = harp("C");
    let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
    exercise.order(Order::Run(Box::new(plan(&harp, 80.0))));
    let (mut time, mut known) = (0, 480);
    let mut last = Vec::new();
    loop {
        let running = exercise.running().unwrap();
        let (now, asked) = (running.now().unwrap_or(-9.0), running.asked().to_vec());
        // The third note is left out, the sixth comes 80 ms late.
        let late = |i: usize| if i == 5 { 0.08 } else { 0.0 };
        let sounds = asked.iter().enumerate().find(|(i, note)| {
            *i != 2 && (0.0..0.7 * note.length_s).contains(&(now - note.onset_s - late(*i)))
        });
        let hz = sounds.and_then(|(_, note)| harp.hz(note.way));
        for (i, said) in running.so_far(&harp).iter().enumerate() {
            let note = &asked[i];
            if now < note.onset_s + 0.7 * note.length_s {
                assert_eq!(*said, None, "note {i} at {now}");
            }
        }
        let so_far = running.so_far(&harp);
        if now > 1.6 && now < 1.7 {
            assert!(
                so_far[2].is_some_and(|note| note.played.is_none()),
                "the fourth is answered: {so_far:?}"
            );
        }
        last = if so_far.is_empty() { last } else { so_far };
        let reading = pitch::Reading {
            time,
            known,
            hz,
            sigma_cents: 0.5,
            clarity: 0.9,
            level_dbfs: if hz.is_some() { -18.0 } else { -70.0 },
            onset: false,
        };
        (time, known) = (time + 480, known + 480);
        for event in exercise.hear(&reading) {
            if let Event::RunJudged(judged) = event {
                for (said, note) in last.iter().zip(&judged.verdict.notes) {
                    // The last note is judged when the run is over.
                    assert!(said.is_none_or(|said| said == *note), "{said:?}\n{note:?}");
                }
                assert!(last.iter().flatten().count() >= 12, "{last:?}");
                assert_eq!(judged.verdict.whole.right, 11);
                return;
            }
        }
    }
}
