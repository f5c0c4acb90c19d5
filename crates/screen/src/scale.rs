//! The picture's arithmetic: pitch to columns.
//!
//! Pitch is counted in semitones as a fractional MIDI key number, so that a column is the same number of cents
//! everywhere. The same scale serves the stair of a whole harp and the zoomed row of one hole.

use layout::{Breath, Harp, Technique, Way};

/// A linear scale from pitch to column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Key number at the centre of column 0.
    origin: f64,
    /// Columns a semitone, at least 1.
    per_semitone: f64,
}

/// The most columns a semitone takes: 24 makes a column 4 cents, and a wide window shows more of the hole rather than
/// the same part of it larger.
const FINEST: f64 = 24.0;
/// The least columns a semitone takes in a drill: with fewer, the band of 25 cents either side has no inside.
const COARSEST: f64 = 6.0;
/// What a drill shows either side of the target, semitones: the neighbouring half step and a little more.
const SEEN_SEMITONES: f64 = 1.6;

impl Scale {
    /// A scale with `per_semitone` columns a semitone and key number `origin` at column 0.
    pub fn new(origin: f64, per_semitone: f64) -> Self {
        Self { origin, per_semitone: per_semitone.max(1.0) }
    }

    /// The scale that shows from key number `low` to `high` in the middle of `columns`, with a whole number of columns
    /// a semitone so that marks a semitone apart stand evenly.
    pub fn fit(low: f64, high: f64, columns: u16) -> Self {
        let span = (high - low).max(0.01);
        let per_semitone = (f64::from(columns) / span).floor().clamp(1.0, FINEST);
        let middle = f64::from(columns.saturating_sub(1)) / 2.0;
        Self::new(f64::midpoint(low, high) - middle / per_semitone, per_semitone)
    }

    /// The scale of a drill in `columns`: the key number asked for in the middle, and enough either side to see the
    /// neighbouring half steps.
    pub fn around(number: f64, columns: u16) -> Self {
        let middle = f64::from(columns.saturating_sub(1)) / 2.0;
        let per_semitone = (middle / SEEN_SEMITONES).floor().clamp(COARSEST, FINEST);
        // The number asked for stands in the middle of a column, so that flat and sharp are seen alike.
        Self::new(number - middle.floor() / per_semitone, per_semitone)
    }

    /// Columns a semitone.
    pub fn per_semitone(&self) -> f64 {
        self.per_semitone
    }

    /// Cents a column.
    pub fn cents_per_column(&self) -> f64 {
        100.0 / self.per_semitone
    }

    /// The column of a key number; it may lie outside the picture.
    pub fn column(&self, number: f64) -> i32 {
        ((number - self.origin) * self.per_semitone).round() as i32
    }

    /// The half column of a key number, counted from the left edge of column 0.
    pub fn half_column(&self, number: f64) -> i32 {
        (((number - self.origin) * self.per_semitone + 0.5) * 2.0).floor() as i32
    }

    /// The key number at the centre of a column.
    pub fn number(&self, column: i32) -> f64 {
        self.origin + f64::from(column) / self.per_semitone
    }
}

/// A mark on the row of a hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// How it is played.
    pub way: Way,
    /// Where it is in tune: fractional MIDI key number.
    pub number: f64,
}

/// The fractional key number at which a way is in tune, in equal temperament on the harp's own reference pitch.
pub fn number_of(harp: &Harp, way: Way) -> Option<f64> {
    harp.hz(way).map(|hz| harp.concert().key_number(hz))
}

/// The marks of a target's hole: its two reeds and its bends, and its overbend only if that is the target.
pub fn hole_marks(harp: &Harp, target: Way) -> Vec<Mark> {
    harp.ways_of_hole(target.hole)
        .filter(|way| way.technique != Technique::Overbend || *way == target)
        .filter_map(|way| number_of(harp, way).map(|number| Mark { way, number }))
        .collect()
}

/// The two reeds of a hole as marks, the lower first.
pub fn reeds(harp: &Harp, hole: u8) -> Option<[Mark; 2]> {
    let reed = |breath| {
        let way = Way::new(hole, breath, Technique::Natural);
        number_of(harp, way).map(|number| Mark { way, number })
    };
    let (blow, draw) = (reed(Breath::Blow)?, reed(Breath::Draw)?);
    Some(if blow.number <= draw.number { [blow, draw] } else { [draw, blow] })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_target_stands_in_the_middle_with_a_half_step_on_either_side() {
        for columns in [24, 44, 64, 65, 104, 184] {
            let scale = Scale::around(70.0, columns);
            assert_eq!(scale.column(70.0), i32::from(columns - 1) / 2);
            let (left, right) = (scale.column(69.0), scale.column(71.0));
            assert_eq!(
                scale.column(70.0) - left,
                right - scale.column(70.0),
                "flat and sharp are seen alike"
            );
            assert!(left >= 0 && right < i32::from(columns), "{left} and {right} of {columns}");
        }
    }

    #[test]
    fn a_column_is_about_five_cents_at_eighty_columns() {
        let scale = Scale::around(70.0, 64);
        assert!((4.0..=6.0).contains(&scale.cents_per_column()), "{}", scale.cents_per_column());
    }

    #[test]
    fn columns_and_numbers_are_inverse() {
        let scale = Scale::fit(60.0, 64.0, 80);
        for column in 0..80 {
            assert_eq!(scale.column(scale.number(column)), column);
            let quarter = 0.25 / scale.per_semitone();
            assert_eq!(scale.half_column(scale.number(column) - quarter), 2 * column);
            assert_eq!(scale.half_column(scale.number(column) + quarter), 2 * column + 1);
        }
    }
}
