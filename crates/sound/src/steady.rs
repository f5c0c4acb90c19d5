//! The clock of a stream without the lateness of its callbacks.

use crate::host_time::{Anchor, HostTime};

/// How long the least late callback counts before a newer one replaces it, seconds: long enough that one in it came in time
/// on a busy machine, short enough that a device whose clock is off by 100 millionths drifts by no more than half a
/// millisecond meanwhile.
const SPAN_S: f64 = 5.0;

/// Follows a stream by its anchors.
///
/// A callback can be late and never early: of the callbacks of some seconds the least late one tells best when frames are
/// handed over. What all of them share stays in it, and only a measurement with both ends finds that out.
#[derive(Clone, Copy, Debug)]
pub struct Steady {
    rate: f64,
    /// When a frame 0 would have been handed over, in nanoseconds, by the least late callback of the span that is over and of
    /// the one that goes on.
    zero: [Option<f64>; 2],
    /// When the span that goes on began.
    since: HostTime,
}

impl Steady {
    /// A stream of so many frames per second of which nothing is known yet.
    pub fn new(rate: f64) -> Self {
        Self { rate, zero: [None; 2], since: HostTime::from_nanos(0) }
    }

    /// Takes the newest anchor.
    pub fn see(&mut self, anchor: Anchor) {
        let zero = anchor.at.nanos() as f64 - anchor.frame as f64 / self.rate * 1e9;
        if self.zero[1].is_none() || anchor.at.since(self.since).as_secs_f64() >= SPAN_S {
            self.zero = [self.zero[1], Some(zero)];
            self.since = anchor.at;
        } else {
            self.zero[1] = self.zero[1].map(|least| least.min(zero));
        }
    }

    /// When a frame is handed over; `None` as long as nothing is known.
    pub fn time_of(&self, frame: f64) -> Option<HostTime> {
        let nanos = self.zero()? + frame / self.rate * 1e9;
        Some(HostTime::from_nanos(nanos.max(0.0).round() as u64))
    }

    /// The frame, with its fraction, that is handed over at a moment; negative before the stream began.
    pub fn frame_at(&self, at: HostTime) -> Option<f64> {
        Some((at.nanos() as f64 - self.zero()?) * self.rate / 1e9)
    }

    /// The least late of both spans; a new span alone may not have had a callback in time yet.
    fn zero(&self) -> Option<f64> {
        let [before, now] = self.zero;
        Some(now?.min(before.unwrap_or(f64::INFINITY)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Callbacks of 480 frames at 48 kHz by a clock that is off by so many millionths, each late by up to 8 ms (an exponential
    /// distribution with a mean of 2 ms), except that one in ten is in time; gives back the error after each second, seconds.
    fn errors(millionths: f64) -> Vec<f64> {
        let mut random = oorandom::Rand64::new(7);
        let mut steady = Steady::new(48_000.0);
        let true_s = |frame: u64| 3.0 + frame as f64 / (48_000.0 * (1.0 + millionths / 1e6));
        let mut errors = Vec::new();
        for block in 1..=6_000_u64 {
            let frame = block * 480;
            let late = if random.rand_range(0..10) == 0 {
                0.0
            } else {
                (-random.rand_float().ln() * 0.002).min(0.008)
            };
            let at = HostTime::from_nanos(((true_s(frame) + late) * 1e9) as u64);
            steady.see(Anchor { frame, at });
            if block % 100 == 0 {
                let told = steady.time_of(frame as f64).unwrap().nanos() as f64 / 1e9;
                errors.push(told - true_s(frame));
            }
        }
        errors
    }

    #[test]
    fn a_stream_is_told_within_a_millisecond_whatever_its_callbacks_do() {
        for millionths in [0.0, 50.0, -50.0, 100.0, -100.0] {
            let errors = errors(millionths);
            let worst = errors.iter().skip(2).fold(0.0, |worst: f64, error| worst.max(error.abs()));
            // Two spans of 5 s at 100 millionths are a millisecond.
            assert!(worst <= 0.0011, "{millionths}: {worst}");
        }
    }

    #[test]
    fn frames_and_moments_belong_together() {
        let mut steady = Steady::new(48_000.0);
        assert!(steady.time_of(0.0).is_none() && steady.frame_at(HostTime::from_nanos(5)).is_none());
        steady.see(Anchor { frame: 48_000, at: HostTime::from_nanos(2_000_000_000) });
        assert_eq!(steady.time_of(96_000.0), Some(HostTime::from_nanos(3_000_000_000)));
        assert_eq!(steady.frame_at(HostTime::from_nanos(1_500_000_000)), Some(24_000.0));
    }
}
