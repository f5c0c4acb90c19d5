//! A mistake in a file that a player wrote.

use crate::toml_words::plain;
use serde::de::DeserializeOwned;
use std::fmt;
use std::ops::Range;
use toml::Spanned;

/// A mistake in a TOML file: where it is, what is wrong and what is allowed. The caller knows the file's name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileError {
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    /// What is wrong and what is allowed, in plain words.
    pub message: String,
}

impl FileError {
    /// An error at a byte offset into `text`. An offset inside a character counts as the start of that character, an
    /// offset beyond the end as the end.
    pub fn at(text: &str, offset: usize, message: impl Into<String>) -> Self {
        let before = &text[..text.floor_char_boundary(offset)];
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        Self {
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            message: message.into(),
        }
    }

    /// An error at the start of a span of bytes, as [`toml::Spanned::span`] gives it.
    pub fn at_span(text: &str, span: &Range<usize>, message: impl Into<String>) -> Self {
        Self::at(text, span.start, message)
    }

    /// What the TOML reader found wrong in `text`, in plain words; without a span it is put at the beginning.
    pub fn from_toml(text: &str, error: &toml::de::Error) -> Self {
        let span = error.span().unwrap_or(0..0);
        let written = text.get(span.clone()).unwrap_or_default();
        Self::at_span(text, &span, plain(error.message(), written))
    }
}

/// Reads a TOML text into `T`, with the place of the first mistake.
///
/// # Errors
/// If the text is no TOML or does not have the shape of `T`.
pub fn read_toml<T: DeserializeOwned>(text: &str) -> Result<T, FileError> {
    toml::from_str(text).map_err(|error| FileError::from_toml(text, &error))
}

/// A name in a file, without the space around it. `what` says in the message what bears the name: "tuning".
///
/// # Errors
/// If the name is empty, or holds a control character, which a terminal would obey where the name is shown.
pub fn read_name<'a>(text: &str, what: &str, name: &'a Spanned<String>) -> Result<&'a str, FileError> {
    let said = name.get_ref().trim();
    let wrong = if said.is_empty() {
        "of at least one character"
    } else if said.chars().any(char::is_control) {
        "without control characters"
    } else {
        return Ok(said);
    };
    Err(FileError::at_span(text, &name.span(), format!("a {what} needs a name {wrong}")))
}

impl fmt::Display for FileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}, column {}: {}", self.line, self.column, self.message)
    }
}

impl std::error::Error for FileError {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_and_columns_count_characters_from_one() {
        let text = "a = 1\nß♭ = x\n";
        let place = |offset| {
            let error = FileError::at(text, offset, "");
            (error.line, error.column)
        };
        assert_eq!(place(0), (1, 1));
        assert_eq!(place(4), (1, 5));
        assert_eq!(place(6), (2, 1));
        assert_eq!(place(7), (2, 1), "inside the ß");
        assert_eq!(place(8), (2, 2));
        assert_eq!(place(11), (2, 3));
        assert_eq!(place(9999), (3, 1));
    }

    #[test]
    fn a_name_is_something_that_can_be_shown() {
        #[derive(serde::Deserialize)]
        struct Named {
            name: Spanned<String>,
        }
        let read = |text: &str| {
            let named: Named = read_toml(text)?;
            read_name(text, "tuning", &named.name).map(str::to_owned)
        };
        assert_eq!(read("name = ' my own '").unwrap(), "my own");
        for (text, word) in [("name = ''", "one character"), ("name = \"a\\u001b[2J\"", "control")] {
            let error = read(text).unwrap_err();
            assert!(error.column == 8 && error.message.contains(word), "{error}");
        }
    }

    #[test]
    fn the_toml_reader_says_where_and_what() {
        #[derive(Debug, serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        struct Shape {
            #[serde(rename = "holes")]
            _holes: u8,
        }
        let error = read_toml::<Shape>("holes = 4\n  hoels = 5\n").unwrap_err();
        assert_eq!((error.line, error.column), (2, 3));
        assert!(error.message.contains("hoels") && error.message.contains("holes"), "{error}");
        let error = read_toml::<Shape>("holes = \n").unwrap_err();
        assert_eq!(error.line, 1);
        assert!(read_toml::<Shape>("").unwrap_err().message.contains("holes"));
    }
}
