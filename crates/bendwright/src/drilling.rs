//! A drill from sound to lines, without a screen.

use crate::coach::Coach;
use crate::failure::Failure;
use crate::pipeline::{Heard, Pipeline};
use crate::report::{Line, Report};
use crate::setup::Setup;
use crate::signals::Signals;
use crate::source::Source;
use crate::words;
use practice::{Drill, Event, Session};

/// Runs `drill` to its end, or to the end of the sound, and writes what happens.
///
/// # Errors
/// If the output cannot be written, the sound cannot be heard, or a signal ends the program.
pub(crate) fn run(drill: Drill, setup: &Setup, source: Source, report: Report) -> Result<(), Failure> {
    let Source { mut pipeline, coach } = source;
    let rate = pipeline.sample_rate();
    let session = Session::new(drill, setup.harp.clone(), setup.tolerance, rate);
    let mut run = Drilling { session, setup, coach, report, rate };
    run.report.say(&Line::drill(run.session.drill(), &setup.harp));
    run.follow(vec![Event::Asked(0, 1)]);
    let end = run.go_through(&mut pipeline);
    let complete = run.session.phase() == practice::Phase::Done;
    run.report.say(&Line::summary(&run.session, complete));
    run.report.check()?;
    end
}

struct Drilling<'a> {
    session: Session,
    setup: &'a Setup,
    coach: Option<Coach>,
    report: Report,
    rate: f64,
}

impl Drilling<'_> {
    fn go_through(&mut self, pipeline: &mut Pipeline) -> Result<(), Failure> {
        let signals = Signals::watch(|| {})?;
        while self.session.phase() != practice::Phase::Done {
            signals.check()?;
            let goes_on = pipeline.step(&mut |heard| self.hear(heard))?;
            self.report.check()?;
            if !goes_on {
                break;
            }
        }
        Ok(())
    }

    fn hear(&mut self, heard: Heard) {
        match heard {
            Heard::Readings(readings) => {
                for reading in &readings {
                    let events = self.session.hear(reading);
                    self.follow(events);
                }
            }
            Heard::Gap => {
                let events = self.session.gap();
                self.follow(events);
            }
            Heard::Restarted(rate) => {
                let events = self.session.restart_clock(rate);
                // A try that was sounding was timed at the rate of before.
                self.follow(events);
                self.rate = rate;
            }
            Heard::Feed(event) => self.report.notice(words::feed_event(&event)),
            Heard::Reeds(_) | Heard::Level(_) => {}
            Heard::Complaint(complaint) => self.report.notice(words::complaint(complaint)),
        }
    }

    fn follow(&mut self, events: Vec<Event>) {
        for event in events {
            match event {
                Event::Asked(item, attempt) => self.asked(item, attempt),
                Event::Judged(tried) => {
                    let way = self.session.drill().items[tried.item].target.way;
                    self.report.say(&Line::judged(&tried, way, self.setup, self.rate));
                }
                Event::Began(_) | Event::Done => {}
            }
        }
    }

    fn asked(&mut self, item: usize, attempt: u32) {
        let target = self.session.drill().items[item].target;
        self.report.say(&Line::asked(target, &self.setup.harp, &self.setup.tab, (item, attempt)));
        if let Some(coach) = &mut self.coach {
            coach.asked(target.way, target.hold_s);
        }
    }
}
