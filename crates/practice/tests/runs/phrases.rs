//! Phrases as a player plays them who makes no mistake: whatever is joined, bent, tied or swung, nothing of it is
//! blamed.

use crate::harp;
use crate::player::{Player, Sound};
use layout::{TabStyle, Technique};
use practice::RunJudged;
use practice::run::{Phrase, Tempo};
use scoring::timed::AskedNote;
use synth::{Gesture, Slur, Timed};

/// One run of a phrase on a harp of this key, so much faster than it suggests, played right.
fn played(key: &str, phrase: &Phrase, faster: f64) -> RunJudged {
    let harp = harp(key);
    let tempo = Tempo::new(faster * phrase.material.rhythm.tempo.bpm()).unwrap();
    let sounds = |asked: &[AskedNote]| {
        let notes = asked.iter().map(|note| Timed {
            way: note.way,
            onset_s: note.onset_s,
            length_s: note.length_s,
            joined: note.joined,
            others: Default::default(),
        });
        Slur::all(notes).into_iter().map(|slur| sound(&slur)).collect()
    };
    Player::new(9).play(&harp, phrase.material.clone().at(tempo), sounds).0
}

/// A slur in one breath, let go a little before the next one.
fn sound(slur: &Slur) -> Sound {
    let first = slur.first().unwrap();
    let gesture = Gesture::new(first.way).seconds((0.9 * slur.length_s() - 0.08).max(0.05));
    let bend = matches!(first.way.technique, Technique::Bend(_));
    let gesture = if bend { gesture.glide(0.04) } else { gesture };
    Sound { gesture: slur.onto(gesture), at_s: first.onset_s }
}

#[test]
fn right_playing_of_every_phrase_is_not_blamed() {
    let (mut wrong, mut all) = (0, 0);
    for (name, text) in practice::built_in_phrases() {
        let phrase = Phrase::read(name, text).unwrap();
        // Chords are heard by the ear for reeds: `chord_runs.rs` plays them.
        if phrase.material.is_of_chords() {
            continue;
        }
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
