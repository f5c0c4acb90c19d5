//! Names that players type: how they are compared, and what is said when there is no such name.

use std::fmt;

/// How many letters a typed name has for each mistake that is forgiven. One mistake in three letters lets `bleus` be
/// `blues`, and keeps a name of one or two letters, such as a key, from being taken for another one.
const LETTERS_PER_MISTAKE: usize = 3;

/// A name that nothing goes by, with what can be said instead.
///
/// ```
/// use layout::Tunings;
///
/// let error = Tunings::ours().find("cuontry").unwrap_err();
/// assert!(error.to_string().starts_with("there is no tuning \"cuontry\"; did you mean \"country\"? There are: Richter,"));
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownName {
    /// What was looked for: "scale".
    pub what: &'static str,
    /// The name asked for.
    pub asked: String,
    /// The name that was probably meant.
    pub nearest: Option<String>,
    /// The names that are known, other names for the same things left out.
    pub known: Vec<String>,
}

impl UnknownName {
    /// What to say of a name that no `what` goes by. `known` are the names to list. `also` are the other names for the
    /// same things; one of them is told only if it lies nearest.
    pub fn new<'a>(
        what: &'static str,
        asked: &str,
        known: impl IntoIterator<Item = &'a str>,
        also: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        let known: Vec<&str> = known.into_iter().collect();
        let nearest = nearest_name(asked, known.iter().copied().chain(also));
        Self {
            what,
            asked: asked.to_owned(),
            nearest: nearest.map(str::to_owned),
            known: known.into_iter().map(str::to_owned).collect(),
        }
    }
}

/// A name as it is compared: small letters, spaces for hyphens, `#` and `b` for the signs of sharp and flat.
pub fn plain_name(name: &str) -> String {
    name.trim().to_lowercase().replace('-', " ").replace('♯', "#").replace('♭', "b")
}

/// The name among `known` that was probably meant by `asked`: the one with the fewest letters wrong, missing, too many
/// or changed round, if those are at most a third of the letters typed; or else the one that begins with `asked`, if
/// `asked` has at least three letters. Of several such names it is the one with which all of them begin. `None` if
/// there is no such name.
///
/// ```
/// use layout::nearest_name;
///
/// let scales = ["major", "blues", "major blues", "Mixolydian"];
/// assert_eq!(nearest_name("bleus", scales), Some("blues"));
/// assert_eq!(nearest_name("mixo", scales), Some("Mixolydian"));
/// assert_eq!(nearest_name("x", scales), None);
/// ```
pub fn nearest_name<'a>(asked: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let asked = plain_name(asked);
    let letters = asked.chars().count();
    let known: Vec<(&str, String)> = known.into_iter().map(|name| (name, plain_name(name))).collect();
    let mistakes = |plain: &str| strsim::damerau_levenshtein(&asked, plain);
    let fewest = known.iter().map(|(_, plain)| mistakes(plain)).min()?;
    if fewest <= letters / LETTERS_PER_MISTAKE {
        return shortest(known.iter().filter(|(_, plain)| mistakes(plain) == fewest));
    }
    let begins = |plain: &str| letters >= LETTERS_PER_MISTAKE && plain.starts_with(&asked);
    shortest(known.iter().filter(|(_, plain)| begins(plain)))
}

/// The one name of some with which all of them begin: `Mixolydian` of `Mixolydian` and `Mixolydian b6`.
fn shortest<'a: 'b, 'b>(names: impl Iterator<Item = &'b (&'a str, String)>) -> Option<&'a str> {
    let names: Vec<_> = names.collect();
    let (name, plain) = names.iter().min_by_key(|(_, plain)| plain.len())?;
    names.iter().all(|(_, other)| other.starts_with(plain.as_str())).then_some(*name)
}

/// Names in a row. All of them stand in quotation marks if one holds a comma, so that it is plain where each ends.
fn listed(names: &[String]) -> String {
    let quoted = names.iter().any(|name| name.contains(','));
    let said = |name: &String| if quoted { format!("{name:?}") } else { name.clone() };
    names.iter().map(said).collect::<Vec<_>>().join(", ")
}

impl fmt::Display for UnknownName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "there is no {} {:?}; ", self.what, self.asked)?;
        match &self.nearest {
            Some(nearest) => write!(f, "did you mean {nearest:?}? There are: ")?,
            None => f.write_str("there are: ")?,
        }
        f.write_str(&listed(&self.known))
    }
}

impl std::error::Error for UnknownName {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_fingers_is_seen_through() {
        let names = ["natural minor", "harmonic minor", "melodic minor", "blues", "Locrian #2"];
        for (asked, nearest) in [
            ("nautral minor", "natural minor"),
            ("harmonc-minor", "harmonic minor"),
            ("BLUSE", "blues"),
            ("locrian ♯3", "Locrian #2"),
            ("melo", "melodic minor"),
        ] {
            assert_eq!(nearest_name(asked, names), Some(nearest), "{asked}");
        }
        for asked in ["", "x", "tango", "bl", "minor"] {
            assert_eq!(nearest_name(asked, names), None, "{asked}");
        }
    }

    #[test]
    fn nothing_is_guessed_between_equally_near_names() {
        assert_eq!(nearest_name("low H", ["low A", "low B", "low C"]), None);
        assert_eq!(nearest_name("lwo A", ["low A", "low B", "low C"]), Some("low A"));
        assert_eq!(nearest_name("nat", ["natural minor", "Natural-Minor"]), Some("natural minor"));
    }

    #[test]
    fn names_with_commas_are_quoted() {
        let said = |known: [&str; 2]| UnknownName::new("temperament", "odd", known, []).to_string();
        assert_eq!(said(["equal", "just"]), "there is no temperament \"odd\"; there are: equal, just");
        assert_eq!(
            said(["equal", "just, first position"]),
            "there is no temperament \"odd\"; there are: \"equal\", \"just, first position\""
        );
    }
}
