//! What there is to listen to and to play through.

use crate::SoundError;
use crate::found::Direction;
use crate::hosts;
use crate::worker::{Stop, within};
use std::time::Duration;

/// The longest that sound systems are given to list their devices.
const LIST_LIMIT: Duration = Duration::from_secs(6);

/// A device as it can be chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeviceInfo {
    /// The name for the player.
    pub name: String,
    /// The unmistakable name, such as `alsa:default`; also accepted wherever a device is chosen.
    pub id: String,
    /// The sound system, such as `PulseAudio`.
    pub host: String,
    /// Which way it goes.
    pub direction: Direction,
    /// Whether it is taken when none is named.
    pub is_default: bool,
    /// Whether it is no microphone but hears what the computer plays.
    pub is_monitor: bool,
}

/// Lists inputs, then outputs, without the plug-in names of ALSA that no player means.
///
/// Sound libraries may write to standard error meanwhile: hold a [`QuietStderr`](crate::QuietStderr) around the call.
///
/// # Errors
/// [`SoundError::NoAnswer`] when a sound system hangs. No device at all is an empty list, not an error.
pub fn devices() -> Result<Vec<DeviceInfo>, SoundError> {
    let both = || [Direction::Input, Direction::Output].into_iter().flat_map(of).collect();
    within("list", LIST_LIMIT, &Stop::default(), both).ok_or(SoundError::NoAnswer)
}

fn of(direction: Direction) -> Vec<DeviceInfo> {
    let default = hosts::find(None, direction, None).found.into_iter().next().map(|found| found.full_id());
    let listed = hosts::list(direction).into_iter().map(|found| {
        let id = found.full_id();
        DeviceInfo {
            is_default: default.as_ref() == Some(&id),
            name: found.label,
            id,
            host: found.host.name().to_owned(),
            direction,
            is_monitor: found.is_monitor,
        }
    });
    listed.collect()
}
