//! When something was practised, as the player's own calendar has it.

use course::Day;
use jiff::civil::Date;
use jiff::tz::Offset;
use jiff::{Timestamp, ToSpan, ZonedDateTime};
use std::collections::hash_map::RandomState;
use std::hash::{BuildHasher, Hasher};

/// A new day begins at this hour, so that practice after midnight counts for the day before (our choice).
const DAY_BEGINS_AT_HOUR: i64 = 4;

/// Day 0 of [`Day`].
const FIRST_DAY: Date = Date::constant(1970, 1, 1);

/// A moment and the place's distance from UTC at that moment, so that a day stays the day it was for whoever travels.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct When {
    /// Milliseconds since 1970 in UTC.
    pub unix_ms: i64,
    /// Seconds that the clock on the wall was ahead of UTC.
    pub offset_s: i32,
}

impl When {
    /// This moment by the machine's clock and time zone.
    pub fn now() -> Self {
        let now = ZonedDateTime::now();
        Self { unix_ms: now.timestamp().as_millisecond(), offset_s: now.offset().seconds() }
    }

    /// Its day in a file's name.
    pub(crate) fn stamp(self) -> String {
        self.day().map_or_else(|| "undated".to_owned(), |day| day.to_string())
    }

    /// A name that no other session or file has: the moment in milliseconds, and a random number of the system.
    pub(crate) fn unique(self) -> String {
        let chance = RandomState::new().build_hasher().finish();
        format!("{}-{chance:016x}", self.unix_ms)
    }

    /// The player's day it belongs to; `None` of a moment that no calendar has.
    pub fn day(self) -> Option<Day> {
        let offset = Offset::from_seconds(self.offset_s).ok()?;
        let local = offset.to_datetime(Timestamp::from_millisecond(self.unix_ms).ok()?);
        let date = local.checked_sub(DAY_BEGINS_AT_HOUR.hours()).ok()?.date();
        Some(Day(date.since(FIRST_DAY).ok()?.get_days()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str, hours: i32) -> When {
        let moment: Timestamp = text.parse().unwrap();
        When { unix_ms: moment.as_millisecond(), offset_s: 3600 * hours }
    }

    #[test]
    fn a_day_begins_at_four_by_the_clock_on_the_wall() {
        for (moment, hours, day) in [
            ("2026-11-28T03:59:00+01:00", 1, "2026-11-27"),
            ("2026-11-28T04:00:00+01:00", 1, "2026-11-28"),
            ("2026-11-29T00:30:00+01:00", 1, "2026-11-28"),
            // The same moment is another day on the other side of the world.
            ("2026-11-28T22:00:00-08:00", -8, "2026-11-28"),
            ("2026-11-28T22:00:00-08:00", 1, "2026-11-29"),
            // The night in which summer time ends in Austria: half past two comes twice.
            ("2026-10-25T02:30:00+02:00", 2, "2026-10-24"),
            ("2026-10-25T02:30:00+01:00", 1, "2026-10-24"),
        ] {
            assert_eq!(at(moment, hours).day().unwrap().to_string(), day, "{moment}");
        }
        assert_eq!(When { unix_ms: i64::MAX, offset_s: 0 }.day(), None);
        assert_eq!(When { unix_ms: 0, offset_s: i32::MAX }.day(), None);
    }
}
