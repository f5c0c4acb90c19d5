//! One connection to the server.

use crate::found::Found;
use crate::watch::Faults;
use crate::worker::{self, caught};
use cpal::ErrorKind;
use pulseaudio::protocol::{
    self, AuthParams, AuthReply, Command, CommandReply, Prop, Props, ProtocolError, PulseError,
    SetClientNameReply,
};
use std::ffi::{CStr, CString};
use std::io::{BufReader, Read};
use std::net::Shutdown;
use std::os::unix::net::UnixStream;
use std::sync::Arc;
use std::thread::JoinHandle;
use std::time::Duration;

/// What the server calls us.
const CLIENT_NAME: &CStr = c"bendwright";
/// The longest that the server may take to answer a question, or to take in what is sent.
const ANSWER_LIMIT: Duration = Duration::from_secs(2);
/// Bytes that are read or written in one piece.
pub(super) const PIECE: usize = 16 * 1024;
/// No sane server sends a message of more bytes than this.
const LONGEST_COMMAND: u32 = 1 << 20;

/// A connection.
pub(crate) struct Line {
    pub(super) socket: BufReader<UnixStream>,
    version: u16,
}

/// What the server says when it is not asked.
pub(super) enum Message {
    /// Samples for a channel, this many bytes; they have to be read next.
    Samples(u32, usize),
    /// It wants this many bytes of samples.
    Request(usize),
    /// It has nothing left to play.
    RanDry,
    /// The stream now comes from, or goes to, another device.
    Moved,
    /// The stream is over.
    Killed,
    /// Something that changes nothing for us.
    Other,
}

impl Line {
    #[cfg(test)]
    pub(super) fn to(server: UnixStream) -> Self {
        Self { socket: BufReader::new(server), version: protocol::MAX_VERSION }
    }

    /// Connects to the server that the environment names.
    pub(crate) fn connect() -> Result<Self, cpal::Error> {
        let absent = || cpal::Error::from(ErrorKind::HostUnavailable);
        let path = pulseaudio::socket_path_from_env().ok_or_else(absent)?;
        // A socket without a server behind it is left over from one that is gone.
        let socket = UnixStream::connect(path).map_err(|_| absent())?;
        let limits =
            socket.set_read_timeout(Some(ANSWER_LIMIT)).and(socket.set_write_timeout(Some(ANSWER_LIMIT)));
        limits.map_err(|e| broken(&e.into()))?;
        let mut line =
            Self { socket: BufReader::with_capacity(PIECE, socket), version: protocol::MAX_VERSION };
        let cookie = pulseaudio::cookie_path_from_env().and_then(|path| std::fs::read(path).ok());
        let auth = AuthParams {
            version: protocol::MAX_VERSION,
            supports_shm: false,
            supports_memfd: false,
            cookie: cookie.unwrap_or_default(),
        };
        let answer: AuthReply = line.ask(&Command::Auth(auth))?;
        line.version = protocol::MAX_VERSION.min(answer.version);
        let mut props = Props::new();
        props.set(Prop::ApplicationName, CLIENT_NAME);
        let _: SetClientNameReply = line.ask(&Command::SetClientName(props))?;
        Ok(line)
    }

    /// Sends a question and waits for its answer.
    pub(super) fn ask<R: CommandReply>(&mut self, question: &Command) -> Result<R, cpal::Error> {
        protocol::write_command_message(self.socket.get_mut(), 0, question, self.version)
            .map_err(|e| broken(&e))?;
        let answer = protocol::read_reply_message(&mut self.socket, self.version);
        answer.map(|(_, answer)| answer).map_err(|e| broken(&e))
    }

    /// Waits for what the server says next.
    pub(super) fn listen(&mut self) -> Result<Message, ProtocolError> {
        let head = protocol::read_descriptor(&mut self.socket)?;
        if head.channel != u32::MAX {
            return Ok(Message::Samples(head.channel, head.length as usize));
        }
        if head.length > LONGEST_COMMAND {
            return Ok(Message::Killed);
        }
        let mut text = vec![0; head.length as usize];
        self.socket.read_exact(&mut text)?;
        Ok(match Command::read_tag_prefixed(&mut text.as_slice(), self.version) {
            Ok((_, Command::Request(request))) => Message::Request(request.length as usize),
            Ok((_, Command::Underflow(_))) => Message::RanDry,
            Ok((_, Command::RecordStreamMoved(_) | Command::PlaybackStreamMoved(_))) => Message::Moved,
            Ok((_, Command::RecordStreamKilled(_) | Command::PlaybackStreamKilled(_))) => Message::Killed,
            // Also news of a kind that the library does not know.
            Ok(_) | Err(_) => Message::Other,
        })
    }

    /// Runs `work` with this connection on a thread of its own, until it returns or the stream is dropped.
    pub(super) fn run<W>(self, faults: Arc<Faults>, mut work: W) -> Result<Stream, cpal::Error>
    where
        W: FnMut(&mut Line, &Faults) -> Result<(), ProtocolError> + Send + 'static,
    {
        let mut line = self;
        let socket = line.socket.get_ref().try_clone().map_err(|e| broken(&e.into()))?;
        socket.set_read_timeout(None).map_err(|e| broken(&e.into()))?;
        let until_the_end = move || {
            // However it ends, by the server, by an error or by a panic: there are no more samples.
            drop(caught(|| work(&mut line, &faults)));
            faults.count(&ErrorKind::StreamInvalidated.into());
        };
        let thread = worker::spawn("pulse", until_the_end).map_err(|e| other(e.to_string()))?;
        Ok(Stream { socket, thread: Some(thread) })
    }
}

/// A stream that is running; it ends when this is dropped.
pub(crate) struct Stream {
    socket: UnixStream,
    thread: Option<JoinHandle<()>>,
}

impl Drop for Stream {
    fn drop(&mut self) {
        // The thread may have ended by itself; then there is nothing left to shut down.
        let _ = self.socket.shutdown(Shutdown::Both);
        let _ = self.thread.take().map(JoinHandle::join);
    }
}

/// The name of a device as the protocol wants it.
pub(super) fn name_of(found: &Found) -> Result<CString, cpal::Error> {
    CString::new(found.id.as_str()).map_err(|_| ErrorKind::InvalidInput.into())
}

/// What went wrong on the line, with the kind that cpal gives to such an error.
fn broken(error: &ProtocolError) -> cpal::Error {
    match error {
        ProtocolError::ServerError(PulseError::NoEntity) => ErrorKind::DeviceNotAvailable.into(),
        ProtocolError::ServerError(PulseError::AccessDenied) => ErrorKind::PermissionDenied.into(),
        ProtocolError::ServerError(PulseError::Busy) => ErrorKind::DeviceBusy.into(),
        ProtocolError::ServerError(why) => other(format!("the server says: {why}")),
        ProtocolError::Io(why) => other(why.to_string()),
        _ => other(error.to_string()),
    }
}

fn other(text: String) -> cpal::Error {
    cpal::Error::with_message(ErrorKind::BackendError, text)
}
