//! Runs as a whole: what is told of them, and what is told meanwhile. Whether each note is judged as what it was is in
//! `blame.rs`.

use crate::player::{Player, RATE, Sound, plan};
use crate::{blues, harp, ways};
use layout::{Harp, Technique, Way};
use pitch::{Ear, Settings};
use practice::run::{Plan, Tempi};
use practice::{Event, Exercise, Order};
use scoring::Tolerance;
use scoring::timed::{AskedNote, RunVerdict};
use synth::{Gesture, SimulatedPlayer};

/// How a note is played: bends through a quick slide.
fn gesture(note: &AskedNote) -> Gesture {
    let gesture = Gesture::new(note.way).seconds(0.62 * note.length_s.min(0.6));
    if matches!(note.way.technique, Technique::Bend(_)) { gesture.glide(0.03) } else { gesture }
}

/// The verdict on a blues scale whose notes of these indices come 110 ms late, and all others on the beat.
fn played(harp: &Harp, bpm: f64, late: &[usize]) -> RunVerdict {
    let sound = |(i, note): (usize, &AskedNote)| {
        let late_s = if late.contains(&i) { 0.11 } else { 0.0 };
        Sound { gesture: gesture(note), at_s: note.onset_s + late_s }
    };
    let played = |asked: &[AskedNote]| asked.iter().enumerate().map(sound).collect();
    Player::new(5).play(harp, blues(harp, bpm), played).0.verdict
}

#[test]
fn a_run_is_told_as_a_whole() {
    let harp = harp("C");
    let verdict = played(&harp, 80.0, &[]);
    let whole = verdict.whole;
    assert_eq!((whole.asked, whole.played, whole.right, whole.clean), (13, 13, 13, true));
    assert!(whole.late_s.unwrap().abs() < 0.03, "{whole:?}");
    assert!(whole.rushing.unwrap().abs() < 0.01, "{whole:?}");
    let breaths = verdict.breaths;
    // Blown: 4 twice and 6 once, an eighth each; drawn: nine eighths and the last note of four.
    assert!(
        (breaths.blow_s - 3.0 * 0.375).abs() < 1e-9 && (breaths.draw_s - (9.0 * 0.375 + 1.5)).abs() < 1e-9
    );
}

#[test]
fn the_weak_change_is_the_one_that_is_late() {
    let harp = harp("C");
    let verdict = played(&harp, 80.0, &[3, 9]);
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
    exercise.order(Order::Run(Box::new(plan(blues(&harp, 80.0)))));
    let events = exercise.order(Order::Leave);
    assert!(matches!(&events[..], [Event::Ended(practice::Ending::Left)]));
    assert!(exercise.running().unwrap().results().is_empty());
}

/// While a run goes on, a note that nobody played is missing once a later one is answered, and nothing is said of what
/// is to come or may still sound; at the end the same is said of each note as in the verdict.
#[test]
fn what_is_said_meanwhile_is_what_the_verdict_says() {
    let harp = harp("C");
    let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
    exercise.order(Order::Run(Box::new(plan(blues(&harp, 80.0)))));
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

/// A player who was clean and then is not four times in a row is sent to rest, whatever number of runs was asked for.
#[test]
fn runs_that_get_worse_end_by_themselves() {
    let harp = harp("C");
    let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
    let plan = Plan { runs: 40, tempi: Tempi::Steps, ..plan(blues(&harp, 160.0)) };
    exercise.order(Order::Run(Box::new(plan)));
    let mut ear = Ear::new(Settings::new(RATE)).unwrap();
    let mut player = SimulatedPlayer::new(&harp, RATE, 5);
    let (mut clean, mut ended) = (Vec::new(), false);
    while !ended && clean.len() < 12 {
        let mut block = [0.0; 512];
        player.fill(&mut block);
        let mut readings = Vec::new();
        ear.push(&block, |reading| readings.push(reading));
        let mut said = Vec::new();
        for reading in &readings {
            said.extend(exercise.hear(reading));
        }
        for event in said {
            match event {
                // The first run is played, the others are left out.
                Event::RunBegan(began) if began.number == 1 => {
                    for note in exercise.running().unwrap().asked().to_vec() {
                        let onset = began.first_beat_samples + note.onset_s * RATE;
                        player.play_at(&gesture(&note), onset).unwrap();
                    }
                }
                Event::RunJudged(judged) => clean.push(judged.verdict.whole.clean),
                Event::Ended(_) => ended = true,
                _ => {}
            }
        }
    }
    assert_eq!((clean, ended), (vec![true, false, false, false, false], true));
}
