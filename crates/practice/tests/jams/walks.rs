//! What the built-in player plays over a form: a walk in eighths, within the ability, that mostly meets the changes.

use crate::{harp, plan};
use practice::jam::JamPlan;
use theory::{Groove, ScaleMap, for_player};

/// A hundred bars at 120 beats a minute, in which the chord changes with every bar; an eighth lasts a quarter of a
/// second.
fn walk(seed: u64) -> (JamPlan, Vec<scoring::timed::AskedNote>) {
    let plan = plan("I7 | IV7", Groove::Straight, 60);
    let line = plan.walk(&harp(), 0..100, seed);
    (plan, line)
}

#[test]
fn it_goes_by_small_steps_through_the_notes_that_the_player_commands() {
    let (plan, line) = walk(3);
    let map = ScaleMap::new(&harp(), &plan.scale);
    let notes: Vec<_> = for_player(&harp(), map.notes(), &plan.ability)
        .into_iter()
        .filter_map(|note| note.way.map(|_| note.note.note))
        .collect();
    let places: Vec<usize> = line
        .iter()
        .map(|own| notes.iter().position(|note| *note == own.note).expect("a note of the scale in reach"))
        .collect();
    // But for the notes that meet a change, which lie where the chord is, each is at most two notes of the scale away.
    let far = places
        .windows(2)
        .zip(line.windows(2))
        .filter(|(place, pair)| place[0].abs_diff(place[1]) > 2 && pair[1].onset_s % 2.0 > 1e-6);
    assert_eq!(far.count(), 0);
    // It gets about: up and down, over an octave at least.
    let (low, high) =
        (line.iter().map(|note| note.note).min().unwrap(), line.iter().map(|note| note.note).max().unwrap());
    assert!(high.midi() - low.midi() >= 12, "{low} {high}");
    assert!(line.iter().all(|own| harp().note(own.way) == Some(own.note)));
}

#[test]
fn it_begins_a_third_of_the_way_up() {
    // On a D harp draw bends reach sixteen notes of the blues scale of A: D4 E♭4 E4 G4 A4 C5 D5 E♭5 E5 G5 A5 D6 E6 G6
    // A6 D7. Behind a third of them comes C5. The first note is at most two notes away from that, or the nearest one of
    // A7 from there: G4 to E5.
    let plan = plan("I7 | IV7", Groove::Straight, 1);
    for seed in 0..20 {
        let first = plan.walk(&harp(), 0..1, seed)[0].note;
        assert!((67..=76).contains(&first.midi()), "{first} with seed {seed}");
    }
}

#[test]
fn it_is_in_time_and_rests_for_a_quarter_of_the_eighths() {
    let (_, line) = walk(4);
    let eighth = |seconds: f64| seconds / 0.25;
    for note in &line {
        let (at, length) = (eighth(note.onset_s), eighth(note.length_s));
        assert!((at - at.round()).abs() < 1e-9 && (length == 1.0 || length == 2.0), "{note:?}");
        assert_eq!(note.bar, (note.onset_s / 2.0 + 1e-9) as usize);
        // Nothing is held into the next bar.
        assert!(note.onset_s + note.length_s <= 2.0 * (note.bar + 1) as f64 + 1e-9, "{note:?}");
    }
    assert!(line.windows(2).all(|pair| pair[0].onset_s + pair[0].length_s <= pair[1].onset_s + 1e-9));
    // Of 800 eighths about a quarter are rests, fewer where the chord changes; and of the notes somewhat fewer than 40
    // of 100 last a quarter, since none goes beyond its bar.
    let sounds: f64 = line.iter().map(|note| eighth(note.length_s)).sum();
    assert!((0.7..0.86).contains(&(sounds / 800.0)), "{sounds}");
    let long = line.iter().filter(|note| note.length_s > 0.3).count() as f64 / line.len() as f64;
    assert!((0.28..0.45).contains(&long), "{long}");
    // Every chord is met by a note on its first beat.
    let on_change = line.iter().filter(|note| note.onset_s % 2.0 < 1e-6).count();
    assert_eq!(on_change, 100);
}

#[test]
fn most_changes_are_met_by_a_note_of_the_new_chord() {
    let mut met = 0;
    for seed in 0..5 {
        let (plan, line) = walk(seed);
        let on_change = line.iter().filter(|note| note.onset_s % 2.0 < 1e-6);
        met += on_change
            .filter(|note| plan.form.chords(note.bar)[0].degree(note.note.pitch_class()).is_some())
            .count();
    }
    // 85 of 100 changes are meant to be met, and some of the others are met by chance.
    assert!((425..=480).contains(&met), "{met} of 500");
}

#[test]
fn the_same_seed_plays_the_same_and_another_one_does_not() {
    assert_eq!(walk(7).1, walk(7).1);
    assert_ne!(walk(7).1, walk(8).1);
    let swung = plan("I7", Groove::Shuffle, 1).walk(&harp(), 0..8, 1);
    // In a shuffle the second eighth of a beat comes at two thirds of it, a third of a second.
    let off: Vec<f64> =
        swung.iter().map(|note| note.onset_s % 0.5).filter(|at| *at > 1e-6 && *at < 0.499).collect();
    assert!(!off.is_empty() && off.iter().all(|at| (at - 1.0 / 3.0).abs() < 1e-6), "{off:?}");
}
