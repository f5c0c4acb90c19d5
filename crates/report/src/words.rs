//! Dates, figures and distances in words.

use crate::{NoteRow, Tries};
use course::{Day, NoteDay, side};
use layout::Way;

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// What stands where there is nothing to say.
pub(crate) const NONE: &str = "–";

/// The columns of the table of bends.
pub(crate) const NOTE_COLUMNS: [&str; 7] =
    ["Tab", "In words", "Landed now", "Before", "Cents off now", "Before", "Expected"];

/// "28 November 2026".
pub(crate) fn date(day: Day) -> String {
    let (year, month, of_month) = day.civil();
    let month = MONTHS.get(month as usize - 1).copied().unwrap_or_default();
    format!("{of_month} {month} {year}")
}

/// "1 day", "30 days".
pub(crate) fn count(number: usize, one: &str, more: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { more })
}

/// "85 %", which no line breaks apart.
pub(crate) fn percent(share: f64) -> String {
    format!("{:.0}\u{a0}%", 100.0 * share)
}

impl Tries {
    pub(crate) fn of(day: &NoteDay) -> Self {
        let (cents, spread) = (day.mean_cents(), day.spread_cents());
        Self { landed: day.landed, of: day.tries, cents, spread }
    }

    /// The share that landed, 0 to 1.
    pub(crate) fn share(&self) -> f64 {
        f64::from(self.landed) / f64::from(self.of.max(1))
    }

    /// "17 of 20, 85 %".
    pub(crate) fn landed(&self) -> String {
        format!("{} of {}, {}", self.landed, self.of, percent(self.share()))
    }

    /// The mean distance as a figure with its sign: "+12", "−8", "0".
    pub(crate) fn signed(&self) -> Option<String> {
        let cents = self.cents?.round() as i64;
        Some(match cents {
            0 => "0".to_owned(),
            1.. => format!("+{cents}"),
            _ => format!("−{}", -cents),
        })
    }
}

impl NoteRow {
    /// What stands in the columns of the table of bends, in their order.
    pub(crate) fn cells(&self) -> [String; NOTE_COLUMNS.len()] {
        let landed = |tries: &Option<Tries>| tries.as_ref().map_or_else(|| NONE.to_owned(), Tries::landed);
        [
            self.tab.clone(),
            self.words.clone(),
            landed(&self.now),
            landed(&self.then),
            cents(self.now.as_ref(), self.side),
            cents(self.then.as_ref(), self.side_then),
            chance(self.chance),
        ]
    }
}

/// On which side of the note a mean lies; empty where it lies on the note or nothing was measured.
pub(crate) fn side_of(way: Way, tries: Option<&Tries>) -> &'static str {
    match tries.and_then(|tries| tries.cents) {
        Some(cents) if cents.abs() >= 0.5 => side(way, cents),
        _ => "",
    }
}

/// "12 short ± 8": the mean distance, the side on which it lies, and the spread, cents.
pub(crate) fn cents(tries: Option<&Tries>, side: &str) -> String {
    let Some(cents) = tries.and_then(|tries| tries.cents) else { return NONE.to_owned() };
    let spread = tries.and_then(|tries| tries.spread);
    let spread = spread.map_or_else(String::new, |spread| format!(" ±\u{a0}{spread:.0}"));
    let space = if side.is_empty() { "" } else { " " };
    format!("{:.0}{space}{side}{spread}", cents.abs())
}

/// "85 % (70 to 95)".
pub(crate) fn chance((chance, low, high): (f64, f64, f64)) -> String {
    format!("{} ({:.0} to {:.0})", percent(chance), 100.0 * low, 100.0 * high)
}

/// Beats a minute, or a dash.
pub(crate) fn tempo(bpm: Option<f64>) -> String {
    bpm.map_or_else(|| NONE.to_owned(), |bpm| format!("{bpm:.0}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_date_is_written_out() {
        assert_eq!(date(Day(20_785)), "28 November 2026");
        assert_eq!(date(Day(0)), "1 January 1970");
    }

    #[test]
    fn a_mean_that_rounds_to_nothing_has_no_sign() {
        let tries = |cents| Tries { landed: 1, of: 2, cents: Some(cents), spread: None };
        assert_eq!(tries(-0.4).signed().unwrap(), "0");
        assert_eq!(tries(-12.6).signed().unwrap(), "−13");
        assert_eq!(tries(4.2).signed().unwrap(), "+4");
        assert_eq!(cents(Some(&tries(-0.4)), ""), "0");
        assert_eq!(cents(Some(&tries(-12.6)), "past"), "13 past");
        assert_eq!(cents(None, ""), "–");
    }
}
