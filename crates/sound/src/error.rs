//! What can go wrong with sound, in words for the player.

use crate::found::{Direction, Found};
use cpal::ErrorKind;
use std::fmt;
use std::path::{Path, PathBuf};

/// What every recording must be; part of each sentence about a file that is not.
const READABLE: &str =
    "recordings are WAV files of 8, 16, 24 or 32 bits a sample, or 32-bit float, at 8 to 192 kHz";

/// Why no sound can be had. The text says what is wrong, where, and what to do.
#[derive(Clone, Debug, PartialEq)]
pub enum SoundError {
    /// A recording cannot be read.
    Recording {
        /// The file.
        path: PathBuf,
        /// What is wrong with it, as the end of "it …".
        what: String,
    },
    /// A channel was asked for that the source does not have.
    NoSuchChannel {
        /// The channel, counted from 1.
        wanted: u16,
        /// How many there are.
        has: u16,
        /// The device or file.
        source: String,
    },
    /// A text that names no channel.
    BadChannel(String),
    /// No device at all can be opened.
    NoDevice {
        /// Input or output.
        direction: Direction,
        /// What each sound system said.
        tried: Vec<String>,
    },
    /// No device has the name that was asked for.
    NoSuchDevice {
        /// Input or output.
        direction: Direction,
        /// The name.
        wanted: String,
        /// The names that there are.
        known: Vec<String>,
    },
    /// A device is there but cannot be used.
    Device {
        /// Its name.
        device: String,
        /// Why not.
        what: String,
    },
    /// The sound system hangs.
    NoAnswer,
    /// A sound library panicked; in its own words.
    BrokeDown(String),
    /// The operating system refused a thread.
    NoThread(String),
}

impl SoundError {
    pub(crate) fn recording(path: &Path, what: impl Into<String>) -> Self {
        Self::Recording { path: path.to_owned(), what: what.into() }
    }

    pub(crate) fn device(found: &Found, error: &cpal::Error) -> Self {
        let device = format!("{} ({})", found.label, found.host.name());
        Self::Device { device, what: in_words(error) }
    }
}

impl fmt::Display for SoundError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Recording { path, what } => write!(f, "{}: {what}; {READABLE}.", path.display()),
            Self::NoSuchChannel { wanted, has, source } => {
                let channels = if *has == 1 { "channel" } else { "channels" };
                write!(
                    f,
                    "{source} has {has} {channels}, so there is no channel {wanted}; use auto, mix or 1 to {has}."
                )
            }
            Self::BadChannel(text) => {
                write!(f, "\"{text}\" is no channel; use auto, left, right, mix or a number counted from 1")
            }
            Self::NoDevice { direction, tried } => {
                let (what, advice) = match direction {
                    Direction::Input => {
                        ("microphone or other sound input", "Connect one, or listen to the built-in player.")
                    }
                    Direction::Output => (
                        "loudspeaker or other sound output",
                        "Connect one, or go on without reference tones.",
                    ),
                };
                write!(f, "No {what} can be used ({}). {advice}", tried.join("; "))
            }
            Self::NoSuchDevice { direction, wanted, known } => {
                let what = if *direction == Direction::Input { "sound input" } else { "sound output" };
                let known = if known.is_empty() {
                    "there is none at all".to_owned()
                } else {
                    format!("there are: {}", known.join(", "))
                };
                write!(f, "No {what} is called \"{wanted}\"; {known}.")
            }
            Self::Device { device, what } => write!(f, "{device} cannot be opened: {what}."),
            Self::NoAnswer => {
                f.write_str("The sound system does not answer. Restart it, or listen to the built-in player.")
            }
            Self::BrokeDown(why) => write!(f, "The sound system broke down: {why}."),
            Self::NoThread(why) => write!(f, "The system refused to start a thread for the sound: {why}."),
        }
    }
}

impl std::error::Error for SoundError {}

/// What a sound system says, in plain words where it can be told.
fn in_words(error: &cpal::Error) -> String {
    match error.kind() {
        ErrorKind::DeviceBusy => "another program is using it".to_owned(),
        ErrorKind::PermissionDenied => {
            "the system does not allow it; grant access to sound in its settings".to_owned()
        }
        ErrorKind::HostUnavailable => "the sound system is not running".to_owned(),
        ErrorKind::DeviceNotAvailable => "it is not connected".to_owned(),
        _ => error.to_string(),
    }
}
