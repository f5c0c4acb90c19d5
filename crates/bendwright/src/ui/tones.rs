//! Reference tones: the note that is asked for, sounded on the loudspeaker.

use sound::{Generator, Speaker};
use std::time::{Duration, Instant};
use synth::Tone;

/// How long a reference tone sounds.
const TONE: Duration = Duration::from_millis(1_600);

/// How long after it the room and the output buffer may still carry it to the microphone.
const ECHO: Duration = Duration::from_millis(400);

/// The loudspeaker, opened when it is first needed.
#[derive(Default)]
pub(super) struct Tones {
    speaker: Option<Speaker>,
    until: Option<Instant>,
}

/// A tone as the loudspeaker takes it.
struct Sounding {
    tone: Tone,
    rate: f64,
}

impl Tones {
    /// Sounds `hz` for a moment.
    ///
    /// # Errors
    /// A sentence, if there is no loudspeaker.
    pub(super) fn sound(&mut self, hz: f64) -> Result<(), String> {
        if self.speaker.is_none() {
            self.speaker = Some(Speaker::open(None).map_err(|error| error.to_string())?);
        }
        let Some(speaker) = &self.speaker else { return Ok(()) };
        let rate = speaker.sample_rate();
        let tone = Tone::new(hz, rate).map_err(|error| error.to_string())?.lasting(TONE.as_secs_f64());
        speaker.play(Box::new(Sounding { tone, rate })).map_err(|error| error.to_string())?;
        self.until = Some(Instant::now() + TONE + ECHO);
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
        if self.tone.is_done() {
            return 0;
        }
        self.tone.fill(out);
        out.len()
    }
}
