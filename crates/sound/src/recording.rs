//! WAV files, read as they are needed.

use crate::picker::Picker;
use crate::wav_header::{self, Mended};
use crate::{Channel, Generator, SoundError};
use hound::{SampleFormat, WavReader};
use std::fs::File;
use std::io::{BufReader, Chain, Cursor, Take};
use std::path::Path;

/// The buffer is the outermost layer, because the decoder asks for one sample at a time.
type Reader = WavReader<BufReader<Chain<Cursor<Vec<u8>>, Take<File>>>>;

/// Bytes that are read from the disk at once.
const BUFFER: usize = 64 * 1024;

/// A recording on disk as a source of samples. An hour of it needs no more memory than a second.
pub struct Recording {
    name: String,
    reader: Reader,
    picker: Picker,
    /// One frame, interleaved.
    frame: Vec<f32>,
    scale: f32,
    frames: u64,
    delivered: u64,
    warning: Option<String>,
    warned_of_nan: bool,
    ended: bool,
}

impl Recording {
    /// Opens a WAV file and listens to its loudest channel.
    ///
    /// # Errors
    /// [`SoundError::Recording`] when the file cannot be opened, is no WAV file, holds no sample, or holds samples of a
    /// kind that is not supported.
    pub fn open(path: impl AsRef<Path>) -> Result<Self, SoundError> {
        Self::open_channel(path, Channel::Auto)
    }

    /// Opens a WAV file and listens to one channel of it.
    ///
    /// # Errors
    /// As [`Recording::open`]; [`SoundError::NoSuchChannel`] for a channel that the file does not have.
    pub fn open_channel(path: impl AsRef<Path>, channel: Channel) -> Result<Self, SoundError> {
        let path = path.as_ref();
        let bad = |what: String| SoundError::recording(path, what);
        let file = File::open(path).map_err(|e| bad(format!("the file cannot be opened ({e})")))?;
        if file.metadata().is_ok_and(|about| about.is_dir()) {
            return Err(bad("this is a folder".into()));
        }
        let Mended { reader, frames, missing } = wav_header::mend(file).map_err(bad)?;
        let reader = BufReader::with_capacity(BUFFER, reader);
        let reader = WavReader::new(reader).map_err(|e| bad(format!("it cannot be decoded ({e})")))?;
        let spec = reader.spec();
        let rate = f64::from(spec.sample_rate);
        let name = path.display().to_string();
        let scale = match spec.sample_format {
            SampleFormat::Float => 1.0,
            SampleFormat::Int => (0.5f64).powi(i32::from(spec.bits_per_sample) - 1) as f32,
        };
        Ok(Self {
            picker: Picker::new(channel, spec.channels, rate, &name)?,
            frame: Vec::with_capacity(usize::from(spec.channels)),
            warning: (missing > 0).then(|| cut_short(&name, frames as f64 / rate, missing as f64 / rate)),
            name,
            reader,
            scale,
            frames,
            delivered: 0,
            warned_of_nan: false,
            ended: false,
        })
    }

    /// How many samples of one channel there are.
    pub fn frames(&self) -> u64 {
        self.frames
    }

    /// How many channels the file has; one of them (or their mix) is delivered.
    pub fn channels(&self) -> u16 {
        self.reader.spec().channels
    }

    /// How long it plays, seconds.
    pub fn seconds(&self) -> f64 {
        self.frames as f64 / self.sample_rate()
    }

    /// Samples so far that were no number (NaN or infinite); silence stands in their place.
    pub fn non_finite(&self) -> u64 {
        self.picker.non_finite()
    }

    /// Reads frames into `out` and says how many there were, and what kept it from reading on.
    fn decode<S: hound::Sample>(
        &mut self,
        out: &mut [f32],
        convert: impl Fn(S) -> f32,
    ) -> (usize, Option<hound::Error>) {
        let channels = self.picker.channels();
        let mut samples = self.reader.samples::<S>();
        for (filled, slot) in out.iter_mut().enumerate() {
            self.frame.clear();
            for sample in samples.by_ref().take(channels) {
                match sample {
                    Ok(sample) => self.frame.push(convert(sample)),
                    Err(error) => return (filled, Some(error)),
                }
            }
            if self.frame.len() < channels {
                return (filled, None);
            }
            *slot = self.picker.pick(&self.frame);
        }
        (out.len(), None)
    }
}

impl Generator for Recording {
    fn sample_rate(&self) -> f64 {
        f64::from(self.reader.spec().sample_rate)
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        if self.ended {
            return 0;
        }
        let scale = self.scale;
        let (filled, error) = match self.reader.spec().sample_format {
            SampleFormat::Float => self.decode(out, |sample: f32| sample),
            SampleFormat::Int => self.decode(out, |sample: i32| sample as f32 * scale),
        };
        self.ended = filled < out.len();
        if let Some(error) = error {
            let at = (self.delivered + filled as u64) as f64 / self.sample_rate();
            self.warning =
                Some(format!("{}: it cannot be read beyond {at:.1} seconds ({error}).", self.name));
        }
        self.delivered += filled as u64;
        filled
    }

    fn take_warning(&mut self) -> Option<String> {
        if self.warning.is_none() && !self.warned_of_nan && self.picker.non_finite() > 0 {
            self.warned_of_nan = true;
            let name = &self.name;
            return Some(format!(
                "{name}: some of its samples are no numbers; silence stands in their place."
            ));
        }
        self.warning.take()
    }
}

fn cut_short(name: &str, there: f64, missing: f64) -> String {
    format!("{name}: the file is cut short: {there:.1} seconds are there, {missing:.1} more were announced.")
}
