//! When the frames of a stream are handed over, by the clock of the machine: where the stream stands, and how fast it
//! runs.

use crate::host_time::{Anchor, HostTime};
use std::collections::VecDeque;

/// Length of a span, seconds. Of the callbacks of each span the third least late one is kept, so that a single early
/// one does not count: a sound server that makes its sound in advance sends some.
const SPAN_S: f64 = 0.5;
const KEPT: usize = 3;
/// Spans that the line is fitted to, two minutes. That outlasts a machine that is busy for one minute, and the clock of
/// a device, which changes with its temperature, runs steadily for that long.
const SPANS: usize = 240;
/// After so many seconds the callbacks up to then are forgotten: a loudspeaker is handed the blocks that fill its
/// buffer before it runs.
const SETTLED_S: f64 = 0.3;
/// Seconds that the kept callbacks must cover before the speed is told. The least late callbacks of neighbouring spans
/// differ by less than 0.1 ms, which over this time is less than 100 ppm.
const SPEED_AFTER_S: f64 = 1.5;
/// So many spans make the speed certain: a jump of `JUMP_S` among them looks like less than 300 ppm.
const SPEED_SURE: usize = 20;
/// No device is off by more than this, as a share. Crystals are off by 100 millionths at most (common practice, no
/// source), a device on a slow USB may be off by 2500 (USB 2.0, 7.1.11, from memory), and the null sink of `PulseAudio`
/// 16, which the live tests play to, was 1750 fast.
const MOST_DRIFT: f64 = 5_000e-6;
/// The stream itself has jumped if callbacks come this many seconds too early for the line, or too late for it for
/// `LATE_FOR_S` seconds on end. Mere lateness passes sooner, and drift is followed long before.
const JUMP_S: f64 = 0.003;
const LATE_FOR_S: f64 = 2.5;
/// A jump to earlier needs more than a third of the callbacks to be early: each early one adds two to a count, each
/// other one takes one away, and the count has to reach this.
const EARLY: u32 = 16;

/// Follows a stream by its anchors.
///
/// A callback can be late and is hardly ever early, so the stream runs along the straight line that lies below the
/// callbacks (moment over frame) and as close to them as it can: the line of Moon, Skelly and Towsley ("Estimation and
/// removal of clock skew from network delay measurements", INFOCOM 1999). It tells when the least late callbacks run. A
/// delay that all callbacks share stays in the line; only a measurement with both ends finds that delay. How late
/// callbacks are on average does not move it: a busy machine tells the same times as an idle one.
///
/// A delay-locked loop (F. Adriaensen, "Using a DLL to filter time", LAC 2005) that begins wide and is narrowed to
/// 0.016 Hz follows the average instead. Measured after the first half minute, on callbacks that are 2 ms late on
/// average: the loop was off by at most 15 ppm and 0.4 ms, and with bursts of 8 ms by 160 ppm and 3.8 ms; this line by
/// less than 3 ppm and 0.1 ms.
#[derive(Clone, Debug)]
pub struct StreamClock {
    rate: f64,
    /// When the first frames came, seconds of the stream.
    first_s: Option<f64>,
    settled: bool,
    /// The least late callbacks: one for each span that is over, and up to [`KEPT`] of the span that goes on, the least
    /// late first.
    least: VecDeque<Point>,
    newest: Vec<Point>,
    /// How many callbacks came too early for the line lately, as [`EARLY`] counts them.
    early: u32,
    /// The line: a point on it, and by how much the stream falls behind in each of its seconds.
    through: Option<Point>,
    slope: f64,
    /// Since when, in seconds of the stream, all callbacks have been too late for the line.
    late_since_s: Option<f64>,
}

/// A callback.
#[derive(Clone, Copy, Debug)]
struct Point {
    /// How far the stream had come, seconds at its nominal rate.
    stream_s: f64,
    /// How much later the machine's clock was than the stream, seconds.
    behind_s: f64,
}

impl StreamClock {
    /// A stream of so many frames per second, by its own word, of which nothing is known yet.
    pub fn new(rate: f64) -> Self {
        Self {
            rate,
            first_s: None,
            settled: false,
            least: VecDeque::new(),
            newest: Vec::with_capacity(KEPT + 1),
            early: 0,
            through: None,
            slope: 0.0,
            late_since_s: None,
        }
    }

    /// Takes the newest anchor.
    pub fn see(&mut self, anchor: Anchor) {
        let stream_s = anchor.frame as f64 / self.rate;
        let point = Point { stream_s, behind_s: anchor.at.nanos() as f64 / 1e9 - stream_s };
        let settles = !self.settled && stream_s - *self.first_s.get_or_insert(stream_s) >= SETTLED_S;
        self.settled |= settles;
        let late_s = self.behind_s(stream_s).map_or(0.0, |line_s| point.behind_s - line_s);
        if settles || self.has_jumped(stream_s, late_s) {
            // The speed is the device's, and stays, unless it was read from so few spans that the jump may have caused
            // it.
            if self.least.len() < SPEED_SURE {
                self.slope = 0.0;
            }
            self.least.clear();
            self.newest.clear();
            (self.through, self.late_since_s, self.early) = (None, None, 0);
        } else if late_s < -JUMP_S {
            return;
        }
        self.keep(point);
    }

    fn keep(&mut self, point: Point) {
        let span = |point: &Point| (point.stream_s / SPAN_S).floor();
        if self.newest.first().is_some_and(|first| span(first) != span(&point)) {
            if self.least.len() == SPANS {
                self.least.pop_front();
            }
            self.least.extend(self.newest.last());
            self.newest.clear();
            self.fit();
        }
        let place = self.newest.partition_point(|other| other.behind_s <= point.behind_s);
        self.newest.insert(place, point);
        self.newest.truncate(KEPT);
        let Some(third) = self.newest.last().copied() else { return };
        let below = self.behind_s(third.stream_s).is_none_or(|line_s| third.behind_s < line_s);
        if self.least.is_empty() || below && self.newest.len() == KEPT {
            self.through = Some(third);
        }
    }

    /// When a frame is handed over; `None` as long as nothing is known.
    pub fn time_of(&self, frame: f64) -> Option<HostTime> {
        let stream_s = frame / self.rate;
        let nanos = (stream_s + self.behind_s(stream_s)?) * 1e9;
        Some(HostTime::from_nanos(nanos.max(0.0).round() as u64))
    }

    /// The frame, with its fraction, that is handed over at a moment; negative before the stream began.
    pub fn frame_at(&self, at: HostTime) -> Option<f64> {
        let through = self.through?;
        let since_s = at.nanos() as f64 / 1e9 - through.stream_s - through.behind_s;
        Some((through.stream_s + since_s / (1.0 + self.slope)) * self.rate)
    }

    /// By how many millionths the stream runs faster than it says; 0 as long as that is not known.
    pub fn drift_ppm(&self) -> f64 {
        (1.0 / (1.0 + self.slope) - 1.0) * 1e6
    }

    /// How much later than the stream the machine's clock is at a point of the stream, by the line, seconds.
    fn behind_s(&self, stream_s: f64) -> Option<f64> {
        self.through.map(|through| through.behind_s + self.slope * (stream_s - through.stream_s))
    }

    /// Whether the stream has left the line, after a callback that is `late_s` later than the line.
    fn has_jumped(&mut self, stream_s: f64, late_s: f64) -> bool {
        if late_s < -JUMP_S {
            self.early += 2;
            return self.early >= EARLY;
        }
        self.early = self.early.saturating_sub(1);
        if late_s <= JUMP_S {
            self.late_since_s = None;
            return false;
        }
        stream_s - *self.late_since_s.get_or_insert(stream_s) >= LATE_FOR_S
    }

    /// Fits the line at the end of each span: of the lines below all points, the one that is closest to the points. It
    /// is the edge of their lower hull that lies below their mean time.
    fn fit(&mut self) {
        let (Some(first), Some(last)) = (self.least.front(), self.least.back()) else { return };
        if last.stream_s - first.stream_s < SPEED_AFTER_S {
            return;
        }
        self.slope = self.edge().unwrap_or(self.slope).clamp(-MOST_DRIFT, MOST_DRIFT);
        let below = |point: &Point| point.behind_s - self.slope * point.stream_s;
        self.through = self.least.iter().copied().min_by(|a, b| below(a).total_cmp(&below(b)));
    }

    /// The slope of the edge of the lower hull below the mean time.
    fn edge(&self) -> Option<f64> {
        let slope = |a: Point, b: Point| (b.behind_s - a.behind_s) / (b.stream_s - a.stream_s);
        let mut hull: Vec<Point> = Vec::new();
        for &point in &self.least {
            while let [.., before, last] = hull[..]
                && slope(before, last) >= slope(last, point)
            {
                hull.pop();
            }
            hull.push(point);
        }
        let middle_s = self.least.iter().map(|point| point.stream_s).sum::<f64>() / self.least.len() as f64;
        let edge = hull.windows(2).find(|ends| ends[1].stream_s >= middle_s)?;
        Some(slope(edge[0], edge[1]))
    }
}

#[cfg(test)]
mod tests;
