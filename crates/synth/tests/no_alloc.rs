//! Rendering allocates nothing, so that it may run in a sound callback.
#![allow(clippy::unwrap_used, reason = "a helper of a test may panic as a test does")]

mod common;

use assert_no_alloc::{AllocDisabler, assert_no_alloc, violation_count};
use common::{RATE, harp, way};
use layout::{Breath, Technique};
use synth::{BandLimit, Click, Colour, Gesture, Hum, Metronome, Noise, Reverb, SimulatedPlayer, Tone, clip};

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
    let mut metronome = Metronome::new(Click::new(RATE, -12.0), 240.0, 4);
    let (mut noise, mut hum) = (Noise::new(RATE, Colour::Pink, -40.0, 1), Hum::new(RATE, 50.0, -50.0));
    let (mut reverb, mut band) = (Reverb::new(RATE, 0.5, -12.0), BandLimit::new(RATE, 200.0, 6000.0));
    let mut block = [0.0; 256];
    let before = violation_count();
    assert_no_alloc(|| {
        while !player.is_idle() {
            tone.fill(&mut block);
            player.fill(&mut block);
            metronome.add(&mut block);
            noise.add(&mut block);
            hum.add(&mut block);
            reverb.apply(&mut block);
            band.apply(&mut block);
            clip(&mut block, 0.3);
        }
    });
    assert!(player.position() > 20_000);
    assert_eq!(violation_count(), before);
}
