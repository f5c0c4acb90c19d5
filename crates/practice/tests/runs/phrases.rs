//! Phrases as a player plays them who makes no mistake: whatever is joined, bent, tied or swung, nothing of it is blamed.

use crate::harp;
use layout::{TabStyle, Technique};
use pitch::{Ear, Settings};
use practice::run::{Clicking, Phrase, Plan, StartAt, Tempi, Tempo};
use practice::{Event, Exercise, Order, RunJudged};
use scoring::Tolerance;
use synth::{Gesture, SimulatedPlayer, Slur, Timed};

const RATE: f64 = 48_000.0;

/// One run of a phrase on a harp of this key, so much faster than it suggests, played right.
fn played(key: &str, phrase: &Phrase, faster: f64) -> RunJudged {
    let harp = harp(key);
    let tempo = Tempo::new(faster * phrase.material.rhythm.tempo.bpm()).unwrap();
    let mut exercise = Exercise::new(harp.clone(), Tolerance::USUAL, RATE);
    exercise.order(Order::Run(Box::new(Plan {
        material: phrase.material.clone().at(tempo),
        start: StartAt::CountIn,
        runs: 1,
        tempi: Tempi::Same,
        own_tempo_first: false,
        clicking: Clicking::default(),
        delay_s: Some(0.0),
    })));
    let fundamentals = harp.ways().filter_map(|way| harp.hz(way)).collect();
    let mut ear = Ear::new(Settings::new(RATE).with_harp(fundamentals)).unwrap();
    let mut player = SimulatedPlayer::new(&harp, RATE, 9);
    for _ in 0..6_000 {
        let mut block = [0.0; 512];
        player.fill(&mut block);
        let mut readings = Vec::new();
        ear.push(&block, |reading| readings.push(reading));
        for event in readings.iter().flat_map(|reading| exercise.hear(reading)).collect::<Vec<_>>() {
            match event {
                Event::RunBegan(began) => {
                    let asked = exercise.running().unwrap().asked().to_vec();
                    let notes = asked.iter().map(|note| Timed {
                        way: note.way,
                        onset_s: note.onset_s,
                        length_s: note.length_s,
                        joined: note.joined,
                    });
                    for slur in Slur::all(notes) {
                        let first = slur.first().unwrap();
                        let bend = matches!(first.way.technique, Technique::Bend(_));
                        let gesture =
                            Gesture::new(first.way).seconds((0.9 * slur.length_s() - 0.08).max(0.05));
                        let gesture = if bend { gesture.glide(0.04) } else { gesture };
                        let onset = began.first_beat_samples + first.onset_s * RATE;
                        player.play_at(&slur.onto(gesture), onset).unwrap();
                    }
                }
                Event::RunJudged(judged) => return *judged,
                _ => {}
            }
        }
    }
    panic!("the run never ended");
}

#[test]
fn right_playing_of_every_phrase_is_not_blamed() {
    let (mut wrong, mut all) = (0, 0);
    for (name, text) in practice::built_in_phrases() {
        let phrase = Phrase::read(name, text).unwrap();
        for (key, faster) in [("low F", 1.0), ("C", 1.5), ("high G", 1.5)] {
            let judged = played(key, &phrase, faster);
            for note in &judged.verdict.notes {
                all += 1;
                if !note.is_right() {
                    wrong += 1;
                    let (tab, asked) = (TabStyle::default().print(note.asked.way), note.asked);
                    println!(
                        "{name} on {key}, bar {}, {tab}{}: {:?} {:?} {:?}",
                        asked.bar + 1,
                        if asked.joined { " joined" } else { "" },
                        note.pitch,
                        note.cents,
                        note.late_s.map(|s| (s * 1000.0).round())
                    );
                }
            }
            for extra in &judged.verdict.extra {
                println!("{name} on {key}: extra {} at {:.2} s", extra.note, extra.onset_s);
            }
        }
    }
    println!("{wrong} of {all} right notes blamed");
    assert_eq!(wrong, 0);
}
