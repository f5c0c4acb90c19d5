//! Keeps an input device open: notices that it is gone, closes what is left of it, and opens it again.

use crate::input::{self, Input};
use crate::signal::Signal;
use crate::watch::{self, Seen, Watch};
use crate::worker::{Stop, Worker, caught, within};
use crate::{Channel, SoundError};
use cpal::{HostId, Stream};
use std::sync::atomic::Ordering;
use std::sync::mpsc::Sender;
use std::time::{Duration, Instant};

/// The longest that opening a device may take.
pub(crate) const OPEN_LIMIT: Duration = Duration::from_secs(6);
/// The longest that closing one may take; a dead sound server can make it last for ever.
const CLOSE_LIMIT: Duration = Duration::from_secs(1);
/// Time between two tries to get a device back.
const RETRY_EVERY: Duration = Duration::from_secs(1);
/// Tries that are made on the sound system that the device was lost from before others are asked too.
const FAITHFUL_TRIES: u32 = 5;
/// Nothing but zeros for this long, seconds, is worth a word.
const ZEROS_SECONDS: f64 = 3.0;

/// What the player wants to listen to.
#[derive(Clone)]
pub(crate) struct Wanted {
    pub(crate) name: Option<String>,
    pub(crate) channel: Channel,
}

/// Starts the thread. Its first signal other than a warning is `Opened` or `Failed`.
pub(crate) fn start(wanted: Wanted, signals: Sender<Signal>) -> Result<Worker, SoundError> {
    let stop = Stop::default();
    let stopped = stop.clone();
    let last_words = signals.clone();
    let work = move || supervise(&wanted, &signals, &stopped);
    let on_panic = move |why| {
        let _ =
            last_words.send(Signal::Warning(format!("The watch over the sound device broke down: {why}.")));
        let _ = last_words.send(Signal::Lost);
    };
    Worker::start("device", &stop, work, on_panic)
}

/// Signals that cannot be sent are meant for a feed that is gone; then the end has been asked for as well.
fn supervise(wanted: &Wanted, signals: &Sender<Signal>, stop: &Stop) {
    let mut input = match try_open(wanted, None) {
        Ok(input) => input,
        Err(error) => {
            let _ = signals.send(Signal::Failed(error));
            return;
        }
    };
    let mut away = Duration::ZERO;
    loop {
        let host = input.host;
        let stream = announce(input, away, signals, stop);
        let lost = Instant::now();
        close(stream, signals);
        if stop.is_asked() {
            return;
        }
        let Some(again) = reopen(wanted, host, stop) else { return };
        input = again;
        away = lost.elapsed();
    }
}

/// Hands a running device to the feed and stays until it is gone or no longer wanted.
fn announce(input: Input, away: Duration, signals: &Sender<Signal>, stop: &Stop) -> Stream {
    let Input { stream, origin, tap, tally, faults, warnings, .. } = input;
    let name = origin.name.clone();
    let many = (origin.sample_rate * ZEROS_SECONDS) as u64;
    let _ = signals.send(Signal::Opened { origin, tap, away });
    for text in warnings {
        let _ = signals.send(Signal::Warning(text));
    }
    let mut watch = Watch::new(tally.clone(), faults);
    let (mut zeros_told, mut nan_told) = (false, false);
    while stop.sleep(watch::LOOK_EVERY) {
        match watch.look() {
            Seen::Well => {}
            Seen::Gone => {
                let _ = signals.send(Signal::Lost);
                break;
            }
            Seen::Moved => {
                let text = format!("The system has moved the sound from {name} to another device.");
                let _ = signals.send(Signal::Warning(text));
            }
            Seen::Xruns(_) => {
                let _ = signals.send(Signal::Skipped);
            }
        }
        let silent = !tally.sounded.load(Ordering::Relaxed) && tally.frames.load(Ordering::Relaxed) > many;
        if silent && !zeros_told {
            zeros_told = true;
            let _ = signals.send(Signal::Warning(only_zeros(&name)));
        }
        if !nan_told && tally.non_finite.load(Ordering::Relaxed) > 0 {
            nan_told = true;
            let _ = signals.send(Signal::Warning(format!(
                "{name} delivers samples that are no numbers; silence stands in their place."
            )));
        }
    }
    stream
}

fn only_zeros(name: &str) -> String {
    let advice = if cfg!(target_os = "macos") {
        "does the terminal have permission to use the microphone (System Settings, Privacy)?"
    } else {
        "is it muted?"
    };
    format!("{name} has given nothing but digital silence so far: {advice}")
}

/// Tries until the device is back; `None` when the end is asked for.
fn reopen(wanted: &Wanted, host: HostId, stop: &Stop) -> Option<Input> {
    let mut tries = 0;
    while stop.sleep(RETRY_EVERY) {
        let only = (tries < FAITHFUL_TRIES).then_some(host);
        tries += 1;
        if let Ok(input) = try_open(wanted, only) {
            return Some(input);
        }
    }
    None
}

/// Opens on a helper thread, since a sound system may hang or panic.
fn try_open(wanted: &Wanted, only: Option<HostId>) -> Result<Input, SoundError> {
    let Wanted { name, channel } = wanted.clone();
    let opening = move || input::open(name.as_deref(), channel, only);
    within("open", OPEN_LIMIT, opening).unwrap_or(Err(SoundError::NoAnswer))
}

/// Closes on a helper thread and leaves it behind when it hangs.
fn close(stream: Stream, signals: &Sender<Signal>) {
    if within("close", CLOSE_LIMIT, move || drop(caught(move || drop(stream)))).is_none() {
        let text = "The sound system does not finish closing the device; it is left as it is.".to_owned();
        let _ = signals.send(Signal::Warning(text));
    }
}
