//! Plays a made-up player into the screen, to look at it in a terminal: `cargo run -p screen --example show`.
//!
//! Every try slides into the note from the natural reed, misses it by a few cents and wavers a little. An example may
//! read the clock; the screen itself never does.

use layout::{Breath, Harp, HarpKey, Technique, Way};
use pitch::Reading;
use practice::{Drill, Item};
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{self, Event, KeyCode, KeyEvent, KeyModifiers};
use ratatui::layout::Rect;
use scoring::{Target, Tolerance};
use screen::keys::KeyMap;
use screen::{Action, App, DrillEntry, Glyphs, Look, Notice, Setup, Theme};
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
    fn reading(&self, app: &App, time: u64) -> Reading {
        let hz = if app.session().is_none() { lick(app, time) } else { self.asked(app, time) };
        let sigma_cents = if hz.is_some() { 0.5 } else { 0.0 };
        let level_dbfs = if hz.is_some() { -18.0 } else { -70.0 };
        Reading { time, known: time + HOP, hz, sigma_cents, clarity: 0.9, level_dbfs, onset: false }
    }

    /// What the drill asks for, more or less.
    fn asked(&self, app: &App, time: u64) -> Option<f64> {
        let errors = [4.0, -3.0, 31.0, -18.0, 9.0, -60.0];
        let error = errors[self.tries % errors.len()];
        app.session().and_then(|session| {
            let way = session.drill().items.get(session.item())?.target.way;
            let (target, natural) = (app.harp().hz(way)?, app.harp().hz(way.natural())?);
            let start = layout::cents_between(target, natural);
            let off = played((time.saturating_sub(self.asked_at)) as f64 / RATE, error, start)?;
            Some(target * (off / 1200.0).exp2())
        })
    }
}

/// Free playing: notes of a third of a second, each sliding in a little.
fn lick(app: &App, time: u64) -> Option<f64> {
    let tabs =
        ["-2", "-3'", "-4", "-4'", "4", "-3'", "-2", "6", "-6", "6o", "7", "-7", "8'", "9", "10''", "-2''"];
    let t = time as f64 / RATE / 0.45;
    let tab = tabs[t as usize % tabs.len()];
    let way = app.harp().ways().find(|way| layout::TabStyle::default().print(*way) == tab)?;
    let within = t.fract();
    let off = -30.0 * (1.0 - (within / 0.25).min(1.0)) + 4.0 * (within * 9.0).sin();
    (within < 0.85).then_some(app.harp().hz(way)? * (off / 1200.0).exp2())
}

fn drill() -> Drill {
    let items = [1, 2, 3]
        .map(|depth| Way::new(3, Breath::Draw, Technique::Bend(depth)))
        .into_iter()
        .chain([
            Way::new(6, Breath::Blow, Technique::Overbend),
            Way::new(8, Breath::Blow, Technique::Bend(1)),
        ])
        .map(|way| Item { target: Target { way, cents: 0.0, hold_s: 2.0 }, tries: 3 })
        .collect();
    Drill {
        name: "hole-3".to_owned(),
        title: "Three depths of hole 3".to_owned(),
        about: "Draw hole 3 bends a half step, a whole step and one and a half steps.".to_owned(),
        caution: None,
        items,
    }
}

fn drills(harp: &Harp) -> Vec<DrillEntry> {
    let parsed = practice::built_in().iter().filter_map(|(name, text)| Drill::parse(name, text, harp).ok());
    parsed.map(DrillEntry::from).collect()
}

fn setup(key: HarpKey) -> Setup {
    let has = |word: &str| std::env::args().any(|argument| argument == word);
    Setup {
        harp: Harp::richter(key),
        tolerance: Tolerance::USUAL,
        look: Look {
            theme: if has("mono") { Theme::MONO } else { Theme::COLOUR },
            glyphs: if has("ascii") { Glyphs::ASCII } else { Glyphs::UNICODE },
            ..Look::default()
        },
        keys: KeyMap::default(),
        drills: drills(&Harp::richter(key)),
        reduced_motion: has("still"),
    }
}

fn main() -> std::io::Result<()> {
    let key = "C".parse().map_err(std::io::Error::other)?;
    let mut app = App::new(setup(key));
    app.on_notice(&Notice::Hearing("a made-up player".to_owned()));
    if std::env::args().any(|argument| argument == "drill") {
        app.begin(drill(), RATE);
    }
    if std::env::args().any(|argument| argument == "listen") {
        app.listen();
    }
    if std::env::args().any(|argument| argument == "map") {
        app.map();
    }
    for key in std::env::args().filter_map(|argument| argument.strip_prefix("keys=").map(str::to_owned)) {
        for c in key.chars() {
            app.on_key(KeyEvent::new(KeyCode::Char(c), KeyModifiers::NONE));
        }
    }
    if let Some(seconds) =
        std::env::args().find_map(|argument| argument.strip_prefix("svg=")?.parse::<f64>().ok())
    {
        return picture(&mut app, seconds);
    }
    let mut terminal = ratatui::init();
    let result = run(&mut terminal, &mut app);
    ratatui::restore();
    result
}

/// Plays for some seconds without a terminal and prints the screen as SVG.
fn picture(app: &mut App, seconds: f64) -> std::io::Result<()> {
    let mut player = Player { asked_at: 0, tries: 0 };
    let mut time = 0;
    while (time as f64) < seconds * RATE {
        hear(app, &mut player, time);
        time += HOP;
    }
    let size = |name: &str, usual: u16| {
        std::env::args().find_map(|argument| argument.strip_prefix(name)?.parse().ok()).unwrap_or(usual)
    };
    let area = Rect::new(0, 0, size("w=", 80), size("h=", 24));
    let mut buffer = Buffer::empty(area);
    app.render(area, &mut buffer);
    std::io::stdout().write_all(screen::svg::render(&buffer).as_bytes())
}

fn hear(app: &mut App, player: &mut Player, time: u64) {
    app.on_readings(&[player.reading(app, time)], RATE);
    for event in app.take_events() {
        if let practice::Event::Asked(..) = event {
            *player = Player { asked_at: time, tries: player.tries + 1 };
        }
    }
}

fn run(terminal: &mut ratatui::DefaultTerminal, app: &mut App) -> std::io::Result<()> {
    let (begun, mut time) = (Instant::now(), 0);
    let mut player = Player { asked_at: 0, tries: 0 };
    loop {
        while event::poll(Duration::from_millis(16))? {
            match event::read()? {
                Event::Key(key) => match app.on_key(key) {
                    Some(Action::Quit) => return Ok(()),
                    Some(Action::StartDrill(_)) => app.begin(drill(), RATE),
                    _ => {}
                },
                Event::Resize(..) => app.redraw(),
                _ => {}
            }
        }
        let now = (begun.elapsed().as_secs_f64() * RATE) as u64;
        while time + HOP <= now {
            hear(app, &mut player, time);
            time += HOP;
        }
        if app.needs_draw() {
            terminal.draw(|frame| app.draw(frame))?;
            app.drawn();
        }
    }
}
