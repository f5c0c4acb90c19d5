//! Turns what is to be played into samples for the ring: one generator at a time, faded out rather than cut off.

use crate::Generator;
use crate::worker::caught;

/// Length of a fade, seconds. Long enough not to click, short enough to feel like at once.
const FADE_SECONDS: f64 = 0.01;

/// What became of the sound that was playing.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Progress {
    /// Nothing to tell.
    Going,
    /// It came to its end.
    Finished,
    /// Its generator panicked.
    Broke(String),
}

/// Plays one generator.
pub(crate) struct Renderer {
    current: Option<Box<dyn Generator>>,
    next: Option<Box<dyn Generator>>,
    /// 1 while playing, on its way to 0 while fading.
    gain: f32,
    fading: bool,
    step: f32,
}

impl Renderer {
    pub(crate) fn new(sample_rate: f64) -> Self {
        Self {
            current: None,
            next: None,
            gain: 1.0,
            fading: false,
            step: (1.0 / (FADE_SECONDS * sample_rate)) as f32,
        }
    }

    /// Starts a sound; one that is playing fades first.
    pub(crate) fn play(&mut self, generator: Box<dyn Generator>) {
        self.next = Some(generator);
        self.fading = self.current.is_some();
    }

    /// Fades out what is playing.
    pub(crate) fn stop(&mut self) {
        self.next = None;
        self.fading = self.current.is_some();
    }

    /// Whether nothing is playing, though something may be waiting.
    pub(crate) fn is_silent(&self) -> bool {
        self.current.is_none()
    }

    /// Writes the next samples to the front of `out` and says how many; 0 when nothing is playing. Whatever a generator
    /// makes, no sample is louder than full scale or no number.
    pub(crate) fn render(&mut self, out: &mut [f32]) -> (usize, Progress) {
        if self.current.is_none() {
            self.current = self.next.take();
            (self.gain, self.fading) = (1.0, false);
        }
        let Some(generator) = &mut self.current else { return (0, Progress::Going) };
        let made = match caught(|| generator.fill(out)) {
            Ok(made) => made.min(out.len()),
            Err(why) => {
                self.current = None;
                return (0, Progress::Broke(why));
            }
        };
        if made == 0 {
            self.current = None;
            return (0, Progress::Finished);
        }
        for sample in &mut out[..made] {
            let x = if sample.is_finite() { sample.clamp(-1.0, 1.0) } else { 0.0 };
            *sample = x * self.gain;
            if self.fading {
                self.gain = (self.gain - self.step).max(0.0);
            }
        }
        if self.gain == 0.0 {
            self.current = None;
        }
        (made, Progress::Going)
    }
}

#[cfg(test)]
mod tests;
