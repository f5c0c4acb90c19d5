//! Where samples come from and go: devices, recordings and generators behind one kind of feed, the speaker, the level.
//!
//! The real-time callbacks live in `intake` and `outflow`; everything else may take its time. Whatever can go wrong
//! with a device is told as a [`FeedEvent`] or a [`SoundError`] in plain words, never as a panic and never on standard
//! error.

// The lists in `.clippy.toml` are meant for the real-time modules, which turn these two lints on for themselves.
#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

mod at_rate;
mod channel;
mod devices;
mod error;
mod event;
mod feed;
mod feeder;
mod found;
mod generator;
mod handed_out;
mod host_time;
mod hosts;
mod input;
mod intake;
mod level;
mod mixer;
mod opening;
mod outflow;
mod output;
mod own_sound;
mod picker;
mod piece;
mod pipe;
#[cfg(target_os = "linux")]
mod pulse;
mod pump;
mod quiet;
mod recording;
mod returned;
mod signal;
mod speaker;
mod stream_clock;
mod supervisor;
mod tap;
mod underruns;
mod watch;
mod wav_header;
mod worker;

pub use at_rate::AtRate;
pub use channel::Channel;
pub use devices::{DeviceInfo, devices};
pub use error::SoundError;
pub use event::{Block, Fed, FeedEvent, Origin};
pub use feed::{Feed, FeedSpec, Pace};
pub use found::Direction;
pub use generator::Generator;
pub use handed_out::{HandedOut, Handing};
pub use host_time::{Anchor, HostTime};
pub use level::{Level, LevelReading, Loudness};
pub use own_sound::OwnSound;
pub use quiet::QuietStderr;
pub use recording::Recording;
pub use returned::{QUIET_S, returned};
pub use speaker::{Speaker, SpeakerEvent};
pub use stream_clock::StreamClock;
pub use underruns::{Playback, Underruns};
pub use worker::THREAD_NAME_PREFIX;
