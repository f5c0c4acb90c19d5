//! A day of the player's.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A day of the player's own calendar, counted in days since 1 January 1970. When it begins, whoever counts the entries decides.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Day(pub i32);

const DAYS_OF_THE_WEEK: [&str; 7] =
    ["Thursday", "Friday", "Saturday", "Sunday", "Monday", "Tuesday", "Wednesday"];

impl Day {
    /// How many days after another it is; negative if it comes before.
    pub fn since(self, earlier: Self) -> i32 {
        self.0 - earlier.0
    }

    /// So many days later, or, negative, earlier.
    #[must_use]
    pub fn plus(self, days: i32) -> Self {
        Self(self.0 + days)
    }

    /// The day of the week.
    pub fn weekday(self) -> &'static str {
        // 1 January 1970 was a Thursday.
        DAYS_OF_THE_WEEK[self.0.rem_euclid(7) as usize]
    }

    /// How one speaks of it `today`: "today", "yesterday", "on Tuesday", "9 days ago", "5 weeks ago".
    pub fn spoken(self, today: Self) -> String {
        match today.since(self) {
            ..=0 => "today".to_owned(),
            1 => "yesterday".to_owned(),
            2..=6 => format!("on {}", self.weekday()),
            days @ 7..=20 => format!("{days} days ago"),
            days @ 21..=90 => format!("{} weeks ago", days / 7),
            days => format!("{} months ago", days / 30),
        }
    }

    /// Year, month and day of the month in the Gregorian calendar (Hinnant, "chrono-compatible low-level date algorithms", 2014).
    pub fn civil(self) -> (i32, u32, u32) {
        let days = self.0 + 719_468;
        let era = days.div_euclid(146_097);
        let of_era = days.rem_euclid(146_097);
        let year = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
        let of_year = of_era - (365 * year + year / 4 - year / 100);
        let month = (5 * of_year + 2) / 153;
        let day = of_year - (153 * month + 2) / 5 + 1;
        let month = if month < 10 { month + 3 } else { month - 9 };
        (year + 400 * era + i32::from(month <= 2), month as u32, day as u32)
    }
}

impl fmt::Display for Day {
    /// "2026-11-28" (ISO 8601).
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.civil();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_have_the_dates_of_the_calendar() {
        // Counted with Python's `datetime.date.toordinal` less 719163.
        for (day, date, weekday) in [
            (0, "1970-01-01", "Thursday"),
            (20_785, "2026-11-28", "Saturday"),
            (11_016, "2000-02-29", "Tuesday"),
            (-1, "1969-12-31", "Wednesday"),
            (47_541, "2100-03-01", "Monday"),
        ] {
            assert_eq!((Day(day).to_string().as_str(), Day(day).weekday()), (date, weekday));
        }
    }

    #[test]
    fn a_day_is_spoken_of_as_people_do() {
        let today = Day(20_785);
        let spoken = |ago: i32| today.plus(-ago).spoken(today);
        assert_eq!(
            [0, 1, 4, 7, 30, 200, -1].map(spoken),
            ["today", "yesterday", "on Tuesday", "7 days ago", "4 weeks ago", "6 months ago", "today"]
        );
    }
}
