//! The pitch of one try over time, and the stretches during which it stayed near one value.

use crate::voice::DROPOUT_S;
use std::ops::Range;

/// A stretch's readings lie within this of its median, cents.
const BAND_CENTS: f64 = 30.0;
/// An excursion out of the band shorter than this is none: half a period of a slow vibrato (4 Hz) and a bit.
const EXCURSION_S: f64 = 0.15;
/// Readings closer together than this are thinned out, which bounds the memory of a try.
const SPACING_S: f64 = 0.004;
/// Shorter stretches are not kept.
const SHORTEST_S: f64 = 0.12;

/// One reading of a sounding note.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Point {
    /// Seconds since the judge began to listen.
    pub(crate) t: f64,
    /// Cents above the target.
    pub(crate) cents: f64,
    /// One standard deviation of the error to expect in it, cents.
    pub(crate) sigma: f64,
    /// Its level, dB relative to a full-scale sine.
    pub(crate) level: f64,
    /// How periodic the sound is, 0 to 1.
    pub(crate) clarity: f64,
}

/// Every reading of a try, cut into stretches as they come in.
#[derive(Clone, Debug, Default)]
pub(crate) struct Track {
    points: Vec<Point>,
    /// First point of the stretch that is going on.
    from: usize,
    /// First point of an excursion that may yet turn out to be the stretch's end.
    away: Option<usize>,
    /// The cents of `points[from..]`, in order, for the running median.
    sorted: Vec<f64>,
    /// Finished stretches.
    done: Vec<Range<usize>>,
}

impl Track {
    /// Everything heard.
    pub(crate) fn points(&self) -> &[Point] {
        &self.points
    }

    /// What was heard before `t` seconds.
    pub(crate) fn before(&self, t: f64) -> &[Point] {
        &self.points[..self.points.partition_point(|point| point.t < t)]
    }

    /// The stretch going on, without a pending excursion.
    pub(crate) fn current(&self) -> Range<usize> {
        self.from..self.away.unwrap_or(self.points.len())
    }

    /// Finished stretches and the one going on, oldest first.
    pub(crate) fn stretches(&self) -> impl Iterator<Item = Range<usize>> + '_ {
        let current = Some(self.current()).filter(|range| self.duration(range) >= SHORTEST_S);
        self.done.iter().cloned().chain(current)
    }

    /// Seconds from the first to the last reading of a range.
    pub(crate) fn duration(&self, range: &Range<usize>) -> f64 {
        match self.points.get(range.clone()) {
            Some([first, .., last]) => last.t - first.t,
            _ => 0.0,
        }
    }

    /// Forgets everything.
    pub(crate) fn clear(&mut self) {
        self.points.clear();
        self.sorted.clear();
        self.done.clear();
        (self.from, self.away) = (0, None);
    }

    /// Takes the next reading. Times must not run backwards.
    pub(crate) fn push(&mut self, point: Point) {
        if let Some(last) = self.points.last() {
            let pause = point.t - last.t;
            if pause < SPACING_S {
                return;
            }
            if pause > DROPOUT_S {
                self.close(self.points.len());
            }
        }
        self.points.push(point);
        self.insert(point.cents);
        self.settle_front();
        self.watch_excursion(point);
    }

    /// Notes whether the newest reading is out of the band, and ends the stretch if that has gone on for long.
    fn watch_excursion(&mut self, newest: Point) {
        if (newest.cents - self.median()).abs() <= BAND_CENTS {
            self.away = None;
            return;
        }
        let newest_index = self.points.len() - 1;
        let away = *self.away.get_or_insert(newest_index);
        if newest.t - self.points[away].t >= EXCURSION_S {
            self.close(away);
            self.settle_front();
        }
    }

    /// Ends the stretch before `end` (or before the excursion that was pending) and begins the next one at `end`.
    fn close(&mut self, end: usize) {
        let stretch = self.from..self.away.map_or(end, |away| away.min(end));
        if self.duration(&stretch) >= SHORTEST_S {
            self.done.push(stretch);
        }
        (self.from, self.away) = (end, None);
        self.sorted.clear();
        for index in end..self.points.len() {
            self.insert(self.points[index].cents);
        }
    }

    /// Drops readings at the front of the stretch that the median has moved away from: the slide into the note.
    fn settle_front(&mut self) {
        while self.from + 1 < self.points.len() {
            let first = self.points[self.from].cents;
            if (first - self.median()).abs() <= BAND_CENTS {
                break;
            }
            let at = self.sorted.partition_point(|cents| *cents < first);
            self.sorted.remove(at);
            self.from += 1;
        }
        self.away = self.away.filter(|away| *away > self.from);
    }

    fn insert(&mut self, cents: f64) {
        let at = self.sorted.partition_point(|other| *other < cents);
        self.sorted.insert(at, cents);
    }

    /// The median of the stretch going on; 0 if there is none.
    pub(crate) fn median(&self) -> f64 {
        quantile(&self.sorted, 0.5)
    }
}

/// The `q`-quantile of sorted values, interpolated between neighbours; 0 of none.
pub(crate) fn quantile(sorted: &[f64], q: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return 0.0 };
    let at = q * last as f64;
    let below = at.floor() as usize;
    let above = (below + 1).min(last);
    sorted[below] + (sorted[above] - sorted[below]) * (at - at.floor())
}

/// Half the distance between the 16th and the 84th percentile of sorted values: one standard deviation of a normal
/// distribution.
pub(crate) fn half_spread(sorted: &[f64]) -> f64 {
    (quantile(sorted, 0.84) - quantile(sorted, 0.16)) / 2.0
}
