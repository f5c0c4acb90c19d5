//! What judging costs: time for one second of readings (hop 120 at 48 kHz, as the ear gives them).

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use layout::{Breath, Harp, HarpKey, Note, Technique, Way};
use pitch::Reading;
use scoring::{Judge, Target, Tolerance};

const RATE: f64 = 48_000.0;
const HOP: u64 = 120;

/// `seconds` of readings, so many cents off the half step on 3 draw as `cents` says.
fn readings(harp: &Harp, seconds: f64, cents: impl Fn(f64) -> f64) -> Vec<Reading> {
    let hz = |t: f64| {
        harp.reed(3, Breath::Draw).and_then(|reed: Note| Some(harp.concert().hz(reed.up(-1)?, cents(t))))
    };
    let reading = |hop: u64| {
        let time = hop * HOP;
        Reading {
            time,
            known: time,
            hz: hz(time as f64 / RATE),
            sigma_cents: 0.1,
            clarity: 1.0,
            level_dbfs: -20.0,
            onset: hop == 0,
        }
    };
    (0..(seconds * RATE) as u64 / HOP).map(reading).collect()
}

fn judging(c: &mut Criterion) {
    let harp = Harp::richter(HarpKey::default());
    let target = Target { way: Way::new(3, Breath::Draw, Technique::Bend(1)), cents: 0.0, hold_s: 20.0 };
    let mut group = c.benchmark_group("judge");
    for (name, seconds, cents) in [
        ("first second held", 1.0, (|_| 3.0) as fn(f64) -> f64),
        ("twenty seconds held", 19.9, |_| 3.0),
        ("siren", 19.9, |t| 100.0 * (3.0 * t).sin()),
        ("wide vibrato", 19.9, |t| 60.0 * (31.0 * t).sin()),
    ] {
        let readings = readings(&harp, seconds, cents);
        group.throughput(Throughput::Elements(readings.len() as u64));
        group.bench_function(name, |b| {
            b.iter_batched_ref(
                || Judge::new(&harp, target, Tolerance::default(), RATE),
                |judge| {
                    let judge = judge.as_mut()?;
                    readings.iter().filter_map(|reading| judge.hear(reading)).last()
                },
                BatchSize::SmallInput,
            );
        });
    }
    group.finish();
}

criterion_group!(benches, judging);
criterion_main!(benches);
