//! What a second of sound costs, by register and by sample rate.
#![allow(missing_docs, clippy::expect_used, reason = "a benchmark")]

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use pitch::reeds::{ReedSettings, Reeds};
use pitch::{Ear, Settings};
use std::hint::black_box;

/// One second of a note with falling harmonics.
fn second(hz: f64, rate: f64) -> Vec<f32> {
    let partials = (1..20).map(f64::from).take_while(|h| h * hz < 0.45 * rate);
    let partials: Vec<f64> = partials.collect();
    let at = |n: usize| {
        let turn = std::f64::consts::TAU * hz * n as f64 / rate;
        partials.iter().map(|h| (turn * h + h).sin() / h).sum::<f64>()
    };
    (0..rate as usize).map(|n| (0.1 * at(n)) as f32).collect()
}

fn listen(c: &mut Criterion, group: &str, cases: &[(f64, f64)]) {
    let mut group = c.benchmark_group(group);
    for (hz, rate) in cases {
        let samples = second(*hz, *rate);
        let mut ear = Ear::new(Settings::new(*rate)).expect("a rate in range");
        group.bench_function(BenchmarkId::from_parameter(format!("{hz} Hz at {rate} Hz")), |b| {
            b.iter(|| {
                ear.push(&samples, |reading| {
                    black_box(reading);
                });
            });
        });
    }
    group.finish();
}

fn by_register(c: &mut Criterion) {
    listen(c, "a second by register", &[(98.0, 48e3), (262.0, 48e3), (784.0, 48e3), (2_349.0, 48e3)]);
}

fn by_rate(c: &mut Criterion) {
    listen(c, "a second by rate", &[(440.0, 16e3), (440.0, 44.1e3), (440.0, 96e3), (440.0, 192e3)]);
}

/// The reeds of a Richter harp in C, at A4 = 440 Hz.
fn holes() -> Vec<[f64; 2]> {
    let hz = |semitones: i32| 261.625_565 * (f64::from(semitones) / 12.0).exp2();
    let blow = [0, 4, 7, 12, 16, 19, 24, 28, 31, 36];
    let draw = [2, 7, 11, 14, 17, 21, 23, 26, 29, 33];
    blow.into_iter().zip(draw).map(|(blow, draw)| [hz(blow), hz(draw)]).collect()
}

fn together(c: &mut Criterion) {
    let samples = second(262.0, 48e3);
    let settings = ReedSettings { sample_rate: 48e3, holes: holes() };
    let mut reeds = Reeds::new(settings).expect("a rate in range");
    c.bench_function("a second of telling reeds apart", |b| {
        b.iter(|| {
            reeds.push(&samples, |sounding| {
                black_box(sounding);
            });
        });
    });
}

criterion_group!(benches, by_register, by_rate, together);
criterion_main!(benches);
