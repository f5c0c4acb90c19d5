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

/// The most columns a semitone takes: 40 makes a column 2.5 cents, about what a steady player wavers.
const FINEST: f64 = 40.0;
/// Room beside the outermost marks of a zoomed hole, semitones.
const MARGIN: f64 = 0.6;
/// The least that a zoomed hole shows, semitones; a row narrower than this would hide a wrong note.
const LEAST_SPAN: f64 = 3.0;

impl Scale {
    /// A scale with `per_semitone` columns a semitone and key number `origin` at column 0.
    pub fn new(origin: f64, per_semitone: f64) -> Self {
        Self { origin, per_semitone: per_semitone.max(1.0) }
    }

    /// The scale that shows from key number `low` to `high` in the middle of `columns`, with a whole number of columns a
    /// semitone so that marks a semitone apart stand evenly.
    pub fn fit(low: f64, high: f64, columns: u16) -> Self {
        let span = (high - low).max(0.01);
        let per_semitone = (f64::from(columns) / span).floor().clamp(1.0, FINEST);
        let middle = f64::from(columns.saturating_sub(1)) / 2.0;
        Self::new(f64::midpoint(low, high) - middle / per_semitone, per_semitone)
    }

    /// The scale of one hole with everything that can be played there and `target`, in `columns`.
    pub fn of_hole(harp: &Harp, target: Way, columns: u16) -> Self {
        let numbers = || hole_marks(harp, target).into_iter().map(|mark| mark.number);
        let low = numbers().fold(f64::INFINITY, f64::min);
        let high = numbers().fold(f64::NEG_INFINITY, f64::max);
        if low > high {
            return Self::fit(60.0, 60.0 + LEAST_SPAN, columns);
        }
        let missing = (LEAST_SPAN - (high - low) - 2.0 * MARGIN).max(0.0) / 2.0;
        Self::fit(low - MARGIN - missing, high + MARGIN + missing, columns)
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

    fn bend(hole: u8, depth: u8) -> Way {
        Way::new(hole, Breath::Draw, Technique::Bend(depth))
    }

    #[test]
    fn flat_is_left_and_a_semitone_is_the_same_everywhere() {
        let harp = Harp::richter("C".parse().unwrap());
        let scale = Scale::of_hole(&harp, bend(3, 1), 66);
        let columns: Vec<i32> =
            [67.0, 68.0, 69.0, 70.0, 71.0].iter().map(|number| scale.column(*number)).collect();
        let steps: Vec<i32> = columns.windows(2).map(|pair| pair[1] - pair[0]).collect();
        assert!(steps[0] > 0);
        assert!(steps.iter().all(|step| *step == steps[0]), "{steps:?}");
    }

    #[test]
    fn every_hole_of_every_harp_fits_its_row() {
        for key in layout::HarpKey::all() {
            let harp = Harp::richter(key);
            for way in harp.ways() {
                for columns in [30, 45, 66, 106] {
                    let scale = Scale::of_hole(&harp, way, columns);
                    for mark in hole_marks(&harp, way) {
                        let column = scale.column(mark.number);
                        assert!(
                            (0..i32::from(columns)).contains(&column),
                            "{way:?} at {column} of {columns}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn a_column_is_about_five_cents_on_a_narrow_hole() {
        let harp = Harp::richter("C".parse().unwrap());
        let scale = Scale::of_hole(&harp, bend(1, 1), 66);
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

    #[test]
    fn a_harp_without_the_hole_still_gives_a_scale() {
        let harp = Harp::richter("C".parse().unwrap());
        assert!(Scale::of_hole(&harp, bend(40, 1), 0).cents_per_column() > 0.0);
    }
}
