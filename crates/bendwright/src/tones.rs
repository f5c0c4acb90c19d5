//! The loudspeaker: reference tones (a note, a chord or a scale), and what else is sounded on it.

use crate::pipeline::Sounded;
use crate::words;
use sound::{Generator, HostTime, Playback, Speaker, SpeakerEvent};
use std::collections::VecDeque;
use std::time::{Duration, Instant};
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
    sounded: Sounded,
    /// The loudspeaker that is open, and how often it had run dry when that was told last.
    playing: Option<(Playback, u64)>,
    /// Until this moment it is not told that the loudspeaker ran dry: the program stood still, and its threads are
    /// late.
    known_until: Option<Instant>,
    /// Whether it has been told that there is no loudspeaker since a key asked for a sound. A beat asks for one again
    /// and again.
    absence_told: bool,
}

/// What there is to say of the loudspeaker.
pub(crate) enum TonesNews {
    /// It is open; its name.
    Opened(String),
    /// One that was sounding is gone; a sentence for the player.
    Gone(String),
    /// The sound system has sent what is played to another one; a sentence for the player.
    Moved(String),
    /// Another sentence.
    Said(String),
    /// There is none; a sentence for the player, if that has not been said.
    Absent(Option<String>),
}

/// After a process that stood still goes on, it may be late for so much longer, until all its threads have run.
const WAKING: Duration = Duration::from_secs(1);

/// Steps one after the other, each of tones that sound together, as the loudspeaker takes them.
struct Steps {
    steps: VecDeque<Vec<Tone>>,
    rate: f64,
}

impl Tones {
    pub(crate) fn new() -> Self {
        let speaker = Speaker::new(None);
        let sounded = Sounded::new(speaker.own_sound());
        Self { speaker, sounded, playing: None, known_until: None, absence_told: false }
    }

    /// Sounds steps one after the other; each is a set of frequencies that sound together, hertz. Returns at once; what
    /// goes wrong is told by [`Tones::news`].
    pub(crate) fn sound(&mut self, steps: Vec<Vec<f64>>) {
        self.absence_told = false;
        self.speaker.play(move |rate| {
            let each = if steps.len() > 1 { STEP } else { TONE };
            let tones = steps.iter().map(|step| together(step, rate, each)).collect::<Result<_, String>>()?;
            Ok(Box::new(Steps { steps: tones, rate }))
        });
    }

    /// Opens the loudspeaker, with nothing to sound.
    pub(crate) fn open(&mut self) {
        self.absence_told = false;
        self.speaker.play_at(HostTime::now(), |rate| Ok(Box::new(Steps { steps: VecDeque::new(), rate })));
    }

    /// The loudspeaker.
    pub(crate) fn speaker(&self) -> &Speaker {
        &self.speaker
    }

    /// What is sounded, for the microphone that hears it too.
    pub(crate) fn sounded(&self) -> Sounded {
        self.sounded.clone()
    }

    /// The whole program stood still and goes on: that the loudspeaker ran dry meanwhile is nothing to tell.
    pub(crate) fn slept(&mut self) {
        self.known_until = Instant::now().checked_add(WAKING);
    }

    /// What there is to say next. A loudspeaker that was lost while it was silent is not worth a word: the next sound
    /// opens it again, or tells why not.
    pub(crate) fn news(&mut self) -> Option<TonesNews> {
        while let Some(event) = self.speaker.next_event() {
            match event {
                SpeakerEvent::NotOpened(error) => {
                    let told = std::mem::replace(&mut self.absence_told, true);
                    return Some(TonesNews::Absent((!told).then(|| error.to_string())));
                }
                SpeakerEvent::Lost { device, was_sounding } => {
                    self.playing = None;
                    if was_sounding {
                        let sentence = format!(
                            "{device} is gone; what comes next sounds when there is a loudspeaker again"
                        );
                        return Some(TonesNews::Gone(sentence));
                    }
                }
                SpeakerEvent::Warning(text) => return Some(TonesNews::Said(text)),
                SpeakerEvent::Moved => {
                    let sentence = "the sound system sends the sound to another loudspeaker from now on";
                    return Some(TonesNews::Moved(sentence.to_owned()));
                }
                SpeakerEvent::Opened(playback) => {
                    if let Some(handed_out) = self.speaker.handed_out() {
                        self.sounded.opened(handed_out);
                    }
                    let name = playback.origin().name.clone();
                    (self.playing, self.absence_told) = (Some((playback, 0)), false);
                    return Some(TonesNews::Opened(name));
                }
                SpeakerEvent::Finished => {}
            }
        }
        self.dryness().map(TonesNews::Said)
    }

    /// What there is to say of a loudspeaker that ran dry: the first time, and then whenever it has become twice as
    /// often, so that a busy computer does not fill the screen with it.
    fn dryness(&mut self) -> Option<String> {
        let (playback, told) = self.playing.as_mut()?;
        let missed = playback.underruns();
        let times = missed.events.max(missed.system_events);
        if self.known_until.is_some_and(|until| Instant::now() < until) {
            *told = times;
        }
        if missed.ongoing || times < (2 * *told).max(1) {
            return None;
        }
        *told = times;
        let often = words::often(times);
        Some(format!(
            "the loudspeaker ran dry {often}, so a click may be missing; this computer was too busy"
        ))
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

/// What makes samples by itself, as a loudspeaker takes it.
pub(crate) struct Made<F> {
    rate: f64,
    fill: F,
}

impl<F: FnMut(&mut [f32]) -> usize + Send> Made<F> {
    /// `fill` writes the next samples from the front, at `rate` samples per second, and says how many; 0 at the end.
    pub(crate) fn new(rate: f64, fill: F) -> Self {
        Self { rate, fill }
    }
}

impl<F: FnMut(&mut [f32]) -> usize + Send> Generator for Made<F> {
    fn sample_rate(&self) -> f64 {
        self.rate
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        (self.fill)(out)
    }
}

/// The tones of one step.
fn together(step: &[f64], rate: f64, each: Duration) -> Result<Vec<Tone>, String> {
    let level = LEVEL - 20.0 * (step.len().max(1) as f64).log10();
    let tone = |hz: &f64| Ok(Tone::new(*hz, rate)?.level(level)?.lasting(each.as_secs_f64()));
    step.iter().map(tone).collect::<Result<_, SynthError>>().map_err(|error| error.to_string())
}
