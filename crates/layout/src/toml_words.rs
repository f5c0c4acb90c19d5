//! What the TOML reader says, in a player's words: "a number", not `f64`.

use crate::UnknownName;

/// Longest quotation from the player's file, in characters: a message has to fit a line of the screen.
const QUOTED: usize = 40;

/// What the reader calls a mistake of form, and what to tell the player instead. The reader's words are those of the
/// crate `toml` 1.2; where they change, its own words are shown.
const MISTAKES_OF_FORM: [(&str, &str); 29] = [
    ("invalid basic string", "the text is not closed; end it with \""),
    ("invalid literal string", "the text is not closed; end it with '"),
    ("invalid multi-line basic string", "the text is not closed; end it with \"\"\""),
    ("invalid multi-line literal string", "the text is not closed; end it with '''"),
    ("string values must be quoted", "this is no number, and text needs quotes around it, such as \"A\""),
    ("invalid value", "this is no number, and text needs quotes around it, such as \"A\""),
    ("missing value", "the value is missing; write it behind the ="),
    ("missing escaped value", "a backslash begins a sign of its own here; write \\\\ for a plain one"),
    ("unclosed table", "the bracket is not closed; end it with ]"),
    ("unclosed array table", "the brackets are not closed; end them with ]]"),
    ("unclosed array", "the list is not closed; end it with ]"),
    ("unclosed inline table", "the brace is not closed; end it with }"),
    ("missing comma between array elements", "a comma is missing in the list, or the ] behind it"),
    ("missing comma between key-value pairs", "a comma is missing between the braces, or the } behind them"),
    ("extra assignment between key-value pairs", "a comma is missing between this = and the value before it"),
    ("extra comma in array", "there is a comma too many in the list"),
    ("extra comma in inline table", "there is a comma too many between the braces"),
    ("key with no value", "this is only a name; write name = value"),
    ("unquoted keys cannot be empty", "the name is missing; write name = value"),
    ("invalid unquoted key", "a name is made of letters, digits, - and _; put any other in quotes"),
    ("keys cannot be multi-line basic strings", "a name stands on one line; write name = value"),
    ("keys cannot be multi-line literal strings", "a name stands on one line; write name = value"),
    ("unexpected key or value", "the line is not over here; begin a new one, or a remark with #"),
    ("unexpected content", "this belongs to no line; write name = value, or begin a remark with #"),
    ("invalid boolean", "write true or false, in small letters"),
    ("unexpected leading zero", "a number does not begin with 0"),
    ("duplicate key", "this name stands here for the second time; keep one of the two"),
    ("integer number overflowed", "the number is too large"),
    ("floating-point number overflowed", "the number is too large"),
];

/// The reader's `message` in plain words; `written` is the piece of the file at the place of the mistake. A message
/// that is not known here stays as it is; only its control characters, which a terminal would obey, are replaced.
pub(crate) fn plain(message: &str, written: &str) -> String {
    let message = message.trim_end();
    wrong_kind(message)
        .or_else(|| unknown(message))
        .or_else(|| missing(message))
        .or_else(|| mistake_of_form(message, written))
        .unwrap_or_else(|| message.chars().map(visible).collect())
}

/// `invalid type: string "x", expected f64`.
fn wrong_kind(message: &str) -> Option<String> {
    if message == "wanted string or table" {
        return Some("text in quotes is wanted".to_owned());
    }
    let rest = message.strip_prefix("invalid type: ").or_else(|| message.strip_prefix("invalid value: "))?;
    let (found, wanted) = rest.rsplit_once(", expected ")?;
    let wanted = match wanted {
        "f32" | "f64" => "a number",
        "u8" => "a whole number from 0 to 255",
        "u16" | "u32" | "u64" | "usize" | "i8" | "i16" | "i32" | "i64" | "isize" => "a whole number",
        "a string" => "text in quotes",
        "a boolean" => "true or false",
        "a sequence" => "a list in brackets",
        "a map" => "a table",
        wanted if wanted.starts_with("struct ") => "a table",
        wanted => wanted,
    };
    let found = match found {
        "sequence" => "a list".to_owned(),
        "map" => "a table".to_owned(),
        found => match found.strip_prefix("string ") {
            Some(text) => format!("the text {}", short(text.trim_matches('"'), '"')),
            None => found.split('`').nth(1).unwrap_or(found).to_owned(),
        },
    };
    Some(format!("{wanted} is wanted, not {found}"))
}

/// ``unknown field `x`, expected one of `a`, `b` `` and the same of a variant.
fn unknown(message: &str) -> Option<String> {
    let (what, rest) = message
        .strip_prefix("unknown field `")
        .map(|rest| ("entry", rest))
        .or_else(|| message.strip_prefix("unknown variant `").map(|rest| ("choice", rest)))?;
    let (asked, known) = rest.rsplit_once("`, expected ")?;
    let known: Vec<&str> = known.split('`').skip(1).step_by(2).collect();
    let asked: String = asked.chars().take(QUOTED).collect();
    Some(UnknownName::new(what, &asked, known, []).to_string())
}

/// ``missing field `x` ``.
fn missing(message: &str) -> Option<String> {
    let name = message.strip_prefix("missing field `")?.strip_suffix('`')?;
    Some(format!("{name} is missing; add a line that begins with {name} ="))
}

fn mistake_of_form(message: &str, written: &str) -> Option<String> {
    let description = message.split(", expected ").next()?;
    let description = match description {
        "string values must be quoted" if written.trim().is_empty() => "missing value",
        other => other,
    };
    let (_, plain) = MISTAKES_OF_FORM.iter().find(|(said, _)| *said == description)?;
    Some((*plain).to_owned())
}

/// A piece of the file between quotation marks, cut where it is long.
fn short(text: &str, mark: char) -> String {
    let cut = text.chars().count() > QUOTED;
    let text: String = text.chars().take(QUOTED).map(visible).collect();
    format!("{mark}{text}{}{mark}", if cut { "…" } else { "" })
}

/// A character as it is, or a sign for one that a terminal would obey.
fn visible(c: char) -> char {
    if c.is_control() { char::REPLACEMENT_CHARACTER } else { c }
}

#[cfg(test)]
mod tests {
    use crate::read_toml;
    use serde::Deserialize;
    use std::collections::BTreeMap;
    use toml::Spanned;

    #[derive(Debug, Default, Deserialize)]
    #[serde(deny_unknown_fields, default)]
    #[allow(dead_code, reason = "only what cannot be read counts here")]
    struct Shape {
        text: String,
        number: Option<Spanned<f64>>,
        small: u8,
        yes: bool,
        list: Vec<String>,
        choice: Option<Choice>,
        table: Inner,
        names: BTreeMap<String, String>,
    }

    #[derive(Debug, Default, Deserialize)]
    #[allow(dead_code, reason = "only what cannot be read counts here")]
    struct Inner {
        needed: String,
    }

    #[derive(Debug, Deserialize)]
    #[serde(rename_all = "kebab-case")]
    enum Choice {
        Plain,
        HalfSteps,
    }

    /// Line, column and message of the mistake in a text.
    fn said(text: &str) -> (usize, usize, String) {
        let error = read_toml::<Shape>(text).unwrap_err();
        (error.line, error.column, error.message)
    }

    #[test]
    fn a_value_of_the_wrong_kind() {
        for (text, column, message) in [
            ("number = 'high'", 10, "a number is wanted, not the text \"high\""),
            ("number = [1]", 10, "a number is wanted, not a list"),
            ("number = true", 10, "a number is wanted, not true"),
            ("text = 3", 8, "text in quotes is wanted, not 3"),
            ("text = {a = 1}", 8, "text in quotes is wanted, not a table"),
            ("small = 300", 9, "a whole number from 0 to 255 is wanted, not 300"),
            ("small = 1.5", 9, "a whole number from 0 to 255 is wanted, not 1.5"),
            ("yes = 'on'", 7, "true or false is wanted, not the text \"on\""),
            ("list = 3", 8, "a list in brackets is wanted, not 3"),
            ("table = 3", 9, "a table is wanted, not 3"),
            ("names = 3", 9, "a table is wanted, not 3"),
            ("choice = 3", 10, "text in quotes is wanted"),
        ] {
            assert_eq!(said(text), (1, column, message.to_owned()), "{text}");
        }
        let long = said(&format!("number = '{}'", "ß".repeat(1000))).2;
        assert!(long.ends_with("ß…\"") && long.chars().count() < 90, "{long}");
    }

    #[test]
    fn a_name_that_is_none() {
        assert_eq!(
            said("nubmer = 3\n").2,
            "there is no entry \"nubmer\"; did you mean \"number\"? There are: text, number, small, yes, list, choice, \
             table, names"
        );
        let choice = said("choice = 'half-step'\n").2;
        assert_eq!(
            choice,
            "there is no choice \"half-step\"; did you mean \"half-steps\"? There are: plain, half-steps"
        );
        assert_eq!(said("[table]\n").2, "needed is missing; add a line that begins with needed =");
        let escape = said("\"\\u001b[2J\" = 1\n").2;
        assert!(!escape.contains('\u{1b}'), "{escape:?}");
    }

    #[test]
    fn a_mistake_of_form() {
        for (text, place, words) in [
            ("text = \"A\nyes = true\n", (1, 10), "end it with \""),
            ("text = 'A\n", (1, 10), "end it with '"),
            ("text = \"\"\"A\n", (2, 1), "end it with \"\"\""),
            ("text = '''A\n", (2, 1), "end it with '''"),
            ("text = A\n", (1, 8), "needs quotes"),
            ("number = 44O\n", (1, 10), "no number"),
            ("number = \n", (1, 10), "the value is missing"),
            ("text = \"\\q\"\n", (1, 10), "backslash"),
            ("[table\n", (1, 7), "end it with ]"),
            ("[[list\n", (1, 7), "end them with ]]"),
            ("list = ['a' 'b']\n", (1, 13), "comma is missing"),
            ("list = ['a'", (1, 12), "end it with ]"),
            ("list = [,]\n", (1, 9), "comma too many"),
            ("table = {a = 1", (1, 15), "end it with }"),
            ("table = {a = 1 b = 2}\n", (1, 18), "comma is missing"),
            ("table = {,}\n", (1, 10), "comma too many"),
            ("text \"A\"\n", (1, 6), "name = value"),
            ("= 3\n", (1, 1), "the name is missing"),
            ("\"\"\"text\"\"\" = 3\n", (1, 1), "on one line"),
            ("'''text''' = 3\n", (1, 1), "on one line"),
            ("text! = 3\n", (1, 5), "letters, digits"),
            ("text = 'A' // mine\n", (1, 12), "remark with #"),
            ("yes = True\n", (1, 7), "small letters"),
            ("small = 01\n", (1, 9), "begin with 0"),
            ("small = 1\nsmall = 2\n", (2, 1), "second time"),
            ("small = 99999999999999999999999999999999999999999\n", (1, 9), "too large"),
            ("number = 1e999\n", (1, 10), "too large"),
        ] {
            let (line, column, message) = said(text);
            assert!(message.contains(words), "{text:?}: {message}");
            assert_eq!((line, column), place, "{text:?}: {message}");
            assert!(!message.contains("expected"), "{text:?}: {message}");
        }
    }
}
