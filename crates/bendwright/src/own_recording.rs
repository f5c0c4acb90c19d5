//! A recording of the player's own as the band, and where its bars lie.

use crate::failure::Failure;
use crate::files::shown;
use practice::jam::JamPlan;
use practice::run::{Metre, Tempo};
use sound::{AtRate, Channel, Generator, Recording, SoundError};
use std::path::{Path, PathBuf};

/// The peak where none is said, dBFS: that of the band. And the highest peak of its samples, dBFS; the wave between two
/// samples may pass it.
const PEAK_DBFS: f64 = -15.0;
const HIGHEST_DBFS: f64 = -12.0;
/// Samples that are read at once.
const BLOCK: usize = 4_096;

/// What is said where nobody knows where its beats are.
pub(crate) const NO_BEAT: &str = "--recording: nobody knows where its beats are; say with --first-beat at which second its first bar begins, and with --tempo how \
     many beats a minute it has, or let bendwright band --recording FILE.wav --tap find both";

/// A recording on disk, brought to a level.
#[derive(Clone, Debug)]
pub(crate) struct OwnRecording {
    path: PathBuf,
    /// How much it is made louder, and what none of its samples may pass.
    gain: f32,
    highest: f32,
    /// How long it is, seconds.
    pub(crate) seconds: f64,
}

/// A recording whose bars are known.
#[derive(Clone, Debug)]
pub(crate) struct OwnBand {
    recording: OwnRecording,
    tempo: Tempo,
    metre: Metre,
    /// The second at which its first bar begins.
    first_s: f64,
    /// What it is a recording of: the title of its form.
    form: String,
}

impl OwnRecording {
    /// A recording, brought to a level (the peak, dBFS).
    ///
    /// # Errors
    /// If it cannot be read, or is silent.
    pub(crate) fn new(file: &Path, level: Option<f64>) -> Result<Self, Failure> {
        if Recording::is_stream(file) {
            return Err(Failure::user("--recording: this is no file; a pipe cannot be read twice"));
        }
        let (peak, seconds) = measured(file)?;
        if peak == 0.0 {
            return Err(Failure::user(format!(
                "--recording {}: there is nothing but silence in it",
                shown(file)
            )));
        }
        let amplitude = |dbfs: f64| 10f64.powf(dbfs / 20.0) as f32;
        Ok(Self {
            path: file.to_owned(),
            gain: amplitude(level.unwrap_or(PEAK_DBFS)) / peak,
            highest: amplitude(HIGHEST_DBFS),
            seconds,
        })
    }

    /// The moment at which its first bar begins, seconds, as it is given.
    ///
    /// # Errors
    /// If the recording has no such moment.
    pub(crate) fn first_beat(&self, seconds: f64) -> Result<f64, Failure> {
        if (0.0..self.seconds).contains(&seconds) {
            return Ok(seconds);
        }
        Err(Failure::user(format!(
            "--first-beat: {seconds} is no second of this recording, which has {:.1}",
            self.seconds
        )))
    }

    /// Its sound from a moment on, seconds, for a loudspeaker that takes so many samples a second.
    ///
    /// # Errors
    /// If it cannot be read any more: a sentence.
    pub(crate) fn sound_from(&self, seconds: f64, rate: f64) -> Result<Box<dyn Generator>, String> {
        let mut recording = open(&self.path).map_err(|error| error.to_string())?;
        recording.skip((seconds * recording.sample_rate()).round() as u64);
        Ok(Box::new(Softer { gain: self.gain, highest: self.highest, of: AtRate::new(recording, rate) }))
    }
}

impl OwnBand {
    /// A recording of a form, which is played at a tempo from a moment on, seconds.
    ///
    /// # Errors
    /// If the recording has no such moment.
    pub(crate) fn new(
        recording: OwnRecording,
        (first_s, tempo, metre): (f64, Tempo, Metre),
        form: String,
    ) -> Result<Self, Failure> {
        let first_s = recording.first_beat(first_s)?;
        Ok(Self { recording, tempo, metre, first_s, form })
    }

    /// Seconds of a bar.
    pub(crate) fn bar_s(&self) -> f64 {
        self.tempo.beat_s() * f64::from(self.metre.beats())
    }

    /// Whole bars from its first beat to its end, at least one.
    pub(crate) fn bars(&self) -> u64 {
        (((self.recording.seconds - self.first_s) / self.bar_s()) as u64).max(1)
    }

    /// Whether it is a recording of what a jam goes over.
    pub(crate) fn suits(&self, plan: &JamPlan) -> bool {
        let rhythm = &plan.rhythm;
        rhythm.tempo == self.tempo && rhythm.metre == self.metre && plan.form.title == self.form
    }

    /// Its sound from the beginning of a bar on, counted from 0.
    ///
    /// # Errors
    /// If it cannot be read any more: a sentence.
    pub(crate) fn sound_from_bar(&self, bar: u64, rate: f64) -> Result<Box<dyn Generator>, String> {
        self.recording.sound_from(self.first_s + bar as f64 * self.bar_s(), rate)
    }
}

fn open(file: &Path) -> Result<Recording, SoundError> {
    Recording::open_channel(file, Channel::Mix)
}

/// The highest sample of a recording, and its length in seconds.
fn measured(file: &Path) -> Result<(f32, f64), Failure> {
    let mut recording = open(file).map_err(Failure::user)?;
    let (mut peak, mut samples) = (0.0_f32, 0_u64);
    let mut block = [0.0; BLOCK];
    loop {
        let made = recording.fill(&mut block);
        if made == 0 {
            return Ok((peak, samples as f64 / recording.sample_rate()));
        }
        peak = block[..made].iter().filter(|x| x.is_finite()).fold(peak, |peak, x| peak.max(x.abs()));
        samples += made as u64;
    }
}

/// A sound at another level.
struct Softer<G> {
    gain: f32,
    highest: f32,
    of: G,
}

impl<G: Generator> Generator for Softer<G> {
    fn sample_rate(&self) -> f64 {
        self.of.sample_rate()
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        let made = self.of.fill(out);
        for x in &mut out[..made] {
            *x = (*x * self.gain).clamp(-self.highest, self.highest);
        }
        made
    }
}
