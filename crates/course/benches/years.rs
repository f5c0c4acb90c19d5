//! What a plan and a page of progress cost after one year and after ten of daily practice.

use course::{
    Day, NoteDay, PaceDay, Past, PlayedDay, Progress, Skills, ThingDay, Today, Wish, by_difficulty,
};
use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use layout::Harp;
use std::hint::black_box;
use theory::Ability;

/// So many years of a player who tries twelve bends a day and plays five pieces.
fn past(years: i32) -> (Past, Day) {
    let harp = Harp::richter("C".parse().unwrap_or_else(|_| unreachable!()));
    let ways = by_difficulty(&harp);
    let mut past = Past::default();
    for number in 0..365 * years {
        let day = Day(number);
        for turn in 0..12_usize {
            let way = ways[(turn + number as usize) % ways.len()];
            let landed = (3 + number as u32 + turn as u32) % 9;
            past.notes.push(NoteDay {
                day,
                way,
                tries: 9,
                landed,
                measured: 8,
                cents: 40.0,
                cents_squared: 900.0,
            });
        }
        for turn in 0..5 {
            let name = format!("run piece {}", (number + turn) % 30);
            past.things.push(ThingDay { day, name: name.clone(), of: 60, good: 50, tempo: Some(80.0) });
            past.paces.push(PaceDay { day, name, tempo: 60.0 + f64::from(number % 40), runs: 4, clean: 2 });
        }
        past.played.push(PlayedDay { day, seconds: 900 });
    }
    (past, Day(365 * years))
}

fn bench(criterion: &mut Criterion) {
    let harp = Harp::richter("C".parse().unwrap_or_else(|_| unreachable!()));
    let claimed = Ability::default();
    let mut group = criterion.benchmark_group("years of daily practice");
    for years in [1, 10] {
        let (past, today) = past(years);
        let wish = Wish { harp: &harp, claimed: &claimed, minutes: 15, offers: &[], asked: &[] };
        group.bench_function(BenchmarkId::new("plan", years), |b| {
            b.iter(|| Today::plan(black_box(&past), today, &wish));
        });
        group.bench_function(BenchmarkId::new("ability", years), |b| {
            b.iter(|| Skills::of(black_box(&past), &claimed, today).ability());
        });
        group.bench_function(BenchmarkId::new("progress", years), |b| {
            b.iter(|| Progress::of(black_box(&past), &claimed, today, 30));
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
