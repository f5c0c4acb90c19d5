//! The click of a run, and the band of a run or a jam, on the loudspeaker: beats that the exercise counts in samples of
//! the microphone, sounded at their moments.

mod backing;

use crate::delay::agreed;
use crate::own_recording::OwnBand;
use crate::pipeline::{Expected, Heard};
use crate::state::State;
use crate::tones::Made;
use backing::{Backing, Stretch};
use layout::Harp;
use practice::jam::Jam;
use practice::run::{Click, Running, Weight};
use practice::{Event, Exercise, RunBegan};
use sound::{FeedEvent, HostTime, Speaker, StreamClock};
use std::time::Duration;
use synth::{Accent, Beat, ClickTrack};

/// A click that shall sound sooner than this cannot be brought to the loudspeaker in time: while clicks wait, its ring
/// is filled 160 ms ahead.
const SOONEST: Duration = Duration::from_millis(180);
/// A click is ordered so long before it sounds: late enough that much is known of the microphone's clock by then, early
/// enough that a thread that is held up for most of a second keeps the beat.
const AHEAD: Duration = Duration::from_secs(1);

/// A click of a count-in is listened for so long at most, seconds: no loudspeaker by radio takes longer (from memory,
/// no source).
const LONGEST_S: f64 = 0.35;
/// A click is no longer listened for in this last part of its beat, seconds: what comes then belongs to the next click.
const BEFORE_NEXT_S: f64 = 0.03;
/// So many clicks of a count-in have to agree on a delay.
const AGREEING: usize = 3;
/// A measured delay that is within so many seconds of the remembered one counts as the same: each of them is exact to 2
/// ms, and nobody hears a lateness that is smaller than this.
const DIFFERS_S: f64 = 0.005;

/// What is said before the first run with two devices that were never measured. Headphones have to be brought to the
/// microphone for it.
const OFFER: &str = "early or late as a whole cannot be told here until sound --delay has measured it once (hold a cup of the headphones to \
                     the microphone for that)";

/// What is said before a jam with a microphone.
pub(crate) const HEADPHONES: &str = "in the first seconds nothing is told, until the band can be taken out of what is heard; headphones are surer";

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
    /// A recording of the player's own, which is the band of the jam that it belongs to.
    own: Option<OwnBand>,
    /// Clicks that have been ordered and may come back.
    expected: Vec<Expected>,
    /// Delays of the clicks of this count-in that came back, seconds.
    returned: Vec<f64>,
    /// The delay that the returned clicks agree on, for the two streams that are open.
    measured: Option<Measured>,
    /// The two devices of which it was said that they were never measured.
    offered: (Option<String>, Option<String>),
}

/// How long the click takes to come back, as it was heard.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Measured {
    delay_s: f64,
    told: bool,
}

/// A run whose beats are sounded.
struct Sounding {
    began: RunBegan,
    clicks: Vec<Click>,
    /// When the count-in is over, and how long its beats are, seconds.
    counts_in: (f64, f64),
    /// How many clicks have been ordered, or were too late to be.
    ordered: usize,
    /// The bar up to which the clicks are there; those of a jam come chorus by chorus.
    upto_bar: usize,
    /// The band, if there is one.
    backing: Option<Backing>,
}

/// So many bars of a jam are clicked ahead.
const BARS_AHEAD: usize = 64;

impl Sounding {
    fn of_run(running: &Running, began: RunBegan, harp: &Harp) -> Self {
        Self {
            began,
            clicks: running.clicks(began.from_bar),
            counts_in: (running.rhythm().bar_s() * began.from_bar as f64, running.tempo().beat_s()),
            ordered: 0,
            upto_bar: usize::MAX,
            backing: Backing::of_run(running, harp),
        }
    }

    fn of_jam(jam: &Jam, began: RunBegan, (harp, own): (&Harp, Option<&OwnBand>)) -> Self {
        let rhythm = jam.plan().rhythm;
        let upto_bar = began.from_bar + BARS_AHEAD;
        Self {
            began,
            clicks: jam.clicks(began.from_bar..upto_bar, true),
            counts_in: (rhythm.bar_s() * began.from_bar as f64, rhythm.beat_s()),
            ordered: 0,
            upto_bar,
            backing: Backing::of_jam(jam, harp, own),
        }
    }

    /// Goes on with the clicks of a jam.
    fn go_on(&mut self, jam: &Jam) {
        if jam.bars() as usize + BARS_AHEAD / 2 > self.upto_bar {
            self.clicks.extend(jam.clicks(self.upto_bar..self.upto_bar + BARS_AHEAD, false));
            self.upto_bar += BARS_AHEAD;
        }
    }
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
            own: None,
            expected: Vec::new(),
            returned: Vec::new(),
            measured: None,
            offered: (None, None),
        }
    }

    /// The same with a recording of the player's own as the band of the jam that it belongs to.
    pub(crate) fn with_own_band(self, own: Option<OwnBand>) -> Self {
        Self { own, ..self }
    }

    /// Another stream begins.
    pub(crate) fn restart(&mut self, rate: f64) {
        (self.clock, self.rate, self.run) = (StreamClock::new(rate), rate, None);
        // A stream that is opened anew may have another buffer.
        (self.returned, self.measured) = (Vec::new(), None);
    }

    /// Takes what the pipeline heard, before the exercise takes it, and sounds what is due; true if the delay may be
    /// another one than before.
    pub(crate) fn hear(&mut self, heard: &Heard, speaker: &Speaker) -> bool {
        match heard {
            Heard::Clock(anchor) => {
                self.clock.see(*anchor);
                self.now = anchor.at;
                self.sound(speaker);
            }
            Heard::Restarted(rate) => self.restart(*rate),
            Heard::Returned(delay_s) => return self.take_return(*delay_s),
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
        self.speaker_moved();
    }

    /// What is played goes to another loudspeaker. A sound system that takes on another stream may change its blocks,
    /// and hands in what a microphone heard sooner or later than before.
    pub(crate) fn speaker_moved(&mut self) {
        self.clock = StreamClock::new(self.rate);
        (self.returned, self.measured) = (Vec::new(), None);
    }

    /// The loudspeaker is gone, and all that was ordered of it. Whatever can still be in time is ordered from the next
    /// one.
    pub(crate) fn speaker_gone(&mut self) {
        if let Some(run) = &mut self.run {
            run.ordered = 0;
            if let Some(backing) = &mut run.backing {
                backing.order_anew(run.began.from_bar);
            }
        }
    }

    /// How long a sound takes from the loudspeaker to the microphone that are open, seconds, if that is known: as it
    /// was measured once, or as the click of this very run came back, where the two differ. And a sentence, where there
    /// is something to tell.
    pub(crate) fn delay(&mut self, state: &State) -> (Option<f64>, Option<String>) {
        let (input, output) = &self.devices;
        let remembered =
            input.as_ref().zip(output.as_ref()).and_then(|(input, output)| state.delay(input, output));
        let Some(measured) = &mut self.measured else { return (remembered, None) };
        let ms = |seconds: f64| (seconds * 1_000.0).round();
        let sentence = match remembered {
            Some(remembered) if (remembered - measured.delay_s).abs() <= DIFFERS_S => {
                return (Some(remembered), None);
            }
            Some(remembered) => format!(
                "the click comes back after {} ms and not after the {} ms that were measured, so early and late count from {0} ms; \
                 measure anew with sound --delay",
                ms(measured.delay_s),
                ms(remembered)
            ),
            None => {
                format!(
                    "the click comes back after {} ms, so early and late count from the beat",
                    ms(measured.delay_s)
                )
            }
        };
        let told = std::mem::replace(&mut measured.told, true);
        (Some(measured.delay_s), (!told).then_some(sentence))
    }

    /// A sentence for whoever is about to play in time with a microphone and a loudspeaker that were never measured
    /// together: once for these two.
    pub(crate) fn offer(&mut self, state: &State) -> Option<String> {
        let (Some(input), Some(output)) = &self.devices else { return None };
        let known = self.measured.is_some() || state.delay(input, output).is_some();
        if known || self.offered == self.devices {
            return None;
        }
        self.offered.clone_from(&self.devices);
        Some(OFFER.to_owned())
    }

    /// Takes how long a click took to come back; true if that tells a delay that was not known.
    fn take_return(&mut self, delay_s: f64) -> bool {
        self.returned.push(delay_s);
        let Some((middle, agreeing)) = agreed(&self.returned) else { return false };
        let known = self.measured.is_some_and(|known| (known.delay_s - middle).abs() <= DIFFERS_S);
        // If the clicks disagree, more than half of them have to agree with the middle one.
        if known || agreeing < AGREEING || 2 * agreeing <= self.returned.len() {
            return false;
        }
        self.measured = Some(Measured { delay_s: middle, told: false });
        true
    }

    /// The clicks that have been ordered since this was asked last and may come back.
    pub(crate) fn expected(&mut self) -> Vec<Expected> {
        std::mem::take(&mut self.expected)
    }

    /// Takes what the exercise said.
    pub(crate) fn event(&mut self, event: &Event, exercise: &Exercise, speaker: &Speaker) {
        match event {
            Event::RunBegan(began) => {
                let harp = exercise.harp();
                let of_jam =
                    exercise.jam().map(|jam| Sounding::of_jam(jam, *began, (harp, self.own.as_ref())));
                let of_run = || Some(Sounding::of_run(exercise.running()?, *began, harp));
                let run = of_jam.or_else(of_run);
                // The band of a run that was broken off has been ordered far ahead: it stops before the new one begins.
                if run.as_ref().is_some_and(|run| run.backing.is_some()) {
                    speaker.stop();
                }
                self.run = run;
                self.returned.clear();
                self.sound(speaker);
            }
            Event::ChorusOver(_) => {
                if let (Some(run), Some(jam)) = (&mut self.run, exercise.jam()) {
                    run.go_on(jam);
                }
            }
            // The run is broken off, and its click gives way to the model.
            Event::ModelBegan(_) => self.run = None,
            Event::Paused | Event::Ended(_) | Event::RunJudged(_) if self.run.take().is_some() => {
                speaker.stop();
            }
            _ => {}
        }
    }

    fn sound(&mut self, speaker: &Speaker) {
        for (at, stretch) in self.stretches_due() {
            speaker.play_at(at, move |rate| stretch.sound(rate));
        }
        for (at, beat) in self.due() {
            speaker.play_at(at, move |rate| {
                let mut click = ClickTrack::new(rate, &[beat]);
                Ok(Box::new(Made::new(rate, move |out: &mut [f32]| click.fill(out))))
            });
        }
    }

    /// The stretches of the band that have to be ordered now, and the moments at which they begin. If a stretch has
    /// begun already, the loudspeaker leaves out what is late.
    fn stretches_due(&mut self) -> Vec<(HostTime, Stretch)> {
        let (clock, now, rate) = (&self.clock, self.now, self.rate);
        let Some(run) = &mut self.run else { return Vec::new() };
        let Some(backing) = &mut run.backing else { return Vec::new() };
        let mut due = Vec::new();
        while let Some(stretch) = backing.next() {
            let moment = |at_s: f64| clock.time_of(run.began.first_beat_samples + at_s * rate);
            let (Some(begins), Some(ends)) = (moment(stretch.begins_s), moment(stretch.ends_s)) else {
                break;
            };
            if begins > now + AHEAD {
                break;
            }
            backing.ordered(&stretch);
            if ends > now {
                due.push((begins, stretch));
            }
        }
        due
    }

    /// The clicks that have to be ordered now, and the moments at which the loudspeaker is to be handed their
    /// beginnings. Each is timed by itself, so that a long run stays with the clock of the microphone.
    fn due(&mut self) -> Vec<(HostTime, Beat)> {
        let (clock, now, rate) = (&self.clock, self.now, self.rate);
        let Some(run) = &mut self.run else { return Vec::new() };
        let mut sounded = Vec::new();
        while let Some(click) = run.clicks.get(run.ordered) {
            let due = run.began.first_beat_samples + click.at_s * rate;
            let Some(at) = clock.time_of(due) else { break };
            if at > now + AHEAD {
                break;
            }
            run.ordered += 1;
            if at >= now + SOONEST {
                let accent = accent(click.weight);
                sounded.push((at, Beat { at_s: 0.0, accent }));
                // In the count-in the player does not play yet, so what is heard is the click.
                let (until_s, beat_s) = run.counts_in;
                if click.at_s < until_s {
                    let reach_s = LONGEST_S.min(beat_s - BEFORE_NEXT_S);
                    let is_first = click.weight == Weight::First;
                    self.expected.push(Expected { due, hz: accent.hz(), reach_s, is_first });
                }
            }
        }
        sounded
    }
}

fn accent(weight: Weight) -> Accent {
    match weight {
        Weight::First => Accent::First,
        Weight::Other => Accent::Other,
        Weight::Between => Accent::Between,
    }
}

#[cfg(test)]
mod tests;
