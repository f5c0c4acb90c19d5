//! A player for the tests of a drill on its way.

use layout::{Harp, HarpKey};
use pitch::Reading;
use practice::{Asked, Drill, Ending, Event, Exercise, Order, Phase, Session};
use scoring::Tolerance;

pub(crate) const RATE: f64 = 48_000.0;
pub(crate) const HOP: u64 = 256;

pub(crate) fn harp() -> Harp {
    Harp::richter("C".parse::<HarpKey>().unwrap())
}

/// An exercise at this drill, and what it says first.
pub(crate) fn at(drill: Drill, harp: Harp) -> (Exercise, Vec<Event>) {
    let mut exercise = Exercise::new(harp, Tolerance::default(), RATE);
    let mut said = exercise.order(Order::Drill(Box::new(drill)));
    assert!(matches!(said.remove(0), Event::Started(_)), "a drill begins before anything is asked");
    (exercise, said)
}

/// A drill in the hands of a player: plays seconds of cents above a reference, and writes down what happens.
pub(crate) struct Player {
    pub(crate) exercise: Exercise,
    pub(crate) time: u64,
    pub(crate) rate: f64,
    pub(crate) log: Vec<Event>,
}

impl Player {
    /// At a drill of these lines of tab, each held for a second, with this many tries.
    pub(crate) fn at(tab: &[&str], tries: u32) -> Self {
        let items: Vec<String> = tab.iter().map(|tab| format!("[[item]]\nplay = \"{tab}\"\n")).collect();
        Self::with(&format!("title = 'test'\nhold = 1\ntries = {tries}\n{}", items.concat()))
    }

    /// At this drill.
    pub(crate) fn with(text: &str) -> Self {
        let drill = Drill::parse("test", text, &harp()).unwrap();
        let (exercise, asked) = at(drill, harp());
        assert_eq!(asked.len(), 1, "the first item is asked at once");
        Self { exercise, time: 0, rate: RATE, log: Vec::new() }
    }

    pub(crate) fn session(&self) -> &Session {
        self.exercise.session().unwrap()
    }

    pub(crate) fn order(&mut self, order: Order) -> &mut Self {
        self.press(|exercise| exercise.order(order))
    }

    pub(crate) fn reading(&mut self, hz: Option<f64>) {
        let (time, known) = (self.time, self.time + 1024);
        self.time += HOP;
        let onset = false;
        let reading = Reading { time, known, hz, sigma_cents: 0.1, clarity: 0.9, level_dbfs: -20.0, onset };
        self.log.extend(self.exercise.hear(&reading));
    }

    /// Plays `seconds` of what is asked, `cents` off; `None` is silence.
    pub(crate) fn play(&mut self, seconds: f64, cents: impl Into<Option<f64>>) -> &mut Self {
        let cents = cents.into();
        let way = self.session().target().unwrap().way;
        let hz = cents.map(|cents| harp().hz(way).unwrap() * (cents / 1200.0_f64).exp2());
        for _ in 0..(seconds * self.rate / HOP as f64).round() as u64 {
            self.reading(hz);
        }
        self
    }

    pub(crate) fn rest(&mut self, seconds: f64) -> &mut Self {
        self.play(seconds, None)
    }

    /// Lets a key press happen.
    pub(crate) fn press(&mut self, key: impl FnOnce(&mut Exercise) -> Vec<Event>) -> &mut Self {
        let events = key(&mut self.exercise);
        self.log.extend(events);
        self
    }

    /// What has happened since this was last asked, in words: `asked 0.1`, `began`, `landed 0.1`, `done`.
    #[track_caller]
    pub(crate) fn check(&mut self, expected: &[&str]) -> &mut Self {
        let said: Vec<String> = self.log.drain(..).map(in_words).collect();
        assert_eq!(said, expected);
        self
    }

    #[track_caller]
    pub(crate) fn is(&mut self, phase: Phase) -> &mut Self {
        assert_eq!(self.session().phase(), phase);
        self
    }
}

/// Item and try, and the note of a joined item: `0.1`, `0.1/2`.
pub(crate) fn numbers(asked: &Asked) -> String {
    let note = if asked.note > 0 { format!("/{}", asked.note) } else { String::new() };
    format!("{}.{}{note}", asked.item, asked.attempt)
}

pub(crate) fn in_words(event: Event) -> String {
    match event {
        Event::Asked(asked) => format!("asked {}", numbers(&asked)),
        Event::Paused => "paused".to_owned(),
        Event::Began(_) => "began".to_owned(),
        Event::Judged(tried) => {
            format!("{} {}", tried.verdict.outcome.word(), numbers(&tried.asked))
        }
        Event::Ended(Ending::Done) => "done".to_owned(),
        Event::Ended(Ending::Left) => "left".to_owned(),
        Event::Unfinished(asked, _) => format!("unfinished {}", numbers(&asked)),
        Event::OtherHarp(key) => format!("harp {key}?"),
        other => panic!("a drill does not say {other:?}"),
    }
}
