//! The click of a run on the loudspeaker: beats that the exercise counts in samples of the microphone, sounded at their moments.

use crate::pipeline::Heard;
use crate::state::State;
use practice::run::{Click, Weight};
use practice::{Event, Exercise, RunBegan};
use sound::{FeedEvent, Generator, HostTime, Speaker, Steady};
use std::time::Duration;
use synth::{Accent, Beat, ClickTrack};

/// A click that shall sound sooner than this cannot be brought to the loudspeaker in time: its ring is filled 40 ms ahead.
const SOONEST: Duration = Duration::from_millis(60);

/// Ties the microphone's samples to the machine's clock, on which the loudspeaker is timed.
pub(crate) struct Clicks {
    steady: Steady,
    rate: f64,
    /// The microphone and the loudspeaker that are open, or were last.
    devices: (Option<String>, Option<String>),
    /// The run that goes on, with its beats.
    run: Option<(RunBegan, Vec<Click>)>,
}

impl Clicks {
    /// Nothing is known of the source yet.
    pub(crate) fn new(rate: f64) -> Self {
        Self { steady: Steady::new(rate), rate, devices: (None, None), run: None }
    }

    /// Another stream begins.
    pub(crate) fn restart(&mut self, rate: f64) {
        (self.steady, self.rate, self.run) = (Steady::new(rate), rate, None);
    }

    /// Takes what the pipeline heard, before the exercise takes it; true if another microphone is open than before.
    pub(crate) fn hear(&mut self, heard: &Heard) -> bool {
        match heard {
            Heard::Clock(anchor) => self.steady.see(*anchor),
            Heard::Restarted(rate) => self.restart(*rate),
            Heard::Feed(FeedEvent::Opened(origin) | FeedEvent::Reopened(origin)) if origin.host.is_some() => {
                let name = Some(origin.name.clone());
                return std::mem::replace(&mut self.devices.0, name.clone()) != name;
            }
            _ => {}
        }
        false
    }

    /// A loudspeaker is open.
    pub(crate) fn speaker_opened(&mut self, name: String) {
        self.devices.1 = Some(name);
    }

    /// How long a sound takes from the loudspeaker to the microphone that are open, seconds, if that was ever measured.
    pub(crate) fn delay(&self, state: &State) -> Option<f64> {
        let (input, output) = &self.devices;
        state.delay(input.as_ref()?, output.as_ref()?)
    }

    /// Takes what the exercise said.
    pub(crate) fn event(&mut self, event: &Event, exercise: &Exercise, speaker: &Speaker) {
        match event {
            Event::RunBegan(began) => {
                self.run = exercise.running().map(|running| (*began, running.clicks(began.from_bar)));
                self.sound(speaker);
            }
            // The run is broken off, and its click gives way to the model.
            Event::ModelBegan(_) => self.run = None,
            Event::Paused | Event::Ended(_) | Event::RunJudged(_) if self.run.take().is_some() => {
                speaker.stop();
            }
            _ => {}
        }
    }

    /// Orders the clicks of the run that goes on, as many as can still be in time. Where the loudspeaker has gone away, the next
    /// one takes up the beat.
    pub(crate) fn sound(&self, speaker: &Speaker) {
        let Some((began, clicks)) = &self.run else { return };
        let soonest = HostTime::now() + SOONEST;
        let at = |click: &Click| self.steady.time_of(began.first_beat_samples + click.at_s * self.rate);
        let clicks = clicks.iter().filter_map(|click| Some((at(click)?, accent(click.weight))));
        let clicks: Vec<(HostTime, Accent)> = clicks.filter(|(at, _)| *at >= soonest).collect();
        let Some((start, _)) = clicks.first().copied() else { return };
        let beat = |(at, accent): (HostTime, Accent)| Beat { at_s: at.since(start).as_secs_f64(), accent };
        let beats: Vec<Beat> = clicks.into_iter().map(beat).collect();
        speaker.play_at(start, move |rate| Ok(Box::new(Track(ClickTrack::new(rate, &beats)))));
    }
}

fn accent(weight: Weight) -> Accent {
    match weight {
        Weight::First => Accent::First,
        Weight::Other => Accent::Other,
        Weight::Between => Accent::Between,
    }
}

/// A click track as a loudspeaker takes it.
struct Track(ClickTrack);

impl Generator for Track {
    fn sample_rate(&self) -> f64 {
        self.0.sample_rate()
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        self.0.fill(out)
    }
}
