//! `picture`: the drill screen as an SVG, made by the real screen from sound that went through the real pipeline.

use crate::failure::Failure;
use crate::practising::{Follower, Practising};
use crate::setup::{HearFrom, Setup};
use crate::source::{self, BLOCK, Opened};
use crate::{catalogue, ui};
use journal::By;
use pitch::Reading;
use practice::{Event, Exercise, Moment, Order};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use screen::{App, Notice, View};
use sound::Pace;
use std::io::{self, Write};

/// Which drill is shown.
const DRILL: &str = "hole-3-depths";

/// How many tries are over when the picture is taken, and how long the one after them has sounded, seconds.
const TRIES: usize = 5;
const INTO_THE_NEXT_S: f64 = 1.4;

/// Prints the picture.
///
/// # Errors
/// If the output cannot be written.
pub(crate) fn run(setup: &Setup) -> Result<(), Failure> {
    let Opened { mut pipeline, coach } =
        source::open(&HearFrom::Player, setup, Pace::AsFastAsPossible, BLOCK)?;
    let rate = pipeline.sample_rate();
    let mut practising = Practising::new(Exercise::new(setup.harp.clone(), setup.tolerance, rate), None);
    let mut painter = Painter { app: ui::app(setup, View::Drill), tries: 0, began: None };
    practising.listen_to(coach, (rate, By::BuiltIn), &mut painter);
    let drill = catalogue::find(&setup.library, DRILL, &setup.harp)?;
    practising.order(Order::Drill(Box::new(drill)), &mut painter);
    while !painter.is_ready(practising.exercise().now()) {
        pipeline.step(&mut |heard| practising.hear(heard, &mut painter))?;
    }
    let area = Rect::new(0, 0, 80, 24);
    let mut buffer = Buffer::empty(area);
    painter.app.render(practising.exercise(), area, &mut buffer);
    Ok(io::stdout().write_all(screen::svg::render(&buffer).as_bytes())?)
}

/// Waits for the moment that the picture shows.
struct Painter {
    app: App,
    tries: usize,
    /// When the try after the last counted one began.
    began: Option<Moment>,
}

impl Painter {
    fn is_ready(&self, now: Moment) -> bool {
        self.began.and_then(|began| now.since(began)).is_some_and(|seconds| seconds >= INTO_THE_NEXT_S)
    }
}

impl Follower for Painter {
    fn event(&mut self, event: &Event, exercise: &Exercise) {
        match event {
            Event::Judged(_) => self.tries += 1,
            Event::Began(at) if self.tries >= TRIES => self.began = Some(*at),
            _ => {}
        }
        self.app.on_event(event, exercise);
    }

    fn reading(&mut self, reading: &Reading, exercise: &Exercise) {
        self.app.on_reading(reading, exercise);
    }

    // Which source is listened to is the program's business and not the picture's.
    fn notice(&mut self, _notice: &Notice) {}
}
