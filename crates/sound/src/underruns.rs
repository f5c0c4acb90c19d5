//! What a loudspeaker missed: how often there was nothing to play, and for how long.

use crate::Origin;
use crate::host_time::Anchor;
use crate::outflow::Given;
use crate::watch::Faults;
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;

/// Silence that nobody ordered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Underruns {
    /// How often the callback asked for samples and ours were late. A new time begins only after sound has come in
    /// between.
    pub events: u64,
    /// How long that lasted, all times together. Counted in frames, exactly. `PulseAudio` also asks for the frames that
    /// passed while we did not answer at all, so for it this holds the time in which this process stood still.
    pub lasted: Duration,
    /// Whether it is happening now: then a later look may find the last time longer.
    pub ongoing: bool,
    /// How often the sound system itself ran dry, because the callback came too late. Counted as far as the system
    /// tells: `PulseAudio` says so once each time, ALSA too, but its plug-in for `PulseAudio` covers some of it up.
    /// Neither says for how long. Whether `PipeWire`'s server says so has not been tried. One cause may be counted here
    /// and in `events`.
    pub system_events: u64,
}

/// One loudspeaker from its opening to its loss. Clones tell of the same one.
#[derive(Clone)]
pub struct Playback {
    origin: Origin,
    given: Arc<Given>,
    faults: Arc<Faults>,
}

impl Playback {
    pub(crate) fn new(origin: Origin, given: Arc<Given>, faults: Arc<Faults>) -> Self {
        Self { origin, given, faults }
    }

    /// The device.
    pub fn origin(&self) -> &Origin {
        &self.origin
    }

    /// How many frames have been handed out, and when the newest were; `None` before the first. Never waits.
    pub fn anchor(&self) -> Option<Anchor> {
        self.given.anchor.load()
    }

    /// What was missed so far. Never waits.
    pub fn underruns(&self) -> Underruns {
        let Given { shortages, missing, short, .. } = &*self.given;
        let missing = missing.load(Ordering::Relaxed) as f64;
        Underruns {
            events: shortages.load(Ordering::Relaxed),
            lasted: Duration::from_secs_f64(missing / self.origin.sample_rate),
            ongoing: short.load(Ordering::Relaxed),
            system_events: self.faults.xruns(),
        }
    }
}

impl fmt::Debug for Playback {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (anchor, underruns) = (self.anchor(), self.underruns());
        write!(f, "{:?} {anchor:?} {underruns:?}", self.origin)
    }
}

#[cfg(test)]
mod tests;
