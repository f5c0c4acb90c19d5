//! What a second of sound costs: `cargo bench -p synth`.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    reason = "a benchmark may panic, and its macros write undocumented items"
)]

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use layout::{Breath, Harp, Technique, Way};
use std::hint::black_box;
use synth::{Band, BandPlan, Gesture, SimulatedPlayer, Tone};
use theory::{Chord, ChordKind, Groove};

const RATE: f64 = 48_000.0;

/// Blocks of 10 ms make up the second.
const BLOCK: usize = 480;

fn player(key: &str, gesture: Option<Gesture>) -> SimulatedPlayer {
    let mut player = SimulatedPlayer::new(&Harp::richter(key.parse().unwrap()), RATE, 1);
    if let Some(gesture) = gesture {
        player.play(gesture.rest(0.0).seconds(3600.0)).unwrap();
    }
    player
}

/// A seventh chord at a usual tempo.
fn seventh(feel: Groove) -> BandPlan {
    let kind = ChordKind::ALL.iter().find(|kind| kind.symbol() == "7").unwrap();
    let root = layout::PitchClass::new(9);
    BandPlan::new(&[vec![Chord { root, kind, bass: root }]], feel, 100.0).unwrap()
}

fn fill(criterion: &mut Criterion) {
    let natural = |hole, breath| Way::new(hole, breath, Technique::Natural);
    let bend = Gesture::new(Way::new(3, Breath::Draw, Technique::Bend(1))).vibrato(5.0, 10.0);
    let cases = vec![
        ("room alone", player("C", None)),
        ("lowest reed, low low F", player("low low F", Some(Gesture::new(natural(1, Breath::Blow))))),
        ("bend with vibrato, C", player("C", Some(bend))),
        ("highest reed, high G", player("high G", Some(Gesture::new(natural(10, Breath::Blow))))),
        (
            "chord of three with a leak, C",
            player(
                "C",
                Some(Gesture::chord(&[1, 2, 3].map(|hole| natural(hole, Breath::Draw))).leak(4, -20.0)),
            ),
        ),
    ];
    let mut group = criterion.benchmark_group("one second at 48 kHz");
    group.throughput(Throughput::Elements(48_000)).sample_size(20);
    for (name, mut player) in cases {
        let mut block = [0.0; BLOCK];
        group.bench_function(name, |bencher| {
            bencher.iter(|| (0..100).for_each(|_| player.fill(black_box(&mut block))));
        });
    }
    let mut tone = Tone::new(440.0, RATE).unwrap();
    let mut block = [0.0; BLOCK];
    group.bench_function("reference tone", |bencher| {
        bencher.iter(|| (0..100).for_each(|_| tone.fill(black_box(&mut block))));
    });
    for feel in Groove::ALL {
        let mut band = Band::new(&seventh(feel), RATE);
        group.bench_function(format!("band, {feel:?}"), |bencher| {
            bencher.iter(|| {
                for _ in 0..100 {
                    band.fill(black_box(&mut block));
                }
            });
        });
    }
    group.finish();
}

criterion_group!(benches, fill);
criterion_main!(benches);
