//! The stair in flights: as many neighbouring holes on one scale as leave room to write on their marks.
//!
//! A whole harp is three octaves wide, which leaves two columns a semitone on a usual screen; a degree such as ♭5
//! beside a 5, or one in brackets, takes four. So the stair is broken into flights of neighbouring holes, each with its
//! own ruler. Ten holes of a Richter harp make two flights of five in eighty columns. From about 120 columns on the
//! stair is unbroken, with three columns a semitone: then a bracket stands before a degree only.

use crate::scale::Scale;
use layout::{Harp, Note, Way};
use std::ops::RangeInclusive;

/// Columns a semitone: a bracket, an accidental, a number, a bracket.
pub const COLUMNS: f64 = 4.0;
/// Columns a semitone of an unbroken stair without room for [`COLUMNS`]: a bracket or another sign, an
/// accidental, a number.
pub const TIGHT: f64 = 3.0;
/// Columns left of the lowest mark, for what stands before its number.
pub const BEFORE: i32 = 3;
/// Columns right of the highest mark.
const AFTER: i32 = 2;

/// Neighbouring holes on one scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Flight {
    /// The holes, from the lowest.
    pub holes: RangeInclusive<u8>,
    /// The lowest and the highest note shown.
    pub range: (Note, Note),
    /// Pitch to column.
    pub scale: Scale,
}

/// The flights of a harp in `columns`: as few as possible, each with all of its `shown` ways in the picture.
pub fn flights(harp: &Harp, columns: u16, shown: impl Fn(Way) -> bool) -> Vec<Flight> {
    let room = |per_semitone: f64| (f64::from(i32::from(columns) - BEFORE - AFTER) / per_semitone).floor();
    let notes = || harp.ways().filter(|way| shown(*way)).filter_map(|way| harp.note(way));
    if let (Some(low), Some(high)) = (notes().min(), notes().max()) {
        let span = f64::from(high.midi() - low.midi());
        let unbroken = [COLUMNS, TIGHT].into_iter().find(|per_semitone| span <= room(*per_semitone));
        if let Some(per_semitone) = unbroken {
            return vec![Flight::new(1..=harp.holes(), (low, high), per_semitone)];
        }
    }
    let room = room(COLUMNS);
    let mut flights: Vec<Flight> = Vec::new();
    for hole in 1..=harp.holes() {
        let notes = || harp.ways_of_hole(hole).filter(|way| shown(*way)).filter_map(|way| harp.note(way));
        let (Some(low), Some(high)) = (notes().min(), notes().max()) else { continue };
        let joined = flights.last().map(|flight| (flight.range.0.min(low), flight.range.1.max(high)));
        let fits = joined.filter(|(low, high)| f64::from(high.midi() - low.midi()) <= room);
        match (flights.last_mut(), fits) {
            (Some(flight), Some(range)) => {
                *flight = Flight::new(*flight.holes.start()..=hole, range, COLUMNS);
            }
            _ => flights.push(Flight::new(hole..=hole, (low, high), COLUMNS)),
        }
    }
    flights
}

impl Flight {
    fn new(holes: RangeInclusive<u8>, range: (Note, Note), per_semitone: f64) -> Self {
        let origin = f64::from(range.0.midi()) - f64::from(BEFORE) / per_semitone;
        Self { holes, range, scale: Scale::new(origin, per_semitone) }
    }

    /// Whether there is no column for a sign behind a degree.
    pub fn is_tight(&self) -> bool {
        self.scale.per_semitone() < COLUMNS
    }

    /// The column of a note.
    pub fn column(&self, note: Note) -> i32 {
        self.scale.column(f64::from(note.midi()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use layout::{HarpKey, Tunings};

    #[test]
    fn a_richter_harp_is_two_flights_of_five_in_eighty_columns() {
        for key in HarpKey::all() {
            let holes: Vec<_> =
                flights(&Harp::richter(key), 77, |_| true).into_iter().map(|flight| flight.holes).collect();
            assert_eq!(holes, [1..=5, 6..=10]);
        }
    }

    #[test]
    fn a_richter_harp_is_unbroken_in_a_hundred_and_twenty_columns() {
        for key in HarpKey::all() {
            let harp = Harp::richter(key);
            for (columns, per_semitone) in [(117, TIGHT), (153, COLUMNS)] {
                let [flight] = &flights(&harp, columns, |_| true)[..] else { panic!("{key} in {columns}") };
                assert_eq!((flight.holes.clone(), flight.scale.per_semitone()), (1..=10, per_semitone));
            }
        }
    }

    #[test]
    fn every_tuning_shows_every_note_once() {
        let key: HarpKey = "A".parse().unwrap();
        for known in &Tunings::ours() {
            let harp = Harp::new(key, known.tuning.clone(), layout::ConcertPitch::ISO);
            for columns in [32, 55, 77, 117, 160] {
                let flights = flights(&harp, columns, |_| true);
                let holes: Vec<u8> = flights.iter().flat_map(|flight| flight.holes.clone()).collect();
                assert_eq!(holes, (1..=harp.holes()).collect::<Vec<_>>());
                for flight in &flights {
                    for note in flight
                        .holes
                        .clone()
                        .flat_map(|hole| harp.ways_of_hole(hole))
                        .map(|way| harp.note(way))
                    {
                        let column = flight.column(note.unwrap());
                        let last = if flight.holes.clone().count() == 1 {
                            i32::MAX
                        } else {
                            i32::from(columns) - AFTER
                        };
                        assert!(
                            (BEFORE..=last).contains(&column),
                            "{} holes {:?}",
                            known.tuning.name(),
                            flight.holes
                        );
                    }
                }
            }
        }
    }
}
