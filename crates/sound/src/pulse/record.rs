//! A microphone.

use super::line::{Line, Message, PIECE, Stream, name_of};
use crate::found::Found;
use crate::host_time::HostTime;
use crate::intake::Intake;
use crate::watch::Faults;
use cpal::ErrorKind;
use pulseaudio::protocol::{
    ChannelMap, Command, CreateRecordStreamReply, GetSourceInfo, Prop, Props, ProtocolError,
    RecordStreamParams, SampleFormat, SampleSpec, SourceInfo,
};
use std::io::Read;
use std::sync::Arc;

/// Frames that the server is asked to send at once; it sends about half of it, every five milliseconds at 48 kHz.
const FRAMES: u32 = 512;

/// A source that has been looked up.
pub(crate) struct Microphone {
    line: Line,
    index: u32,
    map: ChannelMap,
    rate: u32,
}

impl Microphone {
    /// Connects to the server and looks the device up.
    pub(crate) fn find(found: &Found) -> Result<Self, cpal::Error> {
        let mut line = Line::connect()?;
        let question = GetSourceInfo { name: Some(name_of(found)?), ..Default::default() };
        let source: SourceInfo = line.ask(&Command::GetSourceInfo(question))?;
        Ok(Self { line, index: source.index, map: source.channel_map, rate: source.sample_spec.sample_rate })
    }

    /// How many channels it has.
    pub(crate) fn channels(&self) -> u16 {
        self.map.num_channels().into()
    }

    /// Samples per second at which it runs.
    pub(crate) fn sample_rate(&self) -> u32 {
        self.rate
    }

    /// Starts to record at `sample_rate`, which the server converts to if need be.
    pub(crate) fn start(
        mut self,
        sample_rate: u32,
        intake: Intake,
        faults: Arc<Faults>,
    ) -> Result<Stream, cpal::Error> {
        let channels = self.map.num_channels();
        let mut props = Props::new();
        props.set(Prop::MediaName, c"microphone");
        let mut params = RecordStreamParams {
            source_index: Some(self.index),
            sample_spec: SampleSpec { format: SampleFormat::Float32Le, channels, sample_rate },
            channel_map: self.map,
            props,
            ..Default::default()
        };
        // As much room as there is, so that the server loses nothing while we are busy.
        params.buffer_attr.max_length = u32::MAX;
        params.buffer_attr.fragment_size = FRAMES * u32::from(channels) * 4;
        params.flags.adjust_latency = true;
        let created: CreateRecordStreamReply = self.line.ask(&Command::CreateRecordStream(params))?;
        let mut listener = Listener::new(created.channel, intake);
        self.line.run(faults, move |line, faults| listener.run(line, faults))
    }
}

/// The thread's side.
struct Listener {
    channel: u32,
    intake: Intake,
    bytes: Vec<u8>,
    samples: Vec<f32>,
}

impl Listener {
    fn new(channel: u32, intake: Intake) -> Self {
        let frame = 4 * intake.channels();
        let whole = PIECE - PIECE % frame;
        Self { channel, intake, bytes: vec![0; whole], samples: vec![0.0; whole / 4] }
    }

    fn run(&mut self, line: &mut Line, faults: &Faults) -> Result<(), ProtocolError> {
        loop {
            match line.listen()? {
                Message::Samples(channel, length) if channel == self.channel => self.take(line, length)?,
                Message::Samples(..) | Message::Killed => return Ok(()),
                Message::Moved => faults.count(&ErrorKind::DeviceChanged.into()),
                Message::Request(_) | Message::RanDry | Message::Other => {}
            }
        }
    }

    fn take(&mut self, line: &mut Line, length: usize) -> Result<(), ProtocolError> {
        let mut left = length;
        while left > 0 {
            let piece = left.min(self.bytes.len());
            let (bytes, _) = self.bytes.split_at_mut(piece);
            line.socket.read_exact(bytes)?;
            left -= piece;
            let (words, _) = bytes.as_chunks();
            let (samples, _) = self.samples.split_at_mut(words.len());
            for (sample, word) in samples.iter_mut().zip(words) {
                *sample = f32::from_le_bytes(*word);
            }
            self.intake.take(samples, HostTime::now());
        }
        Ok(())
    }
}
