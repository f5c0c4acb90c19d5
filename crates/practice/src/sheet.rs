//! A table of a file that a player wrote, with an exact place for every mistake.

use layout::{ConcertPitch, FileError, Harp, TabError, TabFault, Tunings, UnknownName, Way};
use std::ops::{Range, RangeInclusive};
use toml::Spanned;
use toml::de::{DeString, DeTable, DeValue};

/// The longest title and the longest other text, characters.
pub(crate) const LONGEST: (usize, usize) = (60, 500);

/// A table of the file, and the whole text for the places of mistakes.
#[derive(Clone, Copy)]
pub(crate) struct Sheet<'a> {
    pub(crate) text: &'a str,
    pub(crate) table: &'a DeTable<'a>,
    /// Where the table begins, for keys that are missing.
    pub(crate) start: usize,
}

impl<'a> Sheet<'a> {
    pub(crate) fn error(&self, span: &Range<usize>, message: impl Into<String>) -> FileError {
        FileError::at_span(self.text, span, message)
    }

    pub(crate) fn missing(&self, line: &str) -> FileError {
        FileError::at(self.text, self.start, format!("something is missing here; add a line like {line}"))
    }

    /// Refuses keys other than `allowed`.
    pub(crate) fn only(&self, allowed: &[&str]) -> Result<(), FileError> {
        let unknown = |key: &&Spanned<DeString<'_>>| !allowed.contains(&key.get_ref().as_ref());
        // The table is in alphabetical order; the first mistake is the one that stands first in the file.
        match self.table.keys().filter(unknown).min_by_key(|key| key.span().start) {
            None => Ok(()),
            Some(key) => {
                let known = allowed.iter().copied();
                Err(self.error(&key.span(), UnknownName::new("entry", key.get_ref(), known, []).to_string()))
            }
        }
    }

    pub(crate) fn value(&self, key: &str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.table.get(key)
    }

    /// A text of at most `longest` characters.
    pub(crate) fn words(&self, key: &str, longest: usize) -> Result<Option<String>, FileError> {
        let Some(value) = self.value(key) else { return Ok(None) };
        let fail = |what: &str| {
            Err(self
                .error(&value.span(), format!("{key} {what}; give it in quotes, 1 to {longest} characters")))
        };
        let Some(words) = value.get_ref().as_str().map(str::trim) else { return fail("is not text") };
        if words.is_empty() {
            fail("is empty")
        } else if words.chars().count() > longest {
            fail("is too long")
        } else if words.chars().any(|c| c.is_control() && c != '\n') {
            fail("holds a control character")
        } else {
            // Lines are joined: how wide a line may be is the screen's business.
            Ok(Some(words.split_whitespace().collect::<Vec<_>>().join(" ")))
        }
    }

    /// A number within `range`.
    pub(crate) fn number(&self, key: &str, range: RangeInclusive<f64>) -> Result<Option<f64>, FileError> {
        let Some(value) = self.value(key) else { return Ok(None) };
        let number = match value.get_ref() {
            DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str().parse().ok(),
            DeValue::Float(float) => float.as_str().parse().ok(),
            _ => None,
        };
        number.filter(|number| range.contains(number)).map(Some).ok_or_else(|| {
            let unit = match key {
                "hold" => "seconds",
                "cents" => "cents",
                _ => "",
            };
            let message =
                format!("{key} has to be a number from {} to {} {unit}", range.start(), range.end());
            self.error(&value.span(), message.trim_end())
        })
    }

    /// A whole number within `range`.
    pub(crate) fn count(&self, key: &str, range: RangeInclusive<f64>) -> Result<Option<u32>, FileError> {
        let Some(number) = self.number(key, range)? else { return Ok(None) };
        if number.fract() == 0.0 {
            Ok(Some(number as u32))
        } else {
            let span = self.value(key).map_or(self.start..self.start, Spanned::span);
            Err(self.error(&span, format!("{key} has to be a whole number")))
        }
    }

    /// The tuning that a drill or phrase, `what`, is for, if it is for one only.
    pub(crate) fn tuning(&self, what: &str, harp: Option<&Harp>) -> Result<Option<String>, FileError> {
        let Some(wanted) = self.words("tuning", LONGEST.0)? else { return Ok(None) };
        let held = harp.map_or(wanted.as_str(), |harp| harp.tuning().name());
        if wanted.eq_ignore_ascii_case(held) {
            return Ok(Some(wanted));
        }
        let span = self.value("tuning").map_or(self.start..self.start, Spanned::span);
        Err(self.error(&span, format!("this {what} is for {wanted} tuning, and this harp has {held} tuning")))
    }
}

/// What is wrong with a piece of tab, on a harp if one is in the hand; and which tuning has what this harp lacks.
pub(crate) fn not_for(harp: Option<&Harp>, error: &TabError, way: Option<Way>) -> String {
    match (&error.fault, harp) {
        (TabFault::NotTab(why), _) => format!("{:?} is no tab: {why}", error.text),
        (TabFault::Cannot(why), Some(harp)) => {
            let elsewhere = way.map_or(String::new(), |way| elsewhere(harp, way));
            format!("a {} harp cannot play {}: {why}{elsewhere}", harp.key(), error.text)
        }
        (TabFault::Cannot(why), None) => format!("no harp can play {}: {why}", error.text),
    }
}

/// At most two of our tunings in which a harp can play this way, in words; empty if there is none.
fn elsewhere(harp: &Harp, way: Way) -> String {
    let tunings = Tunings::ours();
    let has =
        |tuning: &layout::Tuning| Harp::new(harp.key(), tuning.clone(), ConcertPitch::ISO).play(way).is_ok();
    let names: Vec<&str> =
        tunings.iter().filter(|known| has(&known.tuning)).map(|known| known.tuning.name()).take(2).collect();
    if names.is_empty() { String::new() } else { format!("; {} tuning has it", names.join(" or ")) }
}
