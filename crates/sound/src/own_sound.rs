//! When the microphone can hear what the program itself plays.

use crate::host_time::{HostTime, Pair};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;

/// How long a loudspeaker may lag behind the moment at which it was given its sound: 0.05 s with a cable, about 0.2 s
/// by radio (from memory, no source).
const OUTPUT_DELAY: Duration = Duration::from_millis(250);
/// How long the room goes on sounding. A tone of −20 dBFS has sunk by 30 dB by then if the room has a reverberation
/// time (60 dB) of half a second, as furnished living rooms have at the most (common practice, no source).
const ROOM: Duration = Duration::from_millis(250);
/// How long a microphone may take to hand over what it heard; here 5 to 25 ms were measured (`tests/live`).
const INPUT_DELAY: Duration = Duration::from_millis(50);
/// How long after a frame was handed to the loudspeaker the microphone may still hand it in.
const TAIL: Duration = OUTPUT_DELAY.saturating_add(ROOM).saturating_add(INPUT_DELAY);

/// Spans that are remembered. What is asked about is at most as old as the ring of the microphone (two seconds), and
/// spans are at least a tail apart.
const SPANS: usize = 8;

/// The spans of time in which a loudspeaker of ours sounded. Clones see the same spans; reading waits for nothing, so
/// any thread may ask.
#[derive(Clone, Default)]
pub struct OwnSound(Arc<Spans>);

#[derive(Default)]
struct Spans {
    /// Beginning and end of each, in nanoseconds; an end of zero for none.
    spans: [Pair; SPANS],
    newest: AtomicUsize,
}

impl OwnSound {
    /// Whether what a microphone handed in from `first` to `last` can contain sound of ours: the room, and the delays
    /// of loudspeaker and microphone, are allowed for. A loudspeaker that takes no more sound ceases to count by
    /// itself.
    pub fn covers(&self, first: HostTime, last: HostTime) -> bool {
        self.0.spans.iter().any(|span| {
            let (from, until) = span.load();
            until > 0 && last >= HostTime::from_nanos(from) && first <= HostTime::from_nanos(until) + TAIL
        })
    }

    /// Sound was handed to the loudspeaker from `from` until `until`. Only one thread may say so. A span that begins
    /// within the tail of the newest one continues it.
    pub fn sounded(&self, from: HostTime, until: HostTime) {
        let newest = self.0.newest.load(Ordering::Relaxed);
        let Some(span) = self.0.spans.get(newest) else { return };
        let (began, ended) = span.load();
        if ended > 0 && from <= HostTime::from_nanos(ended) + TAIL {
            span.store(began, ended.max(until.nanos()));
            return;
        }
        let next = (newest + 1) % SPANS;
        if let Some(span) = self.0.spans.get(next) {
            span.store(from.nanos(), until.nanos().max(1));
            self.0.newest.store(next, Ordering::Relaxed);
        }
    }
}

#[cfg(test)]
mod tests;
