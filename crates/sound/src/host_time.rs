//! The clock of the machine, and how far a stream had come at a moment of it.
//!
//! A microphone and a loudspeaker each count frames of their own. Both counts are tied to this one clock, so a frame
//! that was heard can be related to a frame that was played.

use portable_atomic::AtomicU128;
use std::ops::Add;
use std::sync::LazyLock;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

/// A moment of the machine's monotonic clock, in nanoseconds since this process first asked for one. The clock never
/// runs backwards, and it is the same for all threads and devices. On Linux it stands still while the machine sleeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct HostTime(u64);

impl HostTime {
    /// The present. It reads the clock without a system call where the platform allows it, and never allocates.
    pub fn now() -> Self {
        static ZERO: LazyLock<Instant> = LazyLock::new(Instant::now);
        Self::from_nanos(ZERO.elapsed().as_nanos() as u64)
    }

    /// The moment this many nanoseconds after the first one.
    pub const fn from_nanos(nanos: u64) -> Self {
        Self(nanos)
    }

    pub(crate) fn nanos(self) -> u64 {
        self.0
    }

    /// The time from `earlier` until this moment; zero if `earlier` is later.
    pub fn since(self, earlier: Self) -> Duration {
        Duration::from_nanos(self.0.saturating_sub(earlier.0))
    }
}

impl Add<Duration> for HostTime {
    type Output = Self;

    fn add(self, time: Duration) -> Self {
        Self(self.0.saturating_add(time.as_nanos() as u64))
    }
}

/// How far a stream had come at a moment. A callback makes one for each block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Anchor {
    /// Frames that had been handed in by a microphone, or handed out to a loudspeaker, since the stream began; the
    /// block of this callback is included.
    pub frame: u64,
    /// When the callback ran. The sound itself was in the air earlier (microphone) or will be later (loudspeaker), by a
    /// delay that neither side can know without a measurement.
    pub at: HostTime,
}

impl Anchor {
    /// When `frame` is handed over, at `rate` frames per second. The farther it is from this anchor's own frame, the
    /// more the error of the nominal rate counts: 100 millionths are 0.1 ms in a second.
    pub fn time_of(self, frame: u64, rate: f64) -> HostTime {
        let away = |frames: u64| (frames as f64 / rate * 1e9).round() as u64;
        HostTime(if frame >= self.frame {
            self.at.0.saturating_add(away(frame - self.frame))
        } else {
            self.at.0.saturating_sub(away(self.frame - frame))
        })
    }
}

/// Two numbers that are always read together, as they were written together: written by one callback, read by any
/// thread. Neither side ever waits.
#[derive(Default)]
pub(crate) struct Pair(AtomicU128);

impl Pair {
    pub(crate) fn store(&self, first: u64, second: u64) {
        self.0.store(u128::from(first) << 64 | u128::from(second), Ordering::Release);
    }

    pub(crate) fn load(&self) -> (u64, u64) {
        let both = self.0.load(Ordering::Acquire);
        ((both >> 64) as u64, both as u64)
    }
}

/// The newest anchor of a stream.
#[derive(Default)]
pub(crate) struct NewestAnchor(Pair);

impl NewestAnchor {
    pub(crate) fn store(&self, anchor: Anchor) {
        self.0.store(anchor.frame, anchor.at.0);
    }

    /// `None` before the first frame.
    pub(crate) fn load(&self) -> Option<Anchor> {
        let (frame, at) = self.0.load();
        (frame > 0).then_some(Anchor { frame, at: HostTime(at) })
    }
}

#[cfg(test)]
mod tests;
