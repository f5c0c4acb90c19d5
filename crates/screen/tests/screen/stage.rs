//! Fixed players and fixed readings for the tests.

use course::{Day, Past};
use layout::{Breath, Harp, TabStyle, Technique, Way};
use pitch::Reading;
use pitch::reeds::{ReedSettings, Reeds};
use practice::run::{Clicking, Material, Metre, Plan, Rhythm, RunPhase, StartAt, Swing, Tempi, Tempo, Value};
use practice::{Drill, Event, Exercise, Order};
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use scoring::Tolerance;
use screen::keys::KeyMap;
use screen::{Action, App, Glyphs, Library, Look, Notice, Setup, Theme, View};
use std::time::Duration;

/// Samples a second, and samples from one reading to the next: ten milliseconds.
pub(crate) const RATE: f64 = 48_000.0;
const HOP: u64 = 480;

/// The day of the tests: Saturday, 28 November 2026.
pub(crate) const TODAY: Day = Day(20_785);

/// A screen, what is practised on it, and somebody who plays.
pub(crate) struct Stage {
    pub(crate) app: App,
    pub(crate) exercise: Exercise,
    /// What the exercise has said since the start.
    pub(crate) said: Vec<Event>,
    time: u64,
    /// The time of the last key: a second passes from one to the next.
    pub(crate) clock: Duration,
}

pub(crate) fn colour() -> Look {
    Look::default()
}

pub(crate) fn mono_ascii() -> Look {
    Look { theme: Theme::MONO, glyphs: Glyphs::ASCII, ..Look::default() }
}

/// The built-in drill of this name.
pub(crate) fn drill(name: &str, harp: &Harp) -> Drill {
    let (name, text) = practice::built_in().iter().find(|(known, _)| *known == name).unwrap();
    Drill::parse(name, text, harp).unwrap()
}

/// A short drill of this line of tab, two tries a note, each held for a second.
pub(crate) fn own_drill(tab: &str, harp: &Harp) -> Drill {
    let items: String = tab.split_whitespace().fold(String::new(), |text, play| {
        text + "[[item]]\nplay = \"" + play + "\"\ntries = 2\nhold = 1.0\n"
    });
    let text = format!("title = \"A drill for the test\"\nabout = \"A few notes.\"\n{items}");
    Drill::parse("test", &text, harp).unwrap()
}

/// The first screen with every built-in drill.
fn app(look: Look, first: View, reduced_motion: bool, harp: &Harp) -> App {
    let drills = practice::built_in().iter().map(|(name, text)| Drill::read(name, text).unwrap()).collect();
    let (keys, library) = (KeyMap::default(), Library::default());
    let mut app = App::new(
        Setup { look, keys, drills, library, first, reduced_motion, today: TODAY, minutes: 15 },
        harp,
    );
    app.on_notice(&Notice::Hearing("Desk microphone".to_owned()));
    app
}

impl Stage {
    fn with(look: Look, reduced_motion: bool) -> Self {
        Self::on(Harp::richter("C".parse().unwrap()), look, reduced_motion)
    }

    /// With this harp in the hand.
    pub(crate) fn on(harp: Harp, look: Look, reduced_motion: bool) -> Self {
        let app = app(look, View::Home, reduced_motion, &harp);
        Self {
            app,
            exercise: Exercise::new(harp, Tolerance::USUAL, RATE),
            said: Vec::new(),
            time: 0,
            clock: Duration::ZERO,
        }
    }

    /// A C harp in the hand, a microphone on the table.
    pub(crate) fn new(look: Look) -> Self {
        Self::with(look, false)
    }

    /// The screen of a program that begins in this view.
    pub(crate) fn beginning_in(first: View) -> Self {
        Self::beginning_with(colour(), first)
    }

    /// The screen of a program that begins in this view, with this look.
    pub(crate) fn beginning_with(look: Look, first: View) -> Self {
        let stage = Self::new(look.clone());
        let app = app(look, first, false, stage.harp());
        Self { app, ..stage }
    }

    /// A C harp in the hand, and a screen on which nothing moves.
    pub(crate) fn still(look: Look) -> Self {
        Self::with(look, true)
    }

    /// Offers other drills and another library.
    pub(crate) fn offer(&mut self, drills: Vec<Drill>, library: Library) {
        self.app.offer(drills, library, self.exercise.harp());
    }

    /// Remembers what was practised until today.
    pub(crate) fn remember(&mut self, past: Past) {
        self.app.remember(past, TODAY, self.exercise.harp());
    }

    /// The harp in the hand.
    pub(crate) fn harp(&self) -> &Harp {
        self.exercise.harp()
    }

    /// Hands the screen what the exercise said.
    fn tell(&mut self, events: Vec<Event>) {
        for event in &events {
            self.app.on_event(event, &self.exercise);
        }
        self.said.extend(events);
    }

    /// Does what the player wants.
    pub(crate) fn order(&mut self, order: Order) {
        let events = self.exercise.order(order);
        self.tell(events);
    }

    /// Loses samples, as a device does that goes away.
    pub(crate) fn lose(&mut self, notice: &Notice) {
        let events = self.exercise.gap();
        self.tell(events);
        self.app.on_notice(notice);
    }

    /// Begins a drill of these notes.
    pub(crate) fn begin(&mut self, tab: &str) {
        let drill = own_drill(tab, self.harp());
        self.start(drill);
    }

    /// Begins a drill.
    pub(crate) fn start(&mut self, drill: Drill) {
        self.order(Order::Drill(Box::new(drill)));
    }

    /// Presses the key of a character.
    pub(crate) fn press(&mut self, key: char) -> Option<Action> {
        self.press_code(KeyCode::Char(key))
    }

    /// Presses a key, and does what it asks of the exercise, as the program does.
    pub(crate) fn press_code(&mut self, code: KeyCode) -> Option<Action> {
        self.clock += Duration::from_secs(1);
        let action = self.app.on_key(KeyEvent::new(code, KeyModifiers::NONE), self.clock, &self.exercise);
        let harp = self.harp();
        match action.clone()? {
            Action::Order(order) => self.order(order),
            Action::BeginAnew(key, tuning, drill) => {
                let harp = Harp::new(key, tuning, harp.concert());
                self.order(Order::TakeHarp(Box::new(harp)));
                self.start(*drill);
            }
            Action::SetReeds(harp) => self.order(Order::TakeHarp(harp)),
            Action::TakeHarp(key, tuning) => {
                let harp = Harp::new(key, tuning, harp.concert());
                self.order(Order::TakeHarp(Box::new(harp)));
            }
            _ => {}
        }
        action
    }

    pub(crate) fn way(&self, tab: &str) -> Way {
        let style = TabStyle::default();
        self.harp().ways().find(|way| style.print(*way) == tab).unwrap()
    }

    /// Hears `seconds` of a frequency given by the seconds since its start.
    pub(crate) fn hear(&mut self, seconds: f64, hz: impl Fn(f64) -> Option<f64>) {
        for step in 0..(seconds * RATE / HOP as f64).round() as u64 {
            let hz = hz((step * HOP) as f64 / RATE);
            self.hear_one(hz, hz.is_some() && step == 0);
        }
    }

    /// Hears one reading.
    fn hear_one(&mut self, hz: Option<f64>, onset: bool) {
        let level_dbfs = if hz.is_some() { -18.0 } else { -70.0 };
        let reading = Reading {
            time: self.time,
            known: self.time + HOP,
            hz,
            sigma_cents: 0.5,
            clarity: 0.9,
            level_dbfs,
            onset,
        };
        let events = self.exercise.hear(&reading);
        self.tell(events);
        self.app.on_reading(&reading, &self.exercise);
        if let Some(Action::Order(order)) = self.app.next_block(&self.exercise) {
            self.order(order);
        }
        self.time += HOP;
    }

    /// Runs over these notes, in eighths at 80 and 4/4. The delay is known of the built-in player only.
    pub(crate) fn in_time(&mut self, tab: &str, runs: u32, delay_s: Option<f64>) {
        self.in_time_with(tab, (runs, delay_s), Clicking::default());
    }

    /// Runs over these notes, as [`Stage::in_time`], with a click of this kind.
    pub(crate) fn in_time_with(
        &mut self,
        tab: &str,
        (runs, delay_s): (u32, Option<f64>),
        clicking: Clicking,
    ) {
        let ways: Vec<Way> = tab.split_whitespace().map(|one| self.way(one)).collect();
        let rhythm =
            Rhythm::new(Tempo::new(80.0).unwrap(), Metre::COMMON, Value::EIGHTHS, Swing::STRAIGHT).unwrap();
        let material = Material::of_ways("G blues, up and down".to_owned(), &ways, rhythm).unwrap();
        self.in_time_over(material, (runs, delay_s), clicking);
    }

    /// Runs over any material.
    pub(crate) fn in_time_over(
        &mut self,
        material: Material,
        (runs, delay_s): (u32, Option<f64>),
        clicking: Clicking,
    ) {
        let start = StartAt::CountIn;
        let tempi = Tempi::Steps;
        let plan =
            Plan { material, start, runs, tempi, own_tempo_first: false, clicking, over: None, delay_s };
        self.order(Order::Run(Box::new(plan)));
        self.hear_one(None, false);
    }

    /// Plays on in a run until so many seconds from its first beat, or until it is over: each note of it, by its index,
    /// so many seconds late and so many cents off, or not at all.
    pub(crate) fn play_run(&mut self, until_s: f64, does: impl Fn(usize) -> Option<(f64, f64)>) {
        let mut sounded = None;
        while let Some(running) = self.exercise.running()
            && matches!(running.phase(), RunPhase::CountIn | RunPhase::Playing)
            && running.now().is_none_or(|now| now < until_s)
        {
            let now = running.now().unwrap_or(f64::NEG_INFINITY);
            let sounding = running.asked().iter().enumerate().find_map(|(i, asked)| {
                let (late, cents) = does(i)?;
                let within = now - asked.onset_s - late;
                let hz = self.harp().hz(asked.way)? * (cents / 1200.0).exp2();
                (0.0..0.75 * asked.length_s).contains(&within).then_some((i, hz))
            });
            let which = sounding.map(|(i, _)| i);
            self.hear_one(sounding.map(|(_, hz)| hz), which.is_some() && which != sounded);
            sounded = which;
        }
    }

    /// Hears reeds together for half a second, each so many decibels below full scale: twelve harmonics of each,
    /// through the ear for reeds that the program has.
    pub(crate) fn hear_reeds(&mut self, reeds: &[(&str, f64)]) {
        let harp = self.harp().clone();
        let reed = |hole, breath| harp.hz(Way::new(hole, breath, Technique::Natural)).unwrap();
        let holes = (1..=10).map(|hole| [reed(hole, Breath::Blow), reed(hole, Breath::Draw)]).collect();
        let mut ear = Reeds::new(ReedSettings { sample_rate: RATE, holes }).unwrap();
        let tones: Vec<(f64, f64)> = reeds
            .iter()
            .map(|(tab, dbfs)| (harp.hz(self.way(tab)).unwrap(), 10f64.powf(dbfs / 20.0)))
            .collect();
        let sample = |n: u32| {
            let turn = std::f64::consts::TAU * f64::from(n) / RATE;
            let tone = |(hz, level): &(f64, f64)| {
                (1..=12).map(|k| level * (turn * hz * f64::from(k)).sin() / f64::from(k)).sum::<f64>()
            };
            tones.iter().map(tone).sum::<f64>() as f32
        };
        let samples: Vec<f32> = (0..(RATE / 2.0) as u32).map(sample).collect();
        ear.push(&samples, |now| {
            let events = self.exercise.hear_reeds(&now);
            self.tell(events);
            self.app.on_reeds(&self.exercise);
        });
    }

    /// Silence.
    pub(crate) fn rest(&mut self, seconds: f64) {
        self.hear(seconds, |_| None);
    }

    /// Plays a note so many cents off, sliding into it from the natural note for 0.3 s.
    pub(crate) fn play(&mut self, tab: &str, off: f64, seconds: f64) {
        let way = self.way(tab);
        let (hz, from) = (self.harp().hz(way).unwrap(), self.harp().hz(way.natural()).unwrap());
        let start = layout::cents_between(hz, from);
        self.hear(seconds, |t| {
            let open = (1.0 - t / 0.3).max(0.0);
            let waver = 3.0 * (t * 30.0).sin();
            Some(hz * ((start * open + off + waver) / 1200.0).exp2())
        });
    }
}
