//! Rendering allocates nothing, so that it may run in a sound callback.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use assert_no_alloc::{AllocDisabler, assert_no_alloc, violation_count};
use common::{RATE, harp, way};
use layout::{Breath, Technique};
use synth::{Band, BandPlan, Gesture, SimulatedPlayer, Tone};
use theory::{Chord, ChordKind, Groove};

#[global_allocator]
static ALLOCATOR: AllocDisabler = AllocDisabler;

#[test]
fn nothing_allocates_while_it_renders() {
    let chord = [1, 2, 3, 4, 5, 6].map(|hole| way(hole, Breath::Draw, Technique::Natural));
    let overblow = way(6, Breath::Blow, Technique::Overbend);
    // A clone must be as ready as the original.
    let mut player = SimulatedPlayer::new(&harp("C"), RATE, 1).clone();
    player.play(Gesture::chord(&chord).seconds(0.1).leak(7, -20.0).breath_before(-50.0)).unwrap();
    player.play(Gesture::new(overblow).seconds(0.1).pop(0.05).vibrato(5.0, 10.0)).unwrap();
    player.play(Gesture::new(overblow).seconds(0.1).squeak(0.05)).unwrap();
    let mut tone = Tone::new(440.0, RATE).unwrap().lasting(0.2);
    let ninth = ChordKind::ALL.iter().find(|kind| kind.symbol() == "9").unwrap();
    let root = layout::PitchClass::new(9);
    let bars = [vec![Chord { root, kind: ninth, bass: root }; 2]];
    let plan = BandPlan::new(&bars, Groove::SlowTwelve, 240.0).unwrap().beats(6).unwrap();
    let mut band = Band::new(&plan, RATE);
    let mut block = [0.0; 256];
    let before = violation_count();
    assert_no_alloc(|| {
        while !player.is_idle() {
            tone.fill(&mut block);
            player.fill(&mut block);
            band.fill(&mut block);
        }
    });
    assert!(player.position() > 20_000);
    assert_eq!(violation_count(), before);
}
