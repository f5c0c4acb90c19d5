//! A loudspeaker.

use super::line::{Line, Message, PIECE, Stream, name_of};
use crate::found::Found;
use crate::host_time::HostTime;
use crate::outflow::Outflow;
use crate::watch::Faults;
use cpal::ErrorKind;
use pulseaudio::protocol::{
    self, ChannelMap, Command, CreatePlaybackStreamReply, GetSinkInfo, PlaybackStreamParams, Prop, Props,
    ProtocolError, SampleFormat, SampleSpec, SinkInfo,
};
use std::sync::Arc;

/// Frames that the server is asked to keep between us and the loudspeaker: 64 ms at 48 kHz. A sound that is meant for a
/// moment is ordered earlier than that, and beside a compiler a thread has waited for its turn for more than 21 ms.
const FRAMES: u32 = 3072;
/// The server asks for more when so many frames are missing: the rest outlasts a thread of ours that is late by 50 ms.
const ASK_AT: u32 = 512;

/// A sink that has been looked up.
pub(crate) struct Loudspeaker {
    line: Line,
    index: u32,
    map: ChannelMap,
    rate: u32,
}

impl Loudspeaker {
    /// Connects to the server and looks the device up.
    pub(crate) fn find(found: &Found) -> Result<Self, cpal::Error> {
        let mut line = Line::connect()?;
        let question = GetSinkInfo { name: Some(name_of(found)?), ..Default::default() };
        let sink: SinkInfo = line.ask(&Command::GetSinkInfo(question))?;
        Ok(Self { line, index: sink.index, map: sink.channel_map, rate: sink.sample_spec.sample_rate })
    }

    /// How many channels it has.
    pub(crate) fn channels(&self) -> u16 {
        self.map.num_channels().into()
    }

    /// Samples per second at which it runs.
    pub(crate) fn sample_rate(&self) -> u32 {
        self.rate
    }

    /// Starts to play.
    pub(crate) fn start(mut self, outflow: Outflow, faults: Arc<Faults>) -> Result<Stream, cpal::Error> {
        let channels = self.map.num_channels();
        let mut props = Props::new();
        props.set(Prop::MediaName, c"tones");
        let mut params = PlaybackStreamParams {
            sink_index: Some(self.index),
            sample_spec: SampleSpec { format: SampleFormat::Float32Le, channels, sample_rate: self.rate },
            channel_map: self.map,
            props,
            ..Default::default()
        };
        let bytes = u32::from(channels) * 4;
        params.buffer_attr.target_length = FRAMES * bytes;
        params.buffer_attr.minimum_request_length = ASK_AT * bytes;
        // Play at once, and go on by itself after an underrun.
        params.buffer_attr.pre_buffering = 0;
        params.flags.adjust_latency = true;
        let created: CreatePlaybackStreamReply = self.line.ask(&Command::CreatePlaybackStream(params))?;
        let mut player = Player::new(created.channel, outflow, channels.into());
        let first = created.requested_bytes as usize;
        self.line.run(faults, move |line, faults| player.run(line, first, faults))
    }
}

/// The thread's side.
struct Player {
    channel: u32,
    outflow: Outflow,
    bytes: Vec<u8>,
    samples: Vec<f32>,
}

impl Player {
    fn new(channel: u32, outflow: Outflow, channels: usize) -> Self {
        let whole = PIECE - PIECE % (4 * channels);
        Self { channel, outflow, bytes: vec![0; whole], samples: vec![0.0; whole / 4] }
    }

    fn run(&mut self, line: &mut Line, first: usize, faults: &Faults) -> Result<(), ProtocolError> {
        self.give(line, first)?;
        // A stream that begins to run before its first samples are there reports an underrun, although nothing is
        // missed. It is under way once as many bytes have been asked for as it took at first.
        let mut asked = 0;
        loop {
            match line.listen()? {
                Message::Request(length) => {
                    asked += length;
                    self.give(line, length)?;
                }
                Message::Samples(..) | Message::Killed => return Ok(()),
                Message::RanDry if asked >= first => faults.count(&ErrorKind::Xrun.into()),
                Message::Moved => faults.count(&ErrorKind::DeviceChanged.into()),
                Message::RanDry | Message::Other => {}
            }
        }
    }

    fn give(&mut self, line: &mut Line, length: usize) -> Result<(), ProtocolError> {
        let (mut left, asked) = (length, HostTime::now());
        while left > 0 {
            let piece = left.min(self.bytes.len());
            let (bytes, _) = self.bytes.split_at_mut(piece);
            left -= piece;
            let (words, _) = bytes.as_chunks_mut();
            let (samples, _) = self.samples.split_at_mut(words.len());
            self.outflow.give(samples, asked);
            for (word, sample) in words.iter_mut().zip(samples) {
                *word = sample.to_le_bytes();
            }
            protocol::write_memblock(line.socket.get_mut(), self.channel, bytes, 0)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
