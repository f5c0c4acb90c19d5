//! A device that was found, and how it is reached.

use cpal::HostId;

/// Which way the sound goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// A microphone or line input.
    Input,
    /// Loudspeakers or headphones.
    Output,
}

/// A sound system.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Host {
    /// PulseAudio's protocol, which `PipeWire` speaks too.
    #[cfg(target_os = "linux")]
    Pulse,
    /// Whatever cpal reaches.
    Cpal(HostId),
}

impl Host {
    /// Its name for the player.
    pub(crate) fn name(self) -> &'static str {
        match self {
            #[cfg(target_os = "linux")]
            Self::Pulse => "PulseAudio",
            Self::Cpal(id) => id.name(),
        }
    }
}

/// How a device is opened.
pub(crate) enum Handle {
    /// By its name.
    #[cfg(target_os = "linux")]
    Pulse,
    /// By cpal.
    Cpal(cpal::Device),
}

/// A device that may be opened.
pub(crate) struct Found {
    pub(crate) handle: Handle,
    pub(crate) host: Host,
    /// Its name within the sound system.
    pub(crate) id: String,
    /// Its name for the player.
    pub(crate) label: String,
    /// It hears what the computer plays.
    pub(crate) is_monitor: bool,
}

impl Found {
    /// A name that no other device has, such as `alsa:default`.
    pub(crate) fn full_id(&self) -> String {
        format!("{}:{}", self.host.name().to_ascii_lowercase(), self.id)
    }

    /// Whether a player who writes `name` means this device by its id.
    pub(crate) fn has_id(&self, name: &str) -> bool {
        self.id == name || self.full_id() == name
    }
}
