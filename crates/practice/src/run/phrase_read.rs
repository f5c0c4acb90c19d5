//! Reading a phrase file, with an exact place for every mistake.

use super::bars::{self, Ask};
use super::{Material, Metre, Phrase, Rhythm, Swing, Tempo};
use crate::sheet::{LONGEST, Sheet};
use layout::{FileError, Harp};
use std::fmt::Display;
use std::str::FromStr;
use theory::{Level, Position};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

const KEYS: [&str; 10] =
    ["title", "about", "caution", "tuning", "position", "needs", "metre", "tempo", "swing", "bars"];
const BARS: &str = "bars = \"\"\" with a bar on each line below it, such as quarter -4 4 half -2";

/// Reads a phrase for `harp`, or for whatever harp can play it; see [`Phrase::parse`].
pub(super) fn read(name: &str, text: &str, harp: Option<&Harp>) -> Result<Phrase, FileError> {
    let document = DeTable::parse(text).map_err(|error| FileError::from_toml(text, &error))?;
    let sheet = Sheet { text, table: document.get_ref(), start: 0 };
    sheet.only(&KEYS)?;
    let title =
        sheet.words("title", LONGEST.0)?.ok_or_else(|| sheet.missing("title = \"a name for the phrase\""))?;
    let about = sheet.words("about", LONGEST.1)?.unwrap_or_default();
    let caution = sheet.words("caution", LONGEST.1)?;
    let tuning = sheet.tuning("phrase", harp)?;
    let position: Option<Position> = parsed(&sheet, "position")?;
    let needs: Option<Level> = parsed(&sheet, "needs")?;
    let metre = parsed(&sheet, "metre")?.unwrap_or(Metre::COMMON);
    let swing = parsed(&sheet, "swing")?.unwrap_or(Swing::STRAIGHT);
    let (slowest, fastest) = Tempo::RANGE;
    let bpm = sheet.number("tempo", slowest..=fastest)?.unwrap_or(Tempo::USUAL.bpm());
    let value = sheet.value("bars").ok_or_else(|| sheet.missing(BARS))?;
    let wrong = |error: &dyn Display| sheet.error(&value.span(), error.to_string());
    let (at, written) = verbatim(&sheet, value)?;
    let notes = bars::read(&Ask { text, harp, metre, needs }, at, written)?;
    let tempo = Tempo::new(bpm).map_err(|error| wrong(&error))?;
    let starts = notes.iter().map(|note| note.start);
    let rhythm = Rhythm::of_notes(tempo, (metre, swing), starts).map_err(|error| {
        let key = sheet.value("swing").unwrap_or(value);
        sheet.error(&key.span(), error.to_string())
    })?;
    let material = Material::of_phrase(title, notes, rhythm);
    Ok(Phrase { name: name.to_owned(), about, caution, tuning, position, needs, material })
}

/// A value that is written as text or as a number.
fn parsed<T: FromStr>(sheet: &Sheet<'_>, key: &str) -> Result<Option<T>, FileError>
where
    T::Err: Display,
{
    let Some(value) = sheet.value(key) else { return Ok(None) };
    let written = match value.get_ref() {
        DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str(),
        DeValue::Float(float) => float.as_str(),
        other => match other.as_str() {
            Some(text) => text,
            None => return Err(sheet.error(&value.span(), format!("{key} has to be text in quotes"))),
        },
    };
    let read = written.parse().map_err(|error: T::Err| sheet.error(&value.span(), error.to_string()));
    read.map(Some)
}

/// The bars exactly as they stand in the file, so that every mistake in them has its place, and the byte at which they
/// begin.
fn verbatim<'a>(sheet: &Sheet<'a>, value: &Spanned<DeValue<'_>>) -> Result<(usize, &'a str), FileError> {
    let span = value.span();
    let raw = sheet.text.get(span.clone()).filter(|_| value.get_ref().as_str().is_some());
    let Some(raw) = raw else {
        return Err(sheet.error(&span, format!("bars has to be text; write {BARS}")));
    };
    let marks = if raw.starts_with("\"\"\"") || raw.starts_with("'''") { 3 } else { 1 };
    let written = raw.get(marks..raw.len().saturating_sub(marks)).unwrap_or_default();
    match written.find('\\') {
        Some(place) => {
            Err(FileError::at(sheet.text, span.start + marks + place, "a backslash means nothing in tab"))
        }
        None => Ok((span.start + marks, written)),
    }
}
