//! The same seed gives the same samples, in whatever blocks they are asked for.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use common::harp;
use layout::Harp;
use proptest::prelude::*;
use synth::{Gesture, SimulatedPlayer, SynthError};

/// A player with a few gestures of every kind queued.
fn busy(harp: &Harp, seed: u64) -> Result<SimulatedPlayer, SynthError> {
    let mut player = SimulatedPlayer::new(harp, 16_000.0, seed);
    let way = harp.ways().nth((seed % 36) as usize).unwrap_or(harp.ways().next().unwrap());
    let bend = Gesture::new(way).rest(0.02).seconds(0.1).glide(0.05).overshoot(20.0, 0.05);
    player.play(bend.clone().breath_before(-50.0).vibrato(6.0, 10.0))?;
    player.play(bend.pop(0.02).leak(way.hole % 10 + 1, -20.0))?;
    player.play(Gesture::new(way).rest(0.01).seconds(0.05).squeak(0.04))?;
    Ok(player)
}

/// Renders `total` samples in blocks of these sizes, over and over.
fn rendered(player: &mut SimulatedPlayer, blocks: &[usize], total: usize) -> Vec<u32> {
    let mut sound = vec![0.0f32; total];
    let mut rest = sound.as_mut_slice();
    for size in blocks.iter().cycle() {
        let size = (*size).min(rest.len());
        let (block, tail) = std::mem::take(&mut rest).split_at_mut(size);
        player.fill(block);
        rest = tail;
        if rest.is_empty() {
            break;
        }
    }
    sound.iter().map(|x| x.to_bits()).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn blocks_make_no_difference(seed: u64, blocks in prop::collection::vec(1usize..700, 1..12)) {
        let harp = harp("C");
        let (mut whole, mut split) = (busy(&harp, seed).unwrap(), busy(&harp, seed).unwrap());
        let total = 12_000;
        prop_assert_eq!(rendered(&mut whole, &[total], total), rendered(&mut split, &blocks, total));
        prop_assert_eq!(whole.position(), total as u64);
        prop_assert_eq!(split.position(), total as u64);
        prop_assert!(whole.is_idle() && split.is_idle());
    }
}

#[test]
fn another_seed_sounds_different() {
    let harp = harp("C");
    let take = |seed| rendered(&mut busy(&harp, seed).unwrap(), &[512], 4096);
    assert_eq!(take(36), take(36));
    assert_ne!(take(36), take(72));
}

#[test]
fn gestures_can_be_added_while_it_plays() {
    let harp = harp("C");
    let way = harp.ways().next().unwrap();
    let short = Gesture::new(way).rest(0.1).seconds(0.2);
    let mut at_once = SimulatedPlayer::new(&harp, 16_000.0, 9);
    let first = at_once.play(&short).unwrap();
    let second = at_once.play(&short).unwrap();
    let mut later = SimulatedPlayer::new(&harp, 16_000.0, 9);
    later.play(&short).unwrap();
    let mut halfway = rendered(&mut later, &[100], first.began as usize + 800);
    assert_eq!(later.play(&short).unwrap(), second);
    halfway.extend(rendered(&mut later, &[100], 12_000 - halfway.len()));
    assert_eq!(rendered(&mut at_once, &[12_000], 12_000), halfway);
}

#[test]
fn rest_counts_from_now_when_nothing_was_left_to_play() {
    let harp = harp("C");
    let mut player = SimulatedPlayer::new(&harp, 16_000.0, 9);
    rendered(&mut player, &[333], 5000);
    let played = player.play(Gesture::new(harp.ways().next().unwrap()).rest(0.5)).unwrap();
    assert_eq!(played.began, 5000 + 8000);
}

#[test]
fn hush_releases_what_sounds_and_forgets_the_rest() {
    let harp = harp("C");
    let note = Gesture::new(harp.ways().next().unwrap()).rest(0.1).seconds(1.0);
    let mut player = SimulatedPlayer::new(&harp, 16_000.0, 9).with_room(f64::NEG_INFINITY);
    player.play(&note).unwrap();
    player.play(&note).unwrap();
    rendered(&mut player, &[100], 8_000);
    player.hush();
    let played: Vec<_> = player.played().copied().collect();
    assert_eq!(played.len(), 1);
    assert_eq!((played[0].released, played[0].ended), (8_000, 8_640));
    let tail = rendered(&mut player, &[100], 1_000);
    assert!(player.is_idle());
    assert!(
        tail[..600].iter().any(|x| f32::from_bits(*x) != 0.0)
            && tail[640..].iter().all(|x| f32::from_bits(*x) == 0.0)
    );
    assert_eq!(player.play(&note).unwrap().began, 9_000 + 1_600);
    player.hush();
    assert!(player.is_idle(), "a gesture that has not begun is forgotten whole");
    assert_eq!(player.played().len(), 1);
}
