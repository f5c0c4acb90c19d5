//! How long it takes to read a second of a recording.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros, clippy::unwrap_used)] // no callback, no user
#![allow(missing_docs)] // criterion_group! makes a public function

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use hound::{SampleFormat, WavSpec, WavWriter};
use sound::{Generator, Recording};
use std::hint::black_box;

const RATE: u32 = 48_000;

fn reading(criterion: &mut Criterion) {
    let folder = tempfile::tempdir().unwrap();
    let mut group = criterion.benchmark_group("a second of WAV");
    group.throughput(Throughput::Elements(u64::from(RATE)));
    for (name, channels, bits, sample_format) in
        [("mono, 16 bits", 1, 16, SampleFormat::Int), ("stereo, float", 2, 32, SampleFormat::Float)]
    {
        let path = folder.path().join(format!("{bits}.wav"));
        let spec = WavSpec { channels, sample_rate: RATE, bits_per_sample: bits, sample_format };
        let mut wav = WavWriter::create(&path, spec).unwrap();
        for n in 0..RATE * u32::from(channels) {
            let x = (f64::from(n) * 0.05).sin() * 0.5;
            match sample_format {
                SampleFormat::Float => wav.write_sample(x as f32).unwrap(),
                SampleFormat::Int => wav.write_sample((x * 32_767.0) as i16).unwrap(),
            }
        }
        wav.finalize().unwrap();
        let mut buf = [0.0; 1_024];
        group.bench_function(name, |bencher| {
            bencher.iter(|| {
                let mut recording = Recording::open(&path).unwrap();
                while recording.fill(black_box(&mut buf)) > 0 {}
            });
        });
    }
    group.finish();
}

criterion_group!(benches, reading);
criterion_main!(benches);
