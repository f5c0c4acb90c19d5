//! WAV files and pipes, read as they are needed.

use crate::picker::Picker;
use crate::pipe;
use crate::wav_header::{self, Coding, Format};
use crate::{Channel, Generator, SoundError};
use std::fs::{self, File};
use std::io::{self, BufReader, IsTerminal, Read};
use std::path::Path;

/// Bytes that are read at once; no frame is longer.
const BLOCK: usize = 64 * 1024;

/// The path that means standard input, by the convention of POSIX (Utility Syntax Guideline 13).
const STANDARD_INPUT: &str = "-";
/// What standard input is called in messages.
const STANDARD_INPUT_NAME: &str = "standard input";

const TERMINAL: &str = "this is a terminal, which brings no recording";

/// Full scale of samples that are put at the top of 32 bits.
const FULL_SCALE: f32 = 2_147_483_648.0;

/// A recording on disk or on a pipe as a source of samples. An hour of it needs no more memory than a second.
pub struct Recording {
    name: String,
    source: BufReader<Box<dyn Read + Send>>,
    /// A second handle to the source if that is a pipe, to ask whether there is something in the pipe.
    pipe: Option<File>,
    /// Whether there was nothing in the pipe when it was last asked.
    waiting: bool,
    format: Format,
    picker: Picker,
    block: Box<[u8]>,
    /// Where in the block the bytes stand that are not decoded yet.
    unread: std::ops::Range<usize>,
    /// One frame, interleaved.
    frame: Vec<f32>,
    /// Frames that there are to be, if the header says it.
    announced: Option<u64>,
    delivered: u64,
    warning: Option<String>,
    warned_of_nan: bool,
    ended: bool,
}

impl Recording {
    /// Opens a WAV file and listens to its loudest channel.
    ///
    /// # Errors
    /// As [`Recording::open_channel`], less the channel.
    pub fn open(path: impl AsRef<Path>) -> Result<Self, SoundError> {
        Self::open_channel(path, Channel::Auto)
    }

    /// Opens a WAV file, a pipe that brings one, or standard input (`-`), and listens to one channel of it.
    ///
    /// A pipe is waited for here: until somebody writes to it, and until its header has come. After that it is never
    /// waited for long ([`Generator::is_waiting`]). Where its header leaves the length open (0 or 2³² − 1), the
    /// recording ends where the pipe does.
    ///
    /// # Errors
    /// [`SoundError::Recording`] when the file cannot be opened, is no WAV file, holds no sample, or holds samples of a
    /// kind that is not supported; [`SoundError::NoSuchChannel`] for a channel that the file does not have.
    pub fn open_channel(path: impl AsRef<Path>, channel: Channel) -> Result<Self, SoundError> {
        let on_standard_input = path.as_ref() == Path::new(STANDARD_INPUT);
        let (path, opened) = if on_standard_input {
            (Path::new(STANDARD_INPUT_NAME), pipe::standard_input())
        } else {
            (path.as_ref(), File::open(path.as_ref()))
        };
        let opened = opened.and_then(|file| Ok((file.metadata()?, file)));
        let (about, file) =
            opened.map_err(|e| SoundError::recording(path, format!("the file cannot be opened ({e})")))?;
        if about.is_dir() {
            return Err(SoundError::recording(path, "this is a folder"));
        }
        if file.is_terminal() {
            return Err(SoundError::recording(path, TERMINAL));
        }
        if about.is_file() {
            // Of a file on standard input, a part may have been read before.
            let size = (!on_standard_input).then_some(about.len());
            return Self::new((path, Box::new(file)), size, channel);
        }
        // Without a second handle the pipe cannot be asked, and reading waits for it.
        let pipe = file.try_clone().ok();
        Ok(Self { pipe, ..Self::new((path, Box::new(file)), None, channel)? })
    }

    /// Reads a recording from whatever brings its bytes, as they come; `name` is its name in messages.
    ///
    /// # Errors
    /// As [`Recording::open_channel`].
    pub fn read_from(
        source: impl Read + Send + 'static,
        name: &str,
        channel: Channel,
    ) -> Result<Self, SoundError> {
        Self::new((Path::new(name), Box::new(source)), None, channel)
    }

    /// `size` is that of the whole file, bytes.
    fn new(
        (path, source): (&Path, Box<dyn Read + Send>),
        size: Option<u64>,
        channel: Channel,
    ) -> Result<Self, SoundError> {
        let bad = |what| SoundError::recording(path, what);
        let mut source = BufReader::new(source);
        let header = wav_header::read(&mut source, size).map_err(bad)?;
        let format = header.format;
        let name = path.display().to_string();
        let mut recording = Self {
            picker: Picker::new(channel, format.channels, f64::from(format.rate), &name)?,
            name,
            source,
            pipe: None,
            waiting: false,
            block: vec![0; BLOCK].into(),
            unread: 0..0,
            frame: vec![0.0; usize::from(format.channels)],
            announced: header.length.map(|bytes| bytes / u64::from(format.frame_bytes)),
            format,
            delivered: 0,
            warning: None,
            warned_of_nan: false,
            ended: false,
        };
        if recording.announced == Some(0)
            || !recording.read_on().map_err(|e| bad(wav_header::unreadable(e)))?
        {
            return Err(bad("there is not one sample in it".into()));
        }
        Ok(recording)
    }

    /// Whether what is there comes only once and in its own time: standard input, a pipe, a device.
    pub fn is_stream(path: &Path) -> bool {
        path == Path::new(STANDARD_INPUT)
            || fs::metadata(path).is_ok_and(|about| !about.is_file() && !about.is_dir())
    }

    /// Leaves out the next `samples` samples, or as many as there are, without decoding them. A read error is told when
    /// the samples behind them are read.
    pub fn skip(&mut self, samples: u64) {
        let frame = u64::from(self.format.frame_bytes);
        let bytes = samples.saturating_mul(frame);
        let here = self.unread.len().min(usize::try_from(bytes).unwrap_or(usize::MAX));
        self.unread.start += here;
        let mut rest = self.source.by_ref().take(bytes - here as u64);
        let further = io::copy(&mut rest, &mut io::sink()).unwrap_or(0);
        self.delivered += (here as u64 + further) / frame;
    }

    /// Whether reading would wait longer than it may.
    fn has_to_wait(&self) -> bool {
        self.source.buffer().is_empty() && self.pipe.as_ref().is_some_and(|pipe| !pipe::has_something(pipe))
    }

    /// Reads until there is a whole frame in the block; false when the source ends first, or has to be waited for.
    fn read_on(&mut self) -> io::Result<bool> {
        self.block.copy_within(self.unread.clone(), 0);
        self.unread = 0..self.unread.len();
        while self.unread.len() < usize::from(self.format.frame_bytes) {
            self.waiting = self.has_to_wait();
            if self.waiting {
                return Ok(false);
            }
            match self.source.read(&mut self.block[self.unread.end..]) {
                Ok(0) => return Ok(false),
                Ok(more) => self.unread.end += more,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(true)
    }

    /// Whether there is another frame in the block; reads on where there is none.
    fn has_frame(&mut self) -> bool {
        if self.unread.len() < usize::from(self.format.frame_bytes) && !self.ended {
            match self.read_on() {
                Ok(true) => {}
                Ok(false) if self.waiting => return false,
                Ok(false) => self.end(None),
                Err(error) => self.end(Some(error)),
            }
        }
        !self.ended
    }

    /// Notes that no more samples come, and what the player should know of it.
    fn end(&mut self, error: Option<io::Error>) {
        self.ended = true;
        let name = &self.name;
        let there = self.delivered as f64 / self.sample_rate();
        let missing = self.announced.map_or(0, |announced| announced - self.delivered);
        self.warning = match error {
            Some(error) => Some(format!("{name}: it cannot be read beyond {there:.1} seconds ({error}).")),
            None if missing > 0 => {
                let missing = missing as f64 / self.sample_rate();
                Some(format!(
                    "{name}: the recording is cut short: {there:.1} seconds are there, {missing:.1} more were announced."
                ))
            }
            None => None,
        };
    }

    /// Decodes frames of the block into `out`, as many as there are, and says how many.
    fn decode<const N: usize>(&mut self, out: &mut [f32], value: impl Fn([u8; N]) -> f32) -> usize {
        let bytes = usize::from(self.format.frame_bytes);
        let mut frames = 0;
        for (slot, frame) in out.iter_mut().zip(self.block[self.unread.clone()].chunks_exact(bytes)) {
            for (x, sample) in self.frame.iter_mut().zip(frame.as_chunks().0) {
                let mut sample: [u8; N] = *sample;
                if self.format.big_endian {
                    sample.reverse();
                }
                *x = value(sample);
            }
            *slot = self.picker.pick(&self.frame);
            frames += 1;
        }
        self.unread.start += frames * bytes;
        self.delivered += frames as u64;
        frames
    }

    /// The name of the recording in messages.
    pub(crate) fn name(&self) -> &str {
        &self.name
    }

    /// How many channels the file has; one of them (or their mix) is delivered.
    pub fn channels(&self) -> u16 {
        self.format.channels
    }

    /// Samples so far that were no number (NaN or infinite); silence stands in their place.
    pub fn non_finite(&self) -> u64 {
        self.picker.non_finite()
    }
}

impl Generator for Recording {
    fn sample_rate(&self) -> f64 {
        f64::from(self.format.rate)
    }

    fn fill(&mut self, out: &mut [f32]) -> usize {
        let left = self.announced.map_or(u64::MAX, |announced| announced - self.delivered);
        let wanted = left.min(out.len() as u64) as usize;
        let mut filled = 0;
        while filled < wanted && self.has_frame() {
            let out = &mut out[filled..wanted];
            filled += match self.format.coding {
                Coding::Unsigned8 => self.decode(out, |[x]| integer([0, 0, 0, x ^ 0x80])),
                Coding::Signed16 => self.decode(out, |[a, b]| integer([0, 0, a, b])),
                Coding::Signed24 => self.decode(out, |[a, b, c]| integer([0, a, b, c])),
                Coding::Signed24In32 => self.decode(out, |[a, b, c, _]| integer([0, a, b, c])),
                Coding::Signed32 => self.decode(out, integer),
                Coding::Float32 => self.decode(out, f32::from_le_bytes),
            };
        }
        filled
    }

    fn is_waiting(&self) -> bool {
        self.waiting
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

/// An integer at the top of 32 bits, least significant byte first, as a part of full scale.
fn integer(bytes: [u8; 4]) -> f32 {
    i32::from_le_bytes(bytes) as f32 / FULL_SCALE
}
