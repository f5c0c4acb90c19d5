//! Sound systems and their devices, found by name.

use crate::SoundError;
use crate::found::{Direction, Found, Handle, Host};
#[cfg(target_os = "linux")]
use crate::pulse::{self, Survey};
use cpal::traits::{DeviceTrait, HostTrait};
use cpal::{DeviceDirection, ErrorKind, HostId};
use std::env;
use std::path::PathBuf;

/// How the refusal of a sound system that is not there ends.
pub(crate) const NOT_RUNNING: &str = "is not running";

/// Devices to try in turn, and why sound systems could not be asked.
pub(crate) struct Search {
    pub(crate) found: Vec<Found>,
    pub(crate) refusals: Vec<String>,
}

/// The sound systems of this platform in the order in which they are tried: on Linux PulseAudio, then ALSA.
fn hosts() -> Vec<Host> {
    let mut all = Vec::new();
    #[cfg(target_os = "linux")]
    all.push(Host::Pulse);
    all.extend(cpal::ALL_HOSTS.iter().map(|&id| Host::Cpal(id)));
    all
}

/// Finds the default devices, or those with a name: their id as [`crate::devices`] prints it (`alsa:default`), their
/// full name, or a part of the name. With `only`, other sound systems are not asked.
pub(crate) fn find(wanted: Option<&str>, direction: Direction, only: Option<Host>) -> Search {
    let mut search = Search { found: Vec::new(), refusals: Vec::new() };
    for host in hosts().into_iter().filter(|&host| only.is_none_or(|only| only == host)) {
        let default = match default_of(host, direction) {
            Ok(default) => default,
            Err(error) => {
                search.refusals.push(refusal(host, &error));
                continue;
            }
        };
        match (wanted, default) {
            (None, Some(found)) => search.found.push(found),
            (None, None) => search.refusals.push(format!("{} has no default device", host.name())),
            // The default one is not looked for among all: listing ALSA's devices is slow and noisy.
            (Some(name), Some(found)) if found.has_id(name) => search.found.push(found),
            (Some(name), _) => search.found.extend(matching(all_of(host, direction), name)),
        }
    }
    search
}

/// All devices of one direction, without the plumbing that no player means.
pub(crate) fn list(direction: Direction) -> Vec<Found> {
    let all = hosts().into_iter().flat_map(|host| all_of(host, direction));
    all.filter(|found| !is_plumbing(found)).collect()
}

fn default_of(host: Host, direction: Direction) -> Result<Option<Found>, cpal::Error> {
    let id = match host {
        #[cfg(target_os = "linux")]
        Host::Pulse => {
            let Survey { mut devices, default } = pulse::survey(direction)?;
            return Ok(default.map(|index| devices.swap_remove(index)));
        }
        Host::Cpal(id) => id,
    };
    let host = cpal::host_from_id(id)?;
    let device = match direction {
        Direction::Input => host.default_input_device(),
        Direction::Output => host.default_output_device(),
    };
    Ok(device.map(|device| describe(device, id)))
}

/// A sound system that cannot be asked has no devices.
fn all_of(host: Host, direction: Direction) -> Vec<Found> {
    let id = match host {
        #[cfg(target_os = "linux")]
        Host::Pulse => return pulse::survey(direction).map(|survey| survey.devices).unwrap_or_default(),
        Host::Cpal(id) => id,
    };
    let devices = cpal::host_from_id(id).and_then(|host| host.devices());
    devices
        .map(|all| all.filter(|d| goes(d, direction)).map(|d| describe(d, id)).collect())
        .unwrap_or_default()
}

/// Those of `devices` that `name` fits best: by id, else by the whole name, else by a part of it.
fn matching(devices: Vec<Found>, name: &str) -> Vec<Found> {
    let folded = name.to_lowercase();
    let fit = |found: &Found| {
        let label = found.label.to_lowercase();
        match () {
            () if found.has_id(name) => 3,
            () if label == folded => 2,
            () if label.contains(&folded) && !is_plumbing(found) => 1,
            () => 0,
        }
    };
    let best = devices.iter().map(&fit).max().unwrap_or_default();
    devices.into_iter().filter(|found| best > 0 && fit(found) == best).collect()
}

fn goes(device: &cpal::Device, direction: Direction) -> bool {
    let way = device.description().map_or(DeviceDirection::Unknown, |about| about.direction());
    let wrong = match direction {
        Direction::Input => DeviceDirection::Output,
        Direction::Output => DeviceDirection::Input,
    };
    way != wrong
}

fn describe(device: cpal::Device, host: HostId) -> Found {
    let id = device.id().map(|id| id.id().to_owned()).unwrap_or_default();
    let label = device.description().map_or_else(|_| id.clone(), |about| about.name().to_owned());
    Found { handle: Handle::Cpal(device), host: Host::Cpal(host), id, label, is_monitor: false }
}

/// ALSA lists every plug-in by which one device can be reached; rate converters and bridges are of no use to a player.
fn is_plumbing(found: &Found) -> bool {
    const PLUMBING: [&str; 18] = [
        "lavrate",
        "samplerate",
        "speexrate",
        "jack",
        "oss",
        "upmix",
        "vdownmix",
        "null",
        "speex",
        "a52",
        "dmix",
        "dsnoop",
        "surround",
        "iec958",
        "hw",
        "front",
        "usbstream",
        "pulse",
    ];
    let kind = found.id.split(':').next().unwrap_or_default();
    found.host.name() == "ALSA" && PLUMBING.iter().any(|word| kind.starts_with(word))
}

/// Why a sound system cannot be used, as part of a sentence.
fn refusal(host: Host, error: &cpal::Error) -> String {
    if error.kind() == ErrorKind::HostUnavailable {
        return format!("{} {NOT_RUNNING}", host.name());
    }
    if host.name() == "PulseAudio" && !has_cookie() {
        return "PulseAudio shut the door because no cookie file was found \
                (~/.config/pulse/cookie, or the file that PULSE_COOKIE names)"
            .to_owned();
    }
    format!("{} does not answer ({error})", host.name())
}

/// Whether a PulseAudio cookie lies where the client looks for it.
fn has_cookie() -> bool {
    let home = env::home_dir().unwrap_or_default();
    let named = env::var_os("PULSE_COOKIE").map(PathBuf::from);
    named
        .into_iter()
        .chain([home.join(".config/pulse/cookie"), home.join(".pulse-cookie")])
        .any(|path| path.exists())
}

/// The error for a search that led to nothing.
pub(crate) fn nothing_found(wanted: Option<&str>, direction: Direction, refusals: Vec<String>) -> SoundError {
    match wanted {
        None => SoundError::NoDevice { direction, tried: refusals },
        Some(name) => SoundError::NoSuchDevice {
            direction,
            wanted: name.to_owned(),
            known: list(direction).into_iter().map(|found| found.label).collect(),
        },
    }
}

#[cfg(all(test, target_os = "linux"))]
mod tests;
