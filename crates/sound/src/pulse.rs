//! PulseAudio, and `PipeWire` which speaks its protocol, straight through their socket.
//!
//! The protocol is that of the pure-Rust client library which cpal's PulseAudio host uses too, but cpal's host is not
//! used. Measured with cpal 0.18.2 and that library's 0.3.2: each connection leaves a thread and a client of the server
//! behind, every message clears a megabyte of memory (2.5 % to 6 % of a processor core for one microphone; here it is a
//! tenth of that), the server is given room for a single block and drops samples beyond it without a word, and a
//! callback takes a lock. Blocking reads on a thread of our own need none of this.

mod line;
mod play;
mod record;

use line::Line;
pub(crate) use play::Loudspeaker;
pub(crate) use record::Microphone;

use crate::found::{Direction, Found, Handle, Host};
use pulseaudio::protocol::{Command, ServerInfo, SinkInfo, SourceInfo};
use std::ffi::{CStr, CString};

/// The devices of the running server.
pub(crate) struct Survey {
    pub(crate) devices: Vec<Found>,
    /// Which of them is taken when none is named.
    pub(crate) default: Option<usize>,
}

/// Asks the server what there is.
pub(crate) fn survey(direction: Direction) -> Result<Survey, cpal::Error> {
    let mut line = Line::connect()?;
    let server: ServerInfo = line.ask(&Command::GetServerInfo)?;
    let (devices, default): (Vec<Found>, _) = match direction {
        Direction::Input => {
            let sources: Vec<SourceInfo> = line.ask(&Command::GetSourceInfoList)?;
            let found = |s: SourceInfo| describe(&s.name, s.description, s.monitor_of_sink_index.is_some());
            (sources.into_iter().map(found).collect(), server.default_source_name)
        }
        Direction::Output => {
            let sinks: Vec<SinkInfo> = line.ask(&Command::GetSinkInfoList)?;
            let found = |s: SinkInfo| describe(&s.name, s.description, false);
            (sinks.into_iter().map(found).collect(), server.default_sink_name)
        }
    };
    let default = default.map(|name| in_text(&name));
    let default = devices.iter().position(|found| Some(&found.id) == default.as_ref());
    Ok(Survey { devices, default })
}

fn describe(name: &CStr, description: Option<CString>, is_monitor: bool) -> Found {
    let id = in_text(name);
    let label = description.map_or_else(|| id.clone(), |text| in_text(&text));
    Found { handle: Handle::Pulse, host: Host::Pulse, id, label, is_monitor }
}

fn in_text(name: &CStr) -> String {
    name.to_string_lossy().into_owned()
}
