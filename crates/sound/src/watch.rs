//! Tells from outside whether a device still lives.
//!
//! Error callbacks are not to be trusted: one sound library reports a removed device a million times in three seconds,
//! another reports a dead server never, and a third calls errors what is none. So errors are only counted, and the one
//! sure sign of life is that blocks arrive.

use cpal::{Error, ErrorKind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Duration;

/// How often a device is looked at.
pub(crate) const LOOK_EVERY: Duration = Duration::from_millis(50);
/// Looks in a row without a block that mean a microphone is gone: half a second. Looks are counted, not time, because a
/// process that was stopped for a minute has not lost its microphone.
pub(crate) const INPUT_PATIENCE: u32 = 10;
/// Looks in a row without a block that mean a loudspeaker is gone: three seconds. An idle server may have made two
/// seconds of silence in advance, and asks for nothing until they are over.
pub(crate) const OUTPUT_PATIENCE: u32 = 60;
/// Looks without a first block that mean a device is gone: four seconds, for the same reason.
const FIRST_PATIENCE: u32 = 80;
/// More errors than this between two looks are a flood. Harmless ones come at about 25.
const FLOOD: u64 = 200;

/// What the error callback counts.
#[derive(Default)]
pub(crate) struct Faults {
    gone: AtomicBool,
    moved: AtomicBool,
    xruns: AtomicU64,
    others: AtomicU64,
}

impl Faults {
    /// How often the sound system said that samples were lost or late.
    pub(crate) fn xruns(&self) -> u64 {
        self.xruns.load(Ordering::Relaxed)
    }

    /// The error callback. It keeps nothing, because it may be called without end.
    pub(crate) fn count(&self, error: &Error) {
        match error.kind() {
            ErrorKind::Xrun => drop(self.xruns.fetch_add(1, Ordering::Relaxed)),
            ErrorKind::DeviceChanged => self.moved.store(true, Ordering::Relaxed),
            ErrorKind::RealtimeDenied => {}
            ErrorKind::BackendError | ErrorKind::Other => drop(self.others.fetch_add(1, Ordering::Relaxed)),
            _ => self.gone.store(true, Ordering::Relaxed),
        }
    }
}

/// What a look found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Seen {
    Well,
    Gone,
    /// The system has sent the stream to another device.
    Moved,
    /// The sound system itself lost samples.
    Xruns,
}

/// Looks at one stream from time to time.
pub(crate) struct Watch {
    calls: Arc<AtomicU64>,
    faults: Arc<Faults>,
    seen: u64,
    silent: u32,
    others: u64,
    xruns: u64,
    patience: u32,
}

impl Watch {
    /// `calls` counts how often the data callback has run; `patience` says how many looks may find no new call.
    pub(crate) fn new(calls: Arc<AtomicU64>, faults: Arc<Faults>, patience: u32) -> Self {
        Self { calls, faults, seen: 0, silent: 0, others: 0, xruns: 0, patience }
    }

    /// To be called every [`LOOK_EVERY`].
    pub(crate) fn look(&mut self) -> Seen {
        let calls = self.calls.load(Ordering::Relaxed);
        let others = self.faults.others.load(Ordering::Relaxed);
        let xruns = self.faults.xruns.load(Ordering::Relaxed);
        let limit = if calls == 0 { FIRST_PATIENCE } else { self.patience };
        self.silent = if calls == self.seen { self.silent + 1 } else { 0 };
        let flood = others - self.others > FLOOD;
        let skipped = xruns > self.xruns;
        (self.seen, self.others, self.xruns) = (calls, others, xruns);
        if self.faults.gone.load(Ordering::Relaxed) || flood || self.silent >= limit {
            Seen::Gone
        } else if self.faults.moved.swap(false, Ordering::Relaxed) {
            Seen::Moved
        } else if skipped {
            Seen::Xruns
        } else {
            Seen::Well
        }
    }

    /// How long it is since the last block came, to within a look.
    pub(crate) fn silence(&self) -> Duration {
        LOOK_EVERY * self.silent
    }
}

#[cfg(test)]
mod tests;
