//! The last seconds of pitch, as the plumb line shows them.

use pitch::Reading;
use practice::Moment;
use std::collections::VecDeque;

/// Readings kept: four seconds of one every 2.7 ms (a hop of 128 samples at 48 kHz).
const KEPT: usize = 1500;
/// After this much silence time stands still, so that the last try stays to be looked at.
const STANDSTILL_S: f64 = 0.25;

/// Neighbouring readings are one line if no more than this lies between them.
const JOINED_S: f64 = 0.03;

/// What was played lately.
#[derive(Clone, Debug)]
pub(crate) struct Trace {
    points: VecDeque<Point>,
    rate: f64,
    /// Which stream the points belong to.
    epoch: u32,
    now: u64,
    silent_since: u64,
}

#[derive(Clone, Copy, Debug)]
struct Point {
    time: u64,
    hz: f64,
}

/// The pitch within one row of the plumb line, hertz.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Swing {
    /// The lowest.
    pub(crate) low: f64,
    /// The newest.
    pub(crate) last: f64,
    /// The highest.
    pub(crate) high: f64,
}

impl Trace {
    /// An empty trace of a stream.
    fn new(rate: f64, epoch: u32) -> Self {
        let points = VecDeque::with_capacity(KEPT);
        Self { points, rate: rate.max(1.0), epoch, now: 0, silent_since: 0 }
    }

    /// Takes a reading that was heard `now`. True if the picture moved: a sounding note, or time that still runs
    /// on after one.
    pub(crate) fn hear(&mut self, reading: &Reading, now: Moment) -> bool {
        if (self.rate, self.epoch) != (now.rate, now.epoch) {
            *self = Self::new(now.rate, now.epoch);
        }
        if let Some(hz) = reading.hz {
            if self.points.len() == KEPT {
                self.points.pop_front();
            }
            self.points.push_back(Point { time: reading.time, hz });
            // The ear's windows differ in length, so a reading may describe an earlier moment than the one before it.
            self.now = self.now.max(reading.time);
            self.silent_since = self.now;
            return true;
        }
        let runs_on = reading.time.saturating_sub(self.silent_since) as f64 <= STANDSTILL_S * self.rate;
        if runs_on && !self.points.is_empty() {
            self.now = self.now.max(reading.time);
        }
        runs_on && !self.points.is_empty()
    }

    /// Forgets everything.
    pub(crate) fn clear(&mut self) {
        self.points.clear();
    }

    /// The newest pitch, hertz.
    pub(crate) fn newest(&self) -> Option<f64> {
        self.points.back().map(|point| point.hz)
    }

    /// The pitch by rows of `row_s` seconds, newest first; `None` for a row of silence.
    ///
    /// Rows lie on a fixed grid of time, so that a row keeps its picture while it moves down.
    pub(crate) fn rows(&self, row_s: f64, count: usize) -> Vec<Option<Swing>> {
        let row = (row_s * self.rate).max(1.0) as u64;
        let newest = self.now / row;
        let mut rows = vec![None; count];
        let joined = (JOINED_S * self.rate) as u64;
        let mut points = self.points.iter().rev().peekable();
        while let Some(point) = points.next() {
            let back = (newest.saturating_sub(point.time / row)) as usize;
            let Some(slot) = rows.get_mut(back) else { break };
            let swing = slot.get_or_insert(Swing { low: point.hz, last: point.hz, high: point.hz });
            swing.take(point.hz);
            if let Some(before) = points.peek().filter(|before| before.joins(point, joined)) {
                swing.take(before.hz);
            }
        }
        rows
    }
}

impl Default for Trace {
    /// Empty, until a stream is heard.
    fn default() -> Self {
        Self::new(1.0, 0)
    }
}

impl Swing {
    /// The pitch of some points, the newest first; `None` if nothing sounded.
    pub(crate) fn of(points: &[Option<f64>]) -> Option<Self> {
        let mut sounding = points.iter().flatten();
        let last = *sounding.next()?;
        let mut swing = Self { low: last, last, high: last };
        sounding.for_each(|hz| swing.take(*hz));
        Some(swing)
    }

    fn take(&mut self, hz: f64) {
        self.low = self.low.min(hz);
        self.high = self.high.max(hz);
    }
}

impl Point {
    /// Whether the pitch slid from here to `next`, so that the line between them is unbroken.
    fn joins(&self, next: &Self, within: u64) -> bool {
        let semitone = 1.0595;
        let ratio = next.hz / self.hz;
        next.time.saturating_sub(self.time) <= within && ratio < semitone && ratio > 1.0 / semitone
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A moment of the first stream of a thousand samples a second.
    const NOW: Moment = Moment { samples: 0, rate: 1000.0, epoch: 0 };

    fn reading(time: u64, hz: Option<f64>) -> Reading {
        Reading { time, known: time, hz, sigma_cents: 1.0, clarity: 0.9, level_dbfs: -20.0, onset: false }
    }

    #[test]
    fn rows_run_from_new_to_old() {
        let mut trace = Trace::default();
        for (time, hz) in [(0, 400.0), (90, 410.0), (130, 420.0), (190, 415.0), (230, 430.0)] {
            trace.hear(&reading(time, Some(hz)), NOW);
        }
        let rows = trace.rows(0.1, 4);
        assert_eq!(rows[0], Some(Swing { low: 430.0, last: 430.0, high: 430.0 }));
        assert_eq!(rows[1], Some(Swing { low: 415.0, last: 415.0, high: 420.0 }));
        assert_eq!(rows[2], Some(Swing { low: 400.0, last: 410.0, high: 410.0 }));
        assert_eq!(rows[3], None);
    }

    #[test]
    fn a_slide_is_an_unbroken_line_and_a_leap_is_not() {
        let mut trace = Trace::default();
        for (time, hz) in [(80, 400.0), (105, 410.0), (195, 410.0), (205, 820.0)] {
            trace.hear(&reading(time, Some(hz)), NOW);
        }
        let rows = trace.rows(0.1, 3);
        assert_eq!(rows[1].map(|swing| swing.low), Some(400.0), "the slide begins in the row before");
        assert_eq!(rows[0].map(|swing| swing.low), Some(820.0));
    }

    #[test]
    fn time_stands_still_in_silence() {
        let mut trace = Trace::default();
        assert!(!trace.hear(&reading(5, None), NOW), "nothing to move yet");
        trace.hear(&reading(100, Some(440.0)), NOW);
        assert!(trace.hear(&reading(200, None), NOW));
        assert!(!trace.hear(&reading(900, None), NOW));
        assert_eq!(trace.rows(0.1, 3)[1].map(|swing| swing.last), Some(440.0));
    }

    #[test]
    fn a_reading_of_a_longer_window_does_not_wipe_the_line() {
        let mut trace = Trace::default();
        for (known, time) in [(100, 80), (200, 180), (300, 280), (310, 260), (320, 300)] {
            trace.hear(&Reading { known, ..reading(time, Some(440.0)) }, NOW);
        }
        let shown = trace.rows(0.1, 5);
        assert_eq!(shown.iter().filter(|row| row.is_some()).count(), 4, "{shown:?}");
    }

    #[test]
    fn a_stream_that_begins_anew_begins_a_new_line() {
        let mut trace = Trace::default();
        trace.hear(&reading(5000, Some(440.0)), NOW);
        trace.hear(&reading(10, Some(220.0)), Moment { epoch: 1, ..NOW });
        assert_eq!(trace.rows(0.1, 60).iter().filter(|row| row.is_some()).count(), 1);
    }

    #[test]
    fn it_forgets_what_is_too_old() {
        let mut trace = Trace::default();
        for i in 0..(KEPT as u64 * 3) {
            trace.hear(&reading(i, Some(440.0)), NOW);
        }
        assert_eq!(trace.points.len(), KEPT);
    }
}
