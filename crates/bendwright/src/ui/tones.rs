//! Reference tones: a note, a chord or a scale, sounded on the loudspeaker.

use sound::{Generator, Speaker};
use std::collections::VecDeque;
use std::time::{Duration, Instant};
use synth::{SynthError, Tone};

/// How long a reference tone or a chord sounds.
const TONE: Duration = Duration::from_millis(1_600);

/// How long a note of a scale sounds.
const STEP: Duration = Duration::from_millis(450);

/// The level of a step, dBFS; the tones of a chord share it, so that it is no louder than one tone.
const LEVEL: f64 = -20.0;

/// How long after it the room and the output buffer may still carry it to the microphone.
const ECHO: Duration = Duration::from_millis(400);

/// The loudspeaker, opened when it is first needed.
#[derive(Default)]
pub(super) struct Tones {
    speaker: Option<Speaker>,
    until: Option<Instant>,
}

/// Steps one after the other, each of tones that sound together, as the loudspeaker takes them.
struct Sounding {
    steps: VecDeque<Vec<Tone>>,
    rate: f64,
}

impl Tones {
    /// Sounds steps one after the other; each is a set of frequencies that sound together, hertz.
    ///
    /// # Errors
    /// A sentence, if there is no loudspeaker.
    pub(super) fn sound(&mut self, steps: &[Vec<f64>]) -> Result<(), String> {
        if self.speaker.is_none() {
            self.speaker = Some(Speaker::open(None).map_err(|error| error.to_string())?);
        }
        let Some(speaker) = &self.speaker else { return Ok(()) };
        let rate = speaker.sample_rate();
        let each = if steps.len() > 1 { STEP } else { TONE };
        let tones = steps.iter().map(|step| together(step, rate, each)).collect::<Result<_, String>>()?;
        speaker.play(Box::new(Sounding { steps: tones, rate })).map_err(|error| error.to_string())?;
        self.until = Some(Instant::now() + each * steps.len() as u32 + ECHO);
        Ok(())
    }

    /// Whether a tone of ours can still be heard in the room.
    pub(super) fn sounding(&self) -> bool {
        self.until.is_some_and(|until| Instant::now() < until)
    }
}

impl Generator for Sounding {
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
