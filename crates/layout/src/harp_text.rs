//! A harp as a player names it: "D", "low F natural minor".

use crate::{ConcertPitch, Harp, HarpKey, KeyError, Tunings, UnknownName};
use std::fmt;

/// A text that names no harp.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HarpTextError {
    /// It does not begin with a key.
    Key(KeyError),
    /// What follows the key is no known tuning.
    Tuning(UnknownName),
    /// The text is a minor key, which makers stamp on more than one harp (the text, those harps).
    Minor(String, Vec<String>),
    /// No tunings are known at all.
    NoTunings,
}

impl Tunings {
    /// The harp of a key and a tuning, such as `A natural minor`. A key alone (`D`, `low F`) takes the first tuning of
    /// this list. The reeds are in equal temperament.
    ///
    /// ```
    /// use layout::{ConcertPitch, Tunings};
    ///
    /// let harp = Tunings::ours().harp("low F natural minor", ConcertPitch::ISO).unwrap();
    /// assert_eq!((harp.key().to_string().as_str(), harp.tuning().name()), ("low F", "natural minor"));
    /// ```
    ///
    /// # Errors
    /// If the text does not begin with a key, or what follows is no known tuning.
    pub fn harp(&self, text: &str, concert: ConcertPitch) -> Result<Harp, HarpTextError> {
        let words: Vec<&str> = text.split_whitespace().collect();
        // The key is the longest run of words at the start that names a key: "low F" of "low F natural minor".
        let split = (1..=words.len()).rev().find_map(|count| {
            let key: HarpKey = words[..count].join(" ").parse().ok()?;
            Some((key, words[count..].join(" ")))
        });
        let (key, tuning) = split.ok_or_else(|| self.no_key(text))?;
        let known = if tuning.is_empty() {
            self.iter().next().cloned().ok_or(HarpTextError::NoTunings)?
        } else {
            self.find(&tuning).map_err(|error| match self.no_key(text) {
                HarpTextError::Key(_) => HarpTextError::Tuning(error),
                // "F# minor" is a key stamped on harps: the error names those harps.
                minor => minor,
            })?
        };
        Ok(Harp::new(key, known.tuning, concert))
    }

    /// The key of a harp: what 1 blow sounds.
    ///
    /// # Errors
    /// If the text is no key. For a minor key the error says which harps bear it.
    pub fn key(&self, text: &str) -> Result<HarpKey, HarpTextError> {
        text.parse().map_err(|_| self.no_key(text))
    }

    fn no_key(&self, text: &str) -> HarpTextError {
        let asked = text.trim().to_owned();
        let stamped = self.stamped(&asked);
        if stamped.is_empty() {
            return HarpTextError::Key(KeyError(asked));
        }
        let harps = stamped.into_iter().map(|(key, known)| format!("{key} {}", known.tuning.name()));
        HarpTextError::Minor(asked, harps.collect())
    }
}

impl fmt::Display for HarpTextError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Key(error) => error.fmt(f),
            Self::Tuning(error) => error.fmt(f),
            Self::Minor(asked, harps) => write!(
                f,
                "{asked:?} can be {}; a harp goes here by the note of its 1 blow, and by its tuning",
                harps.join(", ")
            ),
            Self::NoTunings => f.write_str("no tuning is known; add one"),
        }
    }
}

impl std::error::Error for HarpTextError {}
