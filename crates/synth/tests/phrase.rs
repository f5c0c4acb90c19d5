//! Notes at a tempo fall where they should.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use common::{RATE, harp, quiet, way};
use layout::{Breath, Technique, Way};
use proptest::prelude::*;
use synth::{Phrase, Played};

fn four_draw() -> Way {
    way(4, Breath::Draw, Technique::Natural)
}

fn queued(phrase: &Phrase, notes: &[(Option<Way>, f64)]) -> Vec<Played> {
    let mut player = quiet(&harp("C"), RATE, 1);
    phrase.gestures(notes).iter().map(|gesture| player.play(gesture).unwrap()).collect()
}

#[test]
fn sixteenths_at_120_begin_every_eighth_of_a_second() {
    let notes = [(Some(four_draw()), 0.25); 16];
    for (i, played) in (0u64..).zip(queued(&Phrase::new(120.0), &notes)) {
        assert_eq!(played.began, i * 6000);
        assert_eq!(played.ended, i * 6000 + 5400);
    }
}

#[test]
fn rests_take_their_time() {
    let notes = [(None, 1.0), (Some(four_draw()), 1.0), (None, 2.0), (Some(four_draw()), 0.5)];
    let began: Vec<u64> = queued(&Phrase::new(60.0), &notes).iter().map(|played| played.began).collect();
    assert_eq!(began, [48_000, 4 * 48_000]);
}

#[test]
fn long_phrase_keeps_its_tempo() {
    // A beat at 137 bpm is no whole number of samples.
    let notes = vec![(Some(four_draw()), 1.0); 2000];
    let last = *queued(&Phrase::new(137.0), &notes).last().unwrap();
    assert_eq!(last.began, (1999.0 * 60.0 / 137.0 * RATE).round() as u64);
}

#[test]
fn lateness_moves_the_start_and_leaves_the_end() {
    let notes = [(Some(four_draw()), 1.0); 4];
    let straight = queued(&Phrase::new(120.0), &notes);
    let late = queued(&Phrase::new(120.0).late(0.03), &notes);
    let early = queued(&Phrase::new(120.0).late(-0.03), &notes);
    for i in 1..4 {
        assert_eq!(late[i].began, straight[i].began + 1440);
        assert_eq!(early[i].began, straight[i].began - 1440);
        assert_eq!(late[i].ended, straight[i].ended);
        assert_eq!(early[i].ended, straight[i].ended);
    }
}

#[test]
fn scatter_has_the_size_it_was_given() {
    let notes = [(Some(four_draw()), 1.0); 1000];
    let phrase = Phrase::new(120.0).scatter(0.02, 5);
    let errors: Vec<f64> = (0u64..)
        .zip(queued(&phrase, &notes))
        .map(|(i, played)| (played.began as f64 - (i * 24_000) as f64) / RATE)
        .skip(1)
        .collect();
    let mean = errors.iter().sum::<f64>() / 999.0;
    let spread = (errors.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / 999.0).sqrt();
    assert!(mean.abs() < 0.002, "{mean}");
    assert!((spread - 0.02).abs() < 0.0015, "{spread}");
}

proptest! {
    #[test]
    fn notes_never_overlap(
        bpm in 0.0..600.0f64, late in -1.0..1.0f64, scatter in 0.0..0.3f64, share in 0.0..1.5f64, seed: u64,
        lengths in prop::collection::vec(0.1..4.0f64, 1..20),
    ) {
        let notes: Vec<_> = lengths.iter().map(|beats| (Some(four_draw()), *beats)).collect();
        let phrase = Phrase::new(bpm).late(late).scatter(scatter, seed).sounding(share);
        let played = queued(&phrase, &notes);
        prop_assert!(played.iter().all(|p| p.began <= p.released && p.released < p.ended));
        prop_assert!(played.windows(2).all(|pair| pair[0].ended <= pair[1].began));
    }
}
