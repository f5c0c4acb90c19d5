//! Keeps an input device open: notices that it is gone, closes what is left of it, and opens it again.

use crate::found::Host;
use crate::input::{self, Input};
use crate::intake::Tally;
use crate::opening::{self, Running};
use crate::signal::{Signal, last_words};
use crate::watch::{self, INPUT_PATIENCE, Seen, Watch};
use crate::worker::{Stop, Worker};
use crate::{Channel, Origin, SoundError};
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::sync::mpsc::Sender;
use std::time::{Duration, Instant};

/// Time between two tries to get a device back.
const RETRY_EVERY: Duration = Duration::from_secs(1);
/// Tries that are made on the sound system that the device was lost from before others are asked too.
const FAITHFUL_TRIES: u32 = 5;
/// The longest that a device which was opened again may take to deliver.
const BEGIN_LIMIT: Duration = Duration::from_secs(4);
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
    let on_panic = last_words("the watch over the microphone", &signals);
    let work = move || supervise(&wanted, &signals, &stopped);
    Worker::start("device", &stop, work, on_panic)
}

/// Signals that cannot be sent are meant for a feed that is gone; then the end has been asked for as well.
fn supervise(wanted: &Wanted, signals: &Sender<Signal>, stop: &Stop) {
    let mut input = match try_open(wanted, None, stop) {
        Ok(input) => input,
        Err(error) => {
            let _ = signals.send(Signal::Failed(error));
            return;
        }
    };
    let mut away = Duration::ZERO;
    let mut told = input.warnings.clone();
    loop {
        let host = input.running.host;
        let (stream, silence) = attend(input, away, signals, stop);
        let lost = Instant::now();
        if let Some(text) = opening::close(stream) {
            tell(signals, text);
        }
        if stop.is_asked() {
            return;
        }
        let Some(again) = reopen(wanted, host, stop) else { return };
        input = again;
        input.warnings.retain(|text| !told.contains(text));
        told.extend_from_slice(&input.warnings);
        away = lost.elapsed() + silence;
    }
}

/// Hands a running device to the feed and stays until it is gone or no longer wanted. Gives back the stream, and how
/// long it had been silent.
fn attend(input: Input, away: Duration, signals: &Sender<Signal>, stop: &Stop) -> (Box<dyn Send>, Duration) {
    let Input { running: Running { stream, origin, calls, faults, .. }, tap, tally, warnings, may_be_silent } =
        input;
    let mut doubts = Doubts::new(&origin, tally, may_be_silent);
    let name = origin.name.clone();
    let _ = signals.send(Signal::Opened { origin, tap, away });
    for text in warnings {
        tell(signals, text);
    }
    let mut watch = Watch::new(calls, faults, INPUT_PATIENCE);
    while stop.sleep(watch::LOOK_EVERY) {
        match watch.look() {
            Seen::Well => {}
            Seen::Gone => {
                let _ = signals.send(Signal::Lost);
                break;
            }
            Seen::Moved => {
                tell(signals, format!("The system has moved the sound from {name} to another device."));
            }
            Seen::Xruns => {
                let _ = signals.send(Signal::Skipped);
            }
        }
        if let Some(text) = doubts.look() {
            tell(signals, text);
        }
    }
    (stream, watch.silence())
}

/// Whoever would be told may be gone; then the end has been asked for as well.
fn tell(signals: &Sender<Signal>, text: String) {
    let _ = signals.send(Signal::Warning(text));
}

/// What may be wrong with samples that do arrive; each is told once.
struct Doubts {
    name: String,
    tally: Arc<Tally>,
    many: u64,
    zeros_told: bool,
    nan_told: bool,
}

impl Doubts {
    fn new(origin: &Origin, tally: Arc<Tally>, may_be_silent: bool) -> Self {
        let many = (origin.sample_rate * ZEROS_SECONDS) as u64;
        Self { name: origin.name.clone(), tally, many, zeros_told: may_be_silent, nan_told: false }
    }

    fn look(&mut self) -> Option<String> {
        let Self { name, tally, .. } = self;
        let silent =
            !tally.sounded.load(Ordering::Relaxed) && tally.frames.load(Ordering::Relaxed) > self.many;
        if silent && !self.zeros_told {
            self.zeros_told = true;
            return Some(only_zeros(name));
        }
        if tally.non_finite.load(Ordering::Relaxed) > 0 && !self.nan_told {
            self.nan_told = true;
            return Some(format!(
                "{name} delivers samples that are no numbers; silence stands in their place."
            ));
        }
        None
    }
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
fn reopen(wanted: &Wanted, host: Host, stop: &Stop) -> Option<Input> {
    let mut tries = 0;
    while stop.sleep(RETRY_EVERY) {
        let only = (tries < FAITHFUL_TRIES).then_some(host);
        tries += 1;
        match try_open(wanted, only, stop) {
            Ok(input) if begins(&input, stop) => return Some(input),
            Ok(input) => drop(opening::close(input.running.stream)),
            Err(_) => {}
        }
    }
    None
}

/// Waits for the first block, so that the time away ends when there are samples again.
fn begins(input: &Input, stop: &Stop) -> bool {
    const STEP: Duration = Duration::from_millis(5);
    let mut left = BEGIN_LIMIT;
    while input.running.calls.load(Ordering::Relaxed) == 0 && !left.is_zero() && stop.sleep(STEP) {
        left = left.saturating_sub(STEP);
    }
    input.running.calls.load(Ordering::Relaxed) > 0
}

fn try_open(wanted: &Wanted, only: Option<Host>, stop: &Stop) -> Result<Input, SoundError> {
    let Wanted { name, channel } = wanted.clone();
    opening::guarded(stop, move || input::open(name.as_deref(), channel, only))
}
