//! `picture`: the drill screen as an SVG, made from the real screen by the real line.

use crate::failure::Failure;
use crate::pipeline::Heard;
use crate::setup::{From, Setup};
use crate::source::{self, BLOCK, Source};
use crate::{catalogue, ui};
use practice::Event;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
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
    let mut app = ui::app(setup);
    let Source { mut pipeline, coach } = source::open(&From::Player, setup, Pace::AsFastAsPossible, BLOCK)?;
    let rate = pipeline.sample_rate();
    app.begin(catalogue::find(&setup.library, DRILL, &setup.harp)?, rate);
    let mut coach = coach;
    let mut tries = 0;
    let mut began = None;
    let mut now = 0;
    while began.is_none_or(|began| (now as f64) < began as f64 + INTO_THE_NEXT_S * rate) {
        for event in app.take_events() {
            match (event, &mut coach, app.session()) {
                (Event::Asked(item, _), Some(coach), Some(session)) => {
                    let target = session.drill().items[item].target;
                    coach.asked(target.way, target.hold_s);
                }
                (Event::Judged(_), ..) => tries += 1,
                (Event::Began(at), ..) if tries >= TRIES => began = Some(at),
                _ => {}
            }
        }
        pipeline.step(&mut |heard| {
            if let Heard::Readings(readings) = heard {
                now = readings.last().map_or(now, |reading| reading.known);
                app.on_readings(&readings, rate);
            }
        })?;
    }
    let area = Rect::new(0, 0, 80, 24);
    let mut buffer = Buffer::empty(area);
    app.render(area, &mut buffer);
    Ok(io::stdout().write_all(screen::svg::render(&buffer).as_bytes())?)
}
