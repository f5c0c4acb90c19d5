//! Turns what is to be played into samples for the ring: sounds together, faded out rather than cut off.

use crate::Generator;
use crate::worker::caught;

/// Length of a fade, seconds. Long enough not to click, short enough to feel like at once.
const FADE_SECONDS: f64 = 0.01;
/// Samples that are asked of a sound at once.
const PORTION: usize = 256;

/// What became of the sounds that were playing.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Progress {
    /// Nothing to tell.
    Going,
    /// One came to its end.
    Finished,
    /// A generator panicked.
    Broke(String),
}

/// How a sound takes its place among others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    /// It takes the place of the tone before it: a reference tone, a model, a drone.
    Tone,
    /// It joins whatever plays: a click.
    Beat,
}

/// A sound that plays.
struct Voice {
    generator: Box<dyn Generator>,
    part: Part,
    /// Frames of silence before it.
    wait: usize,
    /// 1 while playing, on its way to 0 while fading.
    gain: f32,
    fading: bool,
}

/// Plays sounds together.
pub(crate) struct Mixer {
    voices: Vec<Voice>,
    /// The tone that begins when the one before it has faded.
    next: Option<Box<dyn Generator>>,
    step: f32,
}

impl Mixer {
    pub(crate) fn new(sample_rate: f64) -> Self {
        Self { voices: Vec::new(), next: None, step: (1.0 / (FADE_SECONDS * sample_rate)) as f32 }
    }

    /// Starts a tone; one that is playing fades first, and beats go on.
    pub(crate) fn play(&mut self, generator: Box<dyn Generator>) {
        self.next = Some(generator);
        self.fade(|voice| voice.part == Part::Tone);
    }

    /// Lets a beat join after so many frames.
    pub(crate) fn join(&mut self, generator: Box<dyn Generator>, wait: usize) {
        self.voices.push(Voice { generator, part: Part::Beat, wait, gain: 1.0, fading: false });
    }

    /// Fades out whatever is playing.
    pub(crate) fn stop(&mut self) {
        self.next = None;
        self.fade(|_| true);
    }

    /// Whether nothing is playing, though something may be waiting.
    pub(crate) fn is_silent(&self) -> bool {
        self.voices.is_empty()
    }

    /// Whether a tone is playing.
    pub(crate) fn has_tone(&self) -> bool {
        self.has(Part::Tone)
    }

    /// Whether a beat is playing, or joins soon.
    pub(crate) fn has_beat(&self) -> bool {
        self.has(Part::Beat)
    }

    fn has(&self, part: Part) -> bool {
        self.voices.iter().any(|voice| voice.part == part)
    }

    fn fade(&mut self, which: impl Fn(&Voice) -> bool) {
        // What has not begun needs no fade.
        self.voices.retain(|voice| voice.wait == 0 || !which(voice));
        self.voices.iter_mut().filter(|voice| which(voice)).for_each(|voice| voice.fading = true);
    }

    /// Writes the next samples to the front of `out` and says how many; 0 when nothing is playing. Every sample is
    /// finite and at most full scale, whatever the generators make.
    pub(crate) fn render(&mut self, out: &mut [f32]) -> (usize, Progress) {
        if !self.has_tone()
            && let Some(generator) = self.next.take()
        {
            self.voices.push(Voice { generator, part: Part::Tone, wait: 0, gain: 1.0, fading: false });
        }
        out.fill(0.0);
        let (mut made, mut progress) = (0, Progress::Going);
        self.voices.retain_mut(|voice| match caught(|| voice.add(out, self.step)) {
            Ok((end, goes_on)) => {
                made = made.max(end);
                if !goes_on && !voice.fading {
                    progress = Progress::Finished;
                }
                goes_on
            }
            Err(why) => {
                progress = Progress::Broke(why);
                false
            }
        });
        for sample in &mut out[..made] {
            *sample = sample.clamp(-1.0, 1.0);
        }
        (made, progress)
    }
}

impl Voice {
    /// Adds its next samples; says up to where, and whether there are more to come.
    fn add(&mut self, out: &mut [f32], step: f32) -> (usize, bool) {
        let mut at = self.wait.min(out.len());
        self.wait -= at;
        while at < out.len() {
            let mut portion = [0.0; PORTION];
            let room = (out.len() - at).min(PORTION);
            let made = self.generator.fill(&mut portion[..room]).min(room);
            if made == 0 {
                return (at, false);
            }
            for (sum, sample) in out[at..at + made].iter_mut().zip(&portion) {
                let x = if sample.is_finite() { sample.clamp(-1.0, 1.0) } else { 0.0 };
                *sum += x * self.gain;
                if self.fading {
                    self.gain = (self.gain - step).max(0.0);
                }
            }
            at += made;
            if self.gain == 0.0 {
                return (at, false);
            }
        }
        (at, true)
    }
}

#[cfg(test)]
mod tests;
