//! The click of a run on the loudspeaker: beats that the exercise counts in samples of the microphone, sounded at their moments.

use crate::pipeline::Heard;
use crate::state::State;
use practice::run::{Click, Weight};
use practice::{Event, Exercise, RunBegan};
use sound::{FeedEvent, Generator, HostTime, Speaker, StreamClock};
use std::time::Duration;
use synth::{Accent, Beat, ClickTrack};

/// A click that shall sound sooner than this cannot be brought to the loudspeaker in time: its ring is filled 40 ms ahead.
const SOONEST: Duration = Duration::from_millis(60);
/// A click is ordered so long before it sounds: late enough that much is known of the microphone's clock by then, early enough that
/// a thread that is held up for most of a second keeps the beat.
const AHEAD: Duration = Duration::from_secs(1);

/// Ties the microphone's samples to the machine's clock, on which the loudspeaker is timed.
pub(crate) struct Clicks {
    clock: StreamClock,
    rate: f64,
    /// When the microphone handed in what was heard last.
    now: HostTime,
    /// The microphone and the loudspeaker that are open, or were last.
    devices: (Option<String>, Option<String>),
    /// The run that goes on.
    run: Option<Sounding>,
}

/// A run whose beats are sounded.
struct Sounding {
    began: RunBegan,
    clicks: Vec<Click>,
    /// How many of them have been ordered, or were too late to be.
    ordered: usize,
}

impl Clicks {
    /// Nothing is known of the source yet.
    pub(crate) fn new(rate: f64) -> Self {
        Self {
            clock: StreamClock::new(rate),
            rate,
            now: HostTime::from_nanos(0),
            devices: (None, None),
            run: None,
        }
    }

    /// Another stream begins.
    pub(crate) fn restart(&mut self, rate: f64) {
        (self.clock, self.rate, self.run) = (StreamClock::new(rate), rate, None);
    }

    /// Takes what the pipeline heard, before the exercise takes it, and sounds what is due; true if another microphone is open than
    /// before.
    pub(crate) fn hear(&mut self, heard: &Heard, speaker: &Speaker) -> bool {
        match heard {
            Heard::Clock(anchor) => {
                self.clock.see(*anchor);
                self.now = anchor.at;
                self.sound(speaker);
            }
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

    /// The loudspeaker is gone, and what it had been given to sound: whatever can still be in time is sounded by the next one.
    pub(crate) fn speaker_gone(&mut self) {
        if let Some(run) = &mut self.run {
            run.ordered = 0;
        }
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
                let clicks = exercise.running().map(|running| running.clicks(began.from_bar));
                self.run = clicks.map(|clicks| Sounding { began: *began, clicks, ordered: 0 });
                self.sound(speaker);
            }
            Event::Paused | Event::Ended(_) | Event::RunJudged(_) if self.run.take().is_some() => {
                speaker.stop();
            }
            _ => {}
        }
    }

    fn sound(&mut self, speaker: &Speaker) {
        for (at, beat) in self.due() {
            speaker.play_at(at, move |rate| Ok(Box::new(Track(ClickTrack::new(rate, &[beat])))));
        }
    }

    /// The clicks that have to be ordered now, and the moments at which the loudspeaker is to be handed their beginnings. Each is
    /// timed by itself, so that a long run stays with the clock of the microphone.
    fn due(&mut self) -> Vec<(HostTime, Beat)> {
        let (clock, now, rate) = (&self.clock, self.now, self.rate);
        let Some(run) = &mut self.run else { return Vec::new() };
        let mut due = Vec::new();
        while let Some(click) = run.clicks.get(run.ordered) {
            let Some(at) = clock.time_of(run.began.first_beat_samples + click.at_s * rate) else { break };
            if at > now + AHEAD {
                break;
            }
            run.ordered += 1;
            if at >= now + SOONEST {
                due.push((at, Beat { at_s: 0.0, accent: accent(click.weight) }));
            }
        }
        due
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

#[cfg(test)]
mod tests;
