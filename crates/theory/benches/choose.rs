//! How long choosing takes: every song key and position in every tuning. The goal is 50 ms for all of it.

use criterion::{Criterion, criterion_group, criterion_main};
use layout::{ConcertPitch, PitchClass, Tunings};
use std::hint::black_box;
use theory::{Ability, Level, NoteName, ScaleInKey, Scales, Song, choose, usual_harps};

/// 12 harp keys in 11 tunings, each in the position that the song's tonic gives it.
fn one_song(c: &mut Criterion) {
    let harps = usual_harps(&Tunings::ours(), ConcertPitch::ISO);
    let scales = Scales::ours();
    let Ok(blues) = scales.find("blues") else { return };
    let song = Song::new(ScaleInKey::new(blues.clone(), NoteName::usual(PitchClass::new(9))));
    let ability = Ability::new(Level::DrawBends);
    c.bench_function("choose: one song, all harps", |b| {
        b.iter(|| choose(black_box(&song), black_box(&harps), black_box(&ability)));
    });
}

/// The same for every song key, so that every harp is asked in all its twelve positions.
fn all_keys(c: &mut Criterion) {
    let harps = usual_harps(&Tunings::ours(), ConcertPitch::ISO);
    let scales = Scales::ours();
    let Ok(blues) = scales.find("blues") else { return };
    let songs: Vec<Song> = PitchClass::all()
        .map(|tonic| Song::new(ScaleInKey::new(blues.clone(), NoteName::usual(tonic))))
        .collect();
    let ability = Ability::new(Level::DrawBends);
    c.bench_function("choose: all keys x positions x tunings", |b| {
        b.iter(|| songs.iter().map(|song| choose(song, &harps, black_box(&ability)).len()).sum::<usize>());
    });
}

/// Reading our tunings and scales, which a command does once at its start.
fn reading(c: &mut Criterion) {
    c.bench_function("read our tunings and scales", |b| b.iter(|| (Tunings::ours(), Scales::ours())));
}

criterion_group!(benches, one_song, all_keys, reading);
criterion_main!(benches);
