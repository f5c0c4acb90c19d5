//! Fixed players and fixed readings for the tests.

use layout::{Breath, Harp, TabStyle, Technique, Way};
use pitch::Reading;
use pitch::reeds::{ReedSettings, Reeds};
use practice::Drill;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use scoring::Tolerance;
use screen::keys::KeyMap;
use screen::{Action, App, DrillEntry, Glyphs, Look, Notice, Setup, Theme};

/// Samples a second, and samples from one reading to the next: ten milliseconds.
pub(crate) const RATE: f64 = 48_000.0;
const HOP: u64 = 480;

/// A screen with somebody who plays.
pub(crate) struct Stage {
    pub(crate) app: App,
    time: u64,
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
fn app(look: Look, reduced_motion: bool) -> App {
    let harp = Harp::richter("C".parse().unwrap());
    let drills = practice::built_in()
        .iter()
        .map(|(name, text)| DrillEntry::from(Drill::parse(name, text, &harp).unwrap()))
        .collect();
    let setup =
        Setup { harp, tolerance: Tolerance::USUAL, look, keys: KeyMap::default(), drills, reduced_motion };
    let mut app = App::new(setup);
    app.on_notice(&Notice::Hearing("Desk microphone".to_owned()));
    app
}

impl Stage {
    /// A C harp in the hand, a microphone on the table.
    pub(crate) fn new(look: Look) -> Self {
        Self { app: app(look, false), time: 0 }
    }

    /// The same screen for somebody who wants nothing to move.
    pub(crate) fn still(look: Look) -> Self {
        Self { app: app(look, true), time: 0 }
    }

    /// Begins a drill of these notes.
    pub(crate) fn begin(&mut self, tab: &str) {
        let drill = own_drill(tab, self.app.harp());
        self.app.begin(drill, RATE);
    }

    /// Presses the key of a character.
    pub(crate) fn press(&mut self, key: char) -> Option<Action> {
        self.press_code(KeyCode::Char(key))
    }

    /// Presses a key.
    pub(crate) fn press_code(&mut self, code: KeyCode) -> Option<Action> {
        self.app.on_key(KeyEvent::new(code, KeyModifiers::NONE))
    }

    pub(crate) fn way(&self, tab: &str) -> Way {
        let style = TabStyle::default();
        self.app.harp().ways().find(|way| style.print(*way) == tab).unwrap()
    }

    /// Hears `seconds` of a frequency given by the seconds since its start.
    pub(crate) fn hear(&mut self, seconds: f64, hz: impl Fn(f64) -> Option<f64>) {
        for step in 0..(seconds * RATE / HOP as f64).round() as u64 {
            let hz = hz((step * HOP) as f64 / RATE);
            let level_dbfs = if hz.is_some() { -18.0 } else { -70.0 };
            let reading = Reading {
                time: self.time,
                known: self.time + HOP,
                hz,
                sigma_cents: 0.5,
                clarity: 0.9,
                level_dbfs,
                onset: hz.is_some() && step == 0,
            };
            self.app.on_readings(&[reading], RATE);
            self.time += HOP;
        }
    }

    /// Hears reeds together for half a second, each so many decibels below full scale: twelve harmonics of each,
    /// through the ear for reeds that the program has.
    pub(crate) fn hear_reeds(&mut self, reeds: &[(&str, f64)]) {
        let harp = self.app.harp().clone();
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
        ear.push(&samples, |now| self.app.on_reeds(&now));
    }

    /// Silence.
    pub(crate) fn rest(&mut self, seconds: f64) {
        self.hear(seconds, |_| None);
    }

    /// Plays a note so many cents off, sliding into it from the natural note for 0.3 s.
    pub(crate) fn play(&mut self, tab: &str, off: f64, seconds: f64) {
        let way = self.way(tab);
        let (hz, from) = (self.app.harp().hz(way).unwrap(), self.app.harp().hz(way.natural()).unwrap());
        let start = layout::cents_between(hz, from);
        self.hear(seconds, |t| {
            let open = (1.0 - t / 0.3).max(0.0);
            let waver = 3.0 * (t * 30.0).sin();
            Some(hz * ((start * open + off + waver) / 1200.0).exp2())
        });
    }
}
