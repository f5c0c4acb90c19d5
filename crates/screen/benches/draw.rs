//! What a picture costs: `cargo bench -p screen`.

use criterion::{Criterion, criterion_group, criterion_main};
use layout::{Breath, Harp, HarpKey, Technique, Way};
use pitch::Reading;
use practice::{Drill, Item};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use scoring::{Target, Tolerance};
use screen::keys::KeyMap;
use screen::{App, Look, Setup};
use std::hint::black_box;

const RATE: f64 = 48_000.0;
const HOP: u64 = 128;

fn app(key: HarpKey) -> App {
    App::new(Setup {
        harp: Harp::richter(key),
        tolerance: Tolerance::USUAL,
        look: Look::default(),
        keys: KeyMap::default(),
        drills: Vec::new(),
        reduced_motion: false,
    })
}

fn drill() -> Drill {
    let way = Way::new(3, Breath::Draw, Technique::Bend(1));
    let item = Item { target: Target { way, cents: 0.0, hold_s: 20.0 }, tries: 1 };
    Drill {
        name: "one".to_owned(),
        title: "One note".to_owned(),
        about: String::new(),
        caution: None,
        items: vec![item],
    }
}

/// A wavering B♭4.
fn reading(step: u64) -> Reading {
    let hz = 466.16 * (1.0 + 0.002 * (step as f64 / 9.0).sin());
    let time = step * HOP;
    Reading {
        time,
        known: time + HOP,
        hz: Some(hz),
        sigma_cents: 0.5,
        clarity: 0.9,
        level_dbfs: -18.0,
        onset: false,
    }
}

fn pictures(criterion: &mut Criterion) {
    let Some(key) = HarpKey::all().nth(19) else { return };
    let area = Rect::new(0, 0, 80, 24);
    let mut buffer = Buffer::empty(area);
    let mut draw = |name: &str, app: &App| {
        criterion.bench_function(name, |bench| {
            bench.iter(|| {
                buffer.reset();
                app.render(area, black_box(&mut buffer));
            });
        });
    };
    let mut drilling = app(key);
    drilling.begin(drill(), RATE);
    let mut listening = app(key);
    listening.listen();
    for step in 0..2000 {
        drilling.on_readings(&[reading(step)], RATE);
        listening.on_readings(&[reading(step)], RATE);
    }
    draw("draw the drill", &drilling);
    draw("draw free playing", &listening);
    let mut map = app(key);
    map.map();
    draw("draw the map", &map);
    criterion.bench_function("hear one reading in a drill", |bench| {
        let mut step = 2000;
        bench.iter(|| {
            drilling.on_readings(black_box(&[reading(step)]), RATE);
            step += 1;
        });
    });
}

criterion_group!(benches, pictures);
criterion_main!(benches);
