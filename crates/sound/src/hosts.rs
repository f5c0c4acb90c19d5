//! Sound systems and their devices, found by name.

use crate::SoundError;
use cpal::traits::{DeviceTrait, HostTrait};
use cpal::{Device, DeviceDirection, ErrorKind, HostId};
use std::env;
use std::path::PathBuf;

/// Which way the sound goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// A microphone or line input.
    Input,
    /// Loudspeakers or headphones.
    Output,
}

/// How the refusal of a sound system that is not there ends.
pub(crate) const NOT_RUNNING: &str = "is not running";

/// A device that may be opened.
pub(crate) struct Found {
    pub(crate) device: Device,
    pub(crate) host: HostId,
    pub(crate) label: String,
    /// It hears what the computer plays.
    pub(crate) is_monitor: bool,
}

/// Devices to try in turn, and why sound systems could not be asked.
pub(crate) struct Search {
    pub(crate) found: Vec<Found>,
    pub(crate) refusals: Vec<String>,
}

/// The sound systems of this platform in the order in which they are tried; on Linux PulseAudio (which `PipeWire`
/// speaks too), then ALSA.
pub(crate) fn hosts() -> &'static [HostId] {
    cpal::ALL_HOSTS
}

/// `Default` buffers of the PulseAudio host are two seconds long.
pub(crate) fn has_endless_default_buffers(host: HostId) -> bool {
    host.name() == "PulseAudio"
}

/// The server converts to any format and rate that it is asked for.
pub(crate) fn converts_anything(host: HostId) -> bool {
    host.name() == "PulseAudio"
}

/// Finds the default devices, or those with a name: their id as [`crate::devices`] prints it (`alsa:default`), their
/// full name, or a part of the name. With `only`, other sound systems are not asked.
pub(crate) fn find(wanted: Option<&str>, direction: Direction, only: Option<HostId>) -> Search {
    let mut search = Search { found: Vec::new(), refusals: Vec::new() };
    for &id in hosts().iter().filter(|&&id| only.is_none_or(|only| only == id)) {
        let host = match cpal::host_from_id(id) {
            Ok(host) => host,
            Err(error) => {
                search.refusals.push(refusal(id, &error));
                continue;
            }
        };
        let default = match direction {
            Direction::Input => host.default_input_device(),
            Direction::Output => host.default_output_device(),
        };
        match (wanted, default) {
            (None, Some(device)) => search.found.push(describe(device, id)),
            (None, None) => search.refusals.push(format!("{} has no default device", id.name())),
            (Some(name), Some(device)) if has_id(&device, name) => search.found.push(describe(device, id)),
            (Some(name), _) => {
                let known = host.devices().map(|all| all.filter(|d| goes(d, direction)).collect());
                search.found.extend(matching(known.unwrap_or_default(), id, name));
            }
        }
    }
    search
}

/// All devices of one direction, without the plumbing that no player means.
pub(crate) fn list(direction: Direction) -> Vec<Found> {
    let mut all = Vec::new();
    for &id in hosts() {
        let Ok(host) = cpal::host_from_id(id) else { continue };
        let Ok(devices) = host.devices() else { continue };
        let named = devices.filter(|d| goes(d, direction)).map(|d| describe(d, id));
        all.extend(named.filter(|found| !is_plumbing(&found.device)));
    }
    all
}

/// Those of `devices` that `name` fits best: by id, else by the whole name, else by a part of it.
fn matching(devices: Vec<Device>, host: HostId, name: &str) -> Vec<Found> {
    let folded = name.to_lowercase();
    let mut best: (u8, Vec<Found>) = (0, Vec::new());
    for device in devices {
        let by_id = has_id(&device, name);
        let found = describe(device, host);
        let label = found.label.to_lowercase();
        let fit = match () {
            () if by_id => 3,
            () if label == folded => 2,
            () if label.contains(&folded) && !is_plumbing(&found.device) => 1,
            () => continue,
        };
        if fit > best.0 {
            best = (fit, Vec::new());
        }
        if fit == best.0 {
            best.1.push(found);
        }
    }
    best.1
}

fn goes(device: &Device, direction: Direction) -> bool {
    let way = device.description().map_or(DeviceDirection::Unknown, |about| about.direction());
    let wrong = match direction {
        Direction::Input => DeviceDirection::Output,
        Direction::Output => DeviceDirection::Input,
    };
    way != wrong
}

fn has_id(device: &Device, name: &str) -> bool {
    device.id().is_ok_and(|id| id.id() == name || id.to_string() == name)
}

fn describe(device: Device, host: HostId) -> Found {
    let id = device.id().map(|id| id.id().to_owned()).unwrap_or_default();
    let label = device.description().map_or_else(|_| id.clone(), |about| about.name().to_owned());
    Found { is_monitor: id.ends_with(".monitor"), device, host, label }
}

/// ALSA lists every plug-in by which one device can be reached; rate converters and bridges are of no use to a player.
fn is_plumbing(device: &Device) -> bool {
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
    device.id().is_ok_and(|id| {
        let kind = id.id().split(':').next().unwrap_or_default();
        id.host().name() == "ALSA" && PLUMBING.iter().any(|word| kind.starts_with(word))
    })
}

/// Why a sound system cannot be used, as part of a sentence.
fn refusal(id: HostId, error: &cpal::Error) -> String {
    if error.kind() == ErrorKind::HostUnavailable {
        return format!("{} {NOT_RUNNING}", id.name());
    }
    if id.name() == "PulseAudio" && !has_cookie() {
        return "PulseAudio shut the door because no cookie file was found \
                (~/.config/pulse/cookie, or the file that PULSE_COOKIE names)"
            .to_owned();
    }
    format!("{} does not answer ({error})", id.name())
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

/// What a sound system says, in plain words where it can be told.
pub(crate) fn in_words(error: &cpal::Error) -> String {
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
