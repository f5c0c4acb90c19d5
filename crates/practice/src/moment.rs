//! Time as a stream tells it: counted in samples, never read from a clock.

use serde::{Deserialize, Serialize};

/// Readings whose time jumps back by more than this belong to a stream that began anew, seconds. Smaller steps back are
/// readings that came out of order.
const RESTART_S: f64 = 0.5;

/// An instant of one stream.
///
/// A device that goes away and comes back counts from nought again, perhaps at another rate; the epoch tells the two
/// streams apart, so that nothing is ever measured from one of them to the other.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Moment {
    /// Samples since the stream began.
    pub samples: u64,
    /// Samples a second.
    pub rate: f64,
    /// How many streams there were before this one in the exercise.
    pub epoch: u32,
}

impl Moment {
    /// Seconds since the stream began.
    pub fn seconds(self) -> f64 {
        self.samples as f64 / self.rate
    }

    /// Seconds from `earlier` to here; `None` if they belong to different streams, 0 if `earlier` is later.
    pub fn since(self, earlier: Self) -> Option<f64> {
        (self.epoch == earlier.epoch).then(|| self.samples.saturating_sub(earlier.samples) as f64 / self.rate)
    }
}

/// The rate and the epoch of a stream: what turns its sample counts into [`Moment`]s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Timebase {
    /// Samples a second.
    pub rate: f64,
    /// How many streams there were before this one.
    pub epoch: u32,
}

impl Timebase {
    /// The first stream, at `rate` samples a second.
    pub fn new(rate: f64) -> Self {
        Self { rate, epoch: 0 }
    }

    /// The instant of a sample.
    pub fn moment(self, samples: u64) -> Moment {
        Moment { samples, rate: self.rate, epoch: self.epoch }
    }

    /// Seconds between two samples; 0 if `to` comes before `from`.
    pub fn seconds(self, from: u64, to: u64) -> f64 {
        to.saturating_sub(from) as f64 / self.rate
    }

    /// A duration in samples, rounded.
    pub fn samples(self, seconds: f64) -> u64 {
        (seconds * self.rate).round() as u64
    }
}

/// What a reading's time says about the stream it belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Step {
    /// Time goes on.
    On,
    /// The reading came out of order and is to be dropped.
    Stale,
    /// The stream began anew.
    Anew,
}

/// The newest time that is known of a stream. It is the only place that notices a stream that began anew.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Clock {
    pub(crate) base: Timebase,
    pub(crate) known: u64,
}

impl Clock {
    pub(crate) fn new(rate: f64) -> Self {
        Self { base: Timebase::new(rate), known: 0 }
    }

    /// Takes the time up to which a reading is known.
    pub(crate) fn step(&mut self, known: u64) -> Step {
        if known >= self.known {
            self.known = known;
            Step::On
        } else if self.base.seconds(known, self.known) <= RESTART_S {
            Step::Stale
        } else {
            Step::Anew
        }
    }

    /// A new stream begins, at `rate` samples a second.
    pub(crate) fn restart(&mut self, rate: f64) {
        self.base = Timebase { rate, epoch: self.base.epoch.saturating_add(1) };
        self.known = 0;
    }

    /// Now.
    pub(crate) fn now(&self) -> Moment {
        self.base.moment(self.known)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_is_as_many_samples_as_the_rate_says() {
        let base = Timebase::new(48_000.0);
        let (a, b) = (base.moment(24_000), base.moment(72_000));
        assert_eq!((a.seconds(), b.since(a), a.since(b)), (0.5, Some(1.0), Some(0.0)));
        let another = Timebase { epoch: 1, ..base }.moment(96_000);
        assert_eq!(another.since(a), None, "two streams have no common time");
        assert_eq!(base.samples(0.25), 12_000);
    }

    #[test]
    fn a_clock_tells_disorder_from_a_new_stream() {
        let mut clock = Clock::new(1000.0);
        assert_eq!(clock.step(1000), Step::On);
        assert_eq!(clock.step(500), Step::Stale, "half a second back is disorder");
        assert_eq!(clock.step(499), Step::Anew);
        clock.restart(500.0);
        assert_eq!((clock.base, clock.known), (Timebase { rate: 500.0, epoch: 1 }, 0));
    }
}
