//! What a picture costs: `cargo bench -p screen`.

use criterion::{Criterion, criterion_group, criterion_main};
use layout::{Breath, Harp, HarpKey, Technique, Way};
use pitch::Reading;
use practice::{Drill, Event, Exercise, Item, Order, PlayOrder};
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::layout::Rect;
use scoring::{Target, Tolerance};
use screen::keys::KeyMap;
use screen::{App, Library, Look, Setup, View};
use std::hint::black_box;
use std::time::Duration;

const RATE: f64 = 48_000.0;
const HOP: u64 = 128;

/// A screen and what is practised on it.
struct Shown {
    app: App,
    exercise: Exercise,
}

impl Shown {
    fn new(key: HarpKey) -> Self {
        let setup = Setup {
            look: Look::default(),
            keys: KeyMap::default(),
            drills: Vec::new(),
            library: Library::default(),
            first: View::Home,
            reduced_motion: false,
            today: course::Day(20_785),
            minutes: 15,
        };
        let exercise = Exercise::new(Harp::richter(key), Tolerance::USUAL, RATE);
        Self { app: App::new(setup, exercise.harp()), exercise }
    }

    fn tell(&mut self, events: &[Event]) {
        for event in events {
            self.app.on_event(event, &self.exercise);
        }
    }

    fn order(mut self, order: Order) -> Self {
        let events = self.exercise.order(order);
        self.tell(&events);
        self
    }

    fn hear(&mut self, reading: &Reading) {
        let events = self.exercise.hear(reading);
        self.tell(&events);
        self.app.on_reading(reading, &self.exercise);
    }
}

fn drill() -> Drill {
    let way = Way::new(3, Breath::Draw, Technique::Bend(1));
    let item = Item::single(Target { way, cents: 0.0, hold_s: 20.0 }, 1);
    Drill {
        name: "one".to_owned(),
        title: "One note".to_owned(),
        about: String::new(),
        caution: None,
        tuning: None,
        items: vec![item],
        order: PlayOrder::Written,
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
    let mut draw = |name: &str, shown: &Shown| {
        criterion.bench_function(name, |bench| {
            bench.iter(|| {
                buffer.reset();
                shown.app.render(&shown.exercise, area, black_box(&mut buffer));
            });
        });
    };
    let mut drilling = Shown::new(key).order(Order::Drill(Box::new(drill())));
    let mut listening = Shown::new(key).order(Order::PlayFreely);
    for step in 0..2000 {
        drilling.hear(&reading(step));
        listening.hear(&reading(step));
    }
    draw("draw the drill", &drilling);
    draw("draw free playing", &listening);
    let mut map = Shown::new(key);
    map.app.on_key(KeyEvent::new(KeyCode::Char('m'), KeyModifiers::NONE), Duration::ZERO, &map.exercise);
    draw("draw the map", &map);
    criterion.bench_function("hear one reading in a drill", |bench| {
        let mut step = 2000;
        bench.iter(|| {
            drilling.hear(black_box(&reading(step)));
            step += 1;
        });
    });
}

criterion_group!(benches, pictures);
criterion_main!(benches);
