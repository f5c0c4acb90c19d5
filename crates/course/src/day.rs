//! A day of the player's.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A day of the player's own calendar, counted in days since 1 January 1970. When it begins, whoever counts the entries
/// decides. Written as a date, "2026-11-28".
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
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

    /// Year, month and day of the month in the Gregorian calendar (Hinnant, "chrono-compatible low-level date
    /// algorithms", 2014).
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

/// A text that is no day of the calendar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DayError(pub String);

impl fmt::Display for DayError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?} is no day; write year, month and day, such as 2026-11-28", self.0)
    }
}

impl std::error::Error for DayError {}

impl From<Day> for String {
    fn from(day: Day) -> Self {
        day.to_string()
    }
}

impl TryFrom<String> for Day {
    type Error = DayError;

    fn try_from(text: String) -> Result<Self, DayError> {
        text.parse()
    }
}

impl FromStr for Day {
    type Err = DayError;

    /// Reads "2026-11-28", a day from the year 1900 to 9999.
    fn from_str(text: &str) -> Result<Self, DayError> {
        let wrong = || DayError(text.to_owned());
        let parts: Vec<&str> = text.trim().split('-').collect();
        let [year, month, day] = parts[..] else { return Err(wrong()) };
        let digits =
            |part: &str, count: usize| part.len() == count && part.bytes().all(|b| b.is_ascii_digit());
        if !(digits(year, 4) && digits(month, 2) && digits(day, 2)) {
            return Err(wrong());
        }
        let number = |part: &str| part.parse::<i32>().map_err(|_| wrong());
        let (year, month, day) = (number(year)?, number(month)?, number(day)?);
        if !(1900..=9999).contains(&year) {
            return Err(wrong());
        }
        // The year is counted from March, so that the day of February that comes and goes is its last (Hinnant, as in
        // `civil`).
        let from_march = (month + 9) % 12;
        let years = year - i32::from(month <= 2);
        let of_year = (153 * from_march + 2) / 5 + day - 1;
        let days = 365 * years + years / 4 - years / 100 + years / 400 + of_year - 719_468;
        // A 30th of February, or a 13th month, comes out as another day.
        Some(Self(days)).filter(|found| found.to_string() == text.trim()).ok_or_else(wrong)
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
            assert_eq!(date.parse(), Ok(Day(day)));
        }
        for day in -25_000..300_000 {
            assert_eq!(Day(day).to_string().parse(), Ok(Day(day)));
        }
        for text in [
            "",
            "today",
            "2026-02-29",
            "2026-13-01",
            "2026-00-10",
            "2026-1-1",
            "26-11-28",
            "2026-11-28-1",
            "1500-01-01",
        ] {
            assert!(text.parse::<Day>().is_err(), "{text}");
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
