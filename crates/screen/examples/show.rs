//! Plays a made-up player into the screen, to look at it in a terminal: `cargo run -p screen --example show`.
//!
//! Every try slides into the note from the natural reed, misses it by a few cents and wavers a little. An example may
//! read the clock; the screen itself never does.

use layout::{Breath, Harp, HarpKey, Technique, Way};
use pitch::Reading;
use practice::run::Running;
use practice::{Drill, Event as Said, Exercise, Item, Order, PlayOrder};
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{self, Event, KeyCode, KeyEvent, KeyModifiers};
use ratatui::layout::Rect;
use scoring::{Target, Tolerance};
use screen::keys::KeyMap;
use screen::{Action, App, Glyphs, Library, Look, Notice, Setup, Theme, View};
use std::io::Write;
use std::time::{Duration, Instant};

const RATE: f64 = 48_000.0;
const HOP: u64 = 256;

/// What the made-up player does with one try, by the seconds since it was asked: cents off the target, or silence.
fn played(t: f64, error: f64, start: f64) -> Option<f64> {
    let sounding = t - 0.8;
    if !(0.0..3.2).contains(&sounding) {
        return None;
    }
    let slide = (sounding / 0.35).min(1.0);
    let waver = 3.0 * (sounding * 11.0).sin() + 1.2 * (sounding * 47.0).sin();
    let sag = -4.0 * (sounding - 1.5).max(0.0);
    Some(start * (1.0 - slide * slide * (3.0 - 2.0 * slide)) + error + waver + sag)
}

struct Player {
    asked_at: u64,
    tries: usize,
}

impl Player {
    fn reading(&self, exercise: &Exercise, time: u64) -> Reading {
        let hz = match (exercise.session(), exercise.running()) {
            (Some(_), _) => self.asked(exercise, time),
            (None, Some(running)) => in_time(exercise, running),
            (None, None) => lick(exercise, time),
        };
        let sigma_cents = if hz.is_some() { 0.5 } else { 0.0 };
        let level_dbfs = if hz.is_some() { -18.0 } else { -70.0 };
        Reading { time, known: time + HOP, hz, sigma_cents, clarity: 0.9, level_dbfs, onset: false }
    }

    /// What the drill asks for, more or less.
    fn asked(&self, exercise: &Exercise, time: u64) -> Option<f64> {
        let errors = [4.0, -3.0, 31.0, -18.0, 9.0, -60.0];
        let error = errors[self.tries % errors.len()];
        let session = exercise.session()?;
        let target = session.target()?;
        let (hz, natural) = (target.hz(exercise.harp())?, exercise.harp().hz(target.way.natural())?);
        let start = layout::cents_between(hz, natural);
        let off = played((time.saturating_sub(self.asked_at)) as f64 / RATE, error, start)?;
        Some(hz * (off / 1200.0).exp2())
    }
}

/// A run: each note some milliseconds beside its beat and some cents off; one is left out.
fn in_time(exercise: &Exercise, running: &Running) -> Option<f64> {
    let errors = [(0.012, -4.0), (0.031, 38.0), (-0.07, 2.0), (0.004, -9.0), (0.018, 3.0), (0.08, 0.0)];
    let now = running.now()?;
    running.asked().iter().enumerate().filter(|(i, _)| *i != 4).find_map(|(i, asked)| {
        let (late, off) = errors[i % errors.len()];
        let within = now - asked.onset_s - late;
        let hz = exercise.harp().hz(asked.way)? * (off / 1200.0_f64).exp2();
        (0.0..0.75 * asked.length_s).contains(&within).then_some(hz)
    })
}

/// Free playing: notes of a third of a second, each sliding in a little.
fn lick(exercise: &Exercise, time: u64) -> Option<f64> {
    let tabs =
        ["-2", "-3'", "-4", "-4'", "4", "-3'", "-2", "6", "-6", "6o", "7", "-7", "8'", "9", "10''", "-2''"];
    let t = time as f64 / RATE / 0.45;
    let tab = tabs[t as usize % tabs.len()];
    let way = exercise.harp().ways().find(|way| layout::TabStyle::default().print(*way) == tab)?;
    let within = t.fract();
    let off = -30.0 * (1.0 - (within / 0.25).min(1.0)) + 4.0 * (within * 9.0).sin();
    (within < 0.85).then_some(exercise.harp().hz(way)? * (off / 1200.0).exp2())
}

fn drill() -> Drill {
    let items = [1, 2, 3]
        .map(|depth| Way::new(3, Breath::Draw, Technique::Bend(depth)))
        .into_iter()
        .chain([
            Way::new(6, Breath::Blow, Technique::Overbend),
            Way::new(8, Breath::Blow, Technique::Bend(1)),
        ])
        .map(|way| Item::single(Target { way, cents: 0.0, hold_s: 2.0 }, 3))
        .collect();
    Drill {
        name: "hole-3".to_owned(),
        title: "Three depths of hole 3".to_owned(),
        about: "Draw hole 3 bends a half step, a whole step and one and a half steps.".to_owned(),
        caution: None,
        tuning: None,
        items,
        order: PlayOrder::Written,
    }
}

fn drills() -> Vec<Drill> {
    practice::built_in().iter().filter_map(|(name, text)| Drill::read(name, text).ok()).collect()
}

fn setup() -> Setup {
    let has = |word: &str| std::env::args().any(|argument| argument == word);
    Setup {
        look: Look {
            theme: if has("mono") { Theme::MONO } else { Theme::COLOUR },
            glyphs: if has("ascii") { Glyphs::ASCII } else { Glyphs::UNICODE },
            ..Look::default()
        },
        keys: KeyMap::default(),
        drills: drills(),
        library: Library::default(),
        first: View::Home,
        reduced_motion: has("still"),
        today: course::Day(20_785),
        minutes: 15,
    }
}

/// The screen, what is practised on it, and who plays.
struct Shown {
    app: App,
    exercise: Exercise,
    player: Player,
    time: u64,
}

impl Shown {
    fn tell(&mut self, events: Vec<Said>) {
        for event in events {
            self.app.on_event(&event, &self.exercise);
            if let Said::Asked(_) = event {
                self.player = Player { asked_at: self.time, tries: self.player.tries + 1 };
            }
        }
    }

    fn order(&mut self, order: Order) {
        let events = self.exercise.order(order);
        self.tell(events);
    }

    /// False once the player wants to leave.
    fn key(&mut self, key: KeyEvent, at: Duration) -> bool {
        match self.app.on_key(key, at, &self.exercise) {
            Some(Action::Quit) => return false,
            Some(Action::StartDrill(_)) => self.order(Order::Drill(Box::new(drill()))),
            Some(Action::Order(order)) => self.order(order),
            _ => {}
        }
        true
    }

    /// Presses the keys of the argument that begins so.
    fn press_of(&mut self, argument: &str, from_s: u64) {
        let keys = std::env::args().find_map(|known| known.strip_prefix(argument).map(str::to_owned));
        self.press(&keys.unwrap_or_default(), from_s);
    }

    /// Presses keys, one a second.
    fn press(&mut self, keys: &str, from_s: u64) {
        for (c, second) in keys.chars().zip(from_s + 1..) {
            self.key(KeyEvent::new(KeyCode::Char(c), KeyModifiers::NONE), Duration::from_secs(second));
        }
    }

    fn hear(&mut self) {
        let reading = self.player.reading(&self.exercise, self.time);
        let events = self.exercise.hear(&reading);
        self.tell(events);
        self.app.on_reading(&reading, &self.exercise);
        self.time += HOP;
    }
}

fn main() -> std::io::Result<()> {
    let key: HarpKey = "C".parse().map_err(std::io::Error::other)?;
    let harp = Harp::richter(key);
    let app = App::new(setup(), &harp);
    let exercise = Exercise::new(harp, Tolerance::USUAL, RATE);
    let mut shown = Shown { app, exercise, player: Player { asked_at: 0, tries: 0 }, time: 0 };
    shown.app.on_notice(&Notice::Hearing("a made-up player".to_owned()));
    for argument in std::env::args() {
        match argument.as_str() {
            "drill" => shown.order(Order::Drill(Box::new(drill()))),
            // From the map, as a player does.
            "run" => shown.press("mt", 0),
            "listen" => shown.order(Order::PlayFreely),
            _ => {}
        }
    }
    shown.press_of("keys=", 2);
    if let Some(seconds) =
        std::env::args().find_map(|argument| argument.strip_prefix("svg=")?.parse::<f64>().ok())
    {
        return picture(&mut shown, seconds);
    }
    let mut terminal = ratatui::init();
    let result = run(&mut terminal, &mut shown);
    ratatui::restore();
    result
}

/// Plays for some seconds without a terminal and prints the screen as SVG.
fn picture(shown: &mut Shown, seconds: f64) -> std::io::Result<()> {
    while (shown.time as f64) < seconds * RATE {
        shown.hear();
    }
    shown.press_of("then=", 60);
    let size = |name: &str, usual: u16| {
        std::env::args().find_map(|argument| argument.strip_prefix(name)?.parse().ok()).unwrap_or(usual)
    };
    let area = Rect::new(0, 0, size("w=", 80), size("h=", 24));
    let mut buffer = Buffer::empty(area);
    shown.app.render(&shown.exercise, area, &mut buffer);
    std::io::stdout().write_all(screen::svg::render(&buffer).as_bytes())
}

fn run(terminal: &mut ratatui::DefaultTerminal, shown: &mut Shown) -> std::io::Result<()> {
    let begun = Instant::now();
    loop {
        while event::poll(Duration::from_millis(16))? {
            match event::read()? {
                Event::Key(key) if !shown.key(key, begun.elapsed()) => return Ok(()),
                Event::Resize(..) => shown.app.redraw(),
                _ => {}
            }
        }
        let now = (begun.elapsed().as_secs_f64() * RATE) as u64;
        while shown.time + HOP <= now {
            shown.hear();
        }
        if shown.app.needs_draw() {
            terminal.draw(|frame| shown.app.draw(&shown.exercise, frame))?;
            shown.app.drawn();
        }
    }
}
