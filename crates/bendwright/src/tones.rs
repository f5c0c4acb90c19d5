//! The loudspeaker: reference tones (a note, a chord or a scale), and what else is sounded on it.

use sound::{Generator, HostTime, OwnSound, Speaker, SpeakerEvent};
use std::cell::Cell;
use std::collections::VecDeque;
use std::time::Duration;
use synth::{SynthError, Tone};

/// How long a reference tone or a chord sounds.
const TONE: Duration = Duration::from_millis(1_600);

/// How long a note of a scale sounds.
const STEP: Duration = Duration::from_millis(450);

/// The level of a step, dBFS; the tones of a chord share it, so that it is no louder than one tone.
const LEVEL: f64 = -20.0;

/// The loudspeaker. It opens by itself, on a thread of its own, when the first tone is wanted.
pub(crate) struct Tones {
    speaker: Speaker,
    /// That there is no loudspeaker has been said: until there is one, or the player asks for sound again, it is not said again.
    told: Cell<bool>,
}

/// What there is to say of the loudspeaker.
pub(crate) enum TonesNews {
    /// It is open; its name.
    Opened(String),
    /// One that was sounding is gone; a sentence for the player.
    Gone(String),
    /// Another sentence.
    Said(String),
    /// There is still no loudspeaker, which has been said.
    StillNone,
}

/// Steps one after the other, each of tones that sound together, as the loudspeaker takes them.
struct Steps {
    steps: VecDeque<Vec<Tone>>,
    rate: f64,
}

impl Tones {
    pub(crate) fn new() -> Self {
        Self { speaker: Speaker::new(None), told: Cell::new(false) }
    }

    /// Sounds steps one after the other; each is a set of frequencies that sound together, hertz. Returns at once; what
    /// goes wrong is told by [`Tones::news`].
    pub(crate) fn sound(&self, steps: Vec<Vec<f64>>) {
        self.told.set(false);
        self.speaker.play(move |rate| {
            let each = if steps.len() > 1 { STEP } else { TONE };
            let tones = steps.iter().map(|step| together(step, rate, each)).collect::<Result<_, String>>()?;
            Ok(Box::new(Steps { steps: tones, rate }))
        });
    }

    /// Opens the loudspeaker, with nothing to sound.
    pub(crate) fn open(&self) {
        self.told.set(false);
        self.speaker.play_at(HostTime::now(), |rate| Ok(Box::new(Steps { steps: VecDeque::new(), rate })));
    }

    /// The loudspeaker.
    pub(crate) fn speaker(&self) -> &Speaker {
        &self.speaker
    }

    /// When tones sounded, for the microphone that hears them too.
    pub(crate) fn own_sound(&self) -> OwnSound {
        self.speaker.own_sound()
    }

    /// What there is to say next. A loudspeaker that was lost while it was silent is nothing: the next sound opens it again, or
    /// tells why not.
    pub(crate) fn news(&self) -> Option<TonesNews> {
        while let Some(event) = self.speaker.next_event() {
            match event {
                SpeakerEvent::NotOpened(_) if self.told.replace(true) => return Some(TonesNews::StillNone),
                SpeakerEvent::NotOpened(error) => return Some(TonesNews::Said(error.to_string())),
                SpeakerEvent::Lost { device, was_sounding: true } => {
                    let sentence =
                        format!("{device} is gone; what comes next sounds when there is a loudspeaker again");
                    return Some(TonesNews::Gone(sentence));
                }
                SpeakerEvent::Warning(text) => return Some(TonesNews::Said(text)),
                SpeakerEvent::Opened(playback) => {
                    self.told.set(false);
                    return Some(TonesNews::Opened(playback.origin().name.clone()));
                }
                SpeakerEvent::Finished | SpeakerEvent::Lost { .. } => {}
            }
        }
        None
    }
}

impl Generator for Steps {
    fn sample_rate(&self) -> f64 {
        self.rate
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        while self.steps.front().is_some_and(|step| step.iter().all(Tone::is_done)) {
            self.steps.pop_front();
        }
        let Some(step) = self.steps.front_mut() else { return 0 };
        let mut one = [0.0; 256];
        let length = out.len().min(one.len());
        out[..length].fill(0.0);
        for tone in step {
            tone.fill(&mut one[..length]);
            for (sum, sample) in out.iter_mut().zip(&one[..length]) {
                *sum += sample;
            }
        }
        length
    }
}

/// The tones of one step.
fn together(step: &[f64], rate: f64, each: Duration) -> Result<Vec<Tone>, String> {
    let level = LEVEL - 20.0 * (step.len().max(1) as f64).log10();
    let tone = |hz: &f64| Ok(Tone::new(*hz, rate)?.level(level)?.lasting(each.as_secs_f64()));
    step.iter().map(tone).collect::<Result<_, SynthError>>().map_err(|error| error.to_string())
}
