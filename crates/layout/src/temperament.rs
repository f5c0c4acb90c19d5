//! Temperaments: how far each note of the key lies from equal temperament.

use crate::{FileError, ReedCents, Tuning, UnknownName, plain_name, read_name, read_toml};
use serde::{Deserialize, Serialize};
use toml::Spanned;

const OURS: &str = include_str!("../../../assets/temperaments.toml");

/// A temperament: cents from equal temperament for the twelve notes above the tonic of the first position.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Temperament {
    name: String,
    also: Vec<String>,
    about: String,
    cents: [f64; 12],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TemperamentFile {
    #[serde(default)]
    temperament: Vec<Entry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    name: Spanned<String>,
    #[serde(default)]
    also: Vec<Spanned<String>>,
    #[serde(default)]
    about: String,
    ratios: Option<Spanned<Vec<Spanned<String>>>>,
    cents: Option<Spanned<Vec<Spanned<f64>>>>,
}

impl Temperament {
    /// The temperaments that come with the program, equal temperament first.
    pub fn ours() -> Vec<Self> {
        // A test reads the same text and fails if it has a mistake, so `unwrap_or_default` hides none.
        Self::read(OURS).unwrap_or_default()
    }

    /// The temperaments of a TOML text in the form of `assets/temperaments.toml`.
    ///
    /// # Errors
    /// At the first mistake: no TOML, an unknown key, a name that stands there twice, a list of more or fewer than
    /// twelve notes, a word that is no ratio, an offset of 100 cents or more.
    pub fn read(text: &str) -> Result<Vec<Self>, FileError> {
        let file: TemperamentFile = read_toml(text)?;
        let mut known: Vec<Self> = Vec::new();
        for entry in file.temperament {
            entry.check_names(text, &known)?;
            known.push(entry.into_temperament(text)?);
        }
        Ok(known)
    }

    /// The temperament among `known` that goes by a name, in any case.
    ///
    /// # Errors
    /// If no temperament goes by the name.
    pub fn find<'a>(known: &'a [Self], name: &str) -> Result<&'a Self, UnknownName> {
        known.iter().find(|temperament| temperament.is_called(name)).ok_or_else(|| {
            let names = known.iter().map(|temperament| temperament.name.as_str());
            let also = known.iter().flat_map(|temperament| &temperament.also).map(String::as_str);
            UnknownName::new("temperament", name, names, also)
        })
    }

    /// Whether it goes by this name, in any case; hyphens count as spaces.
    fn is_called(&self, name: &str) -> bool {
        let name = plain_name(name);
        plain_name(&self.name) == name || self.also.iter().any(|own| plain_name(own) == name)
    }

    /// The name it goes by.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Other names it goes by.
    pub fn other_names(&self) -> &[String] {
        &self.also
    }

    /// What it is good for, a sentence or two.
    pub fn about(&self) -> &str {
        &self.about
    }

    /// Cents from equal temperament for each semitone above the tonic of the first position.
    pub fn cents(&self) -> &[f64; 12] {
        &self.cents
    }

    /// The offsets it gives the reeds of a tuning; they are the same in every key.
    pub fn reed_cents(&self, tuning: &Tuning) -> ReedCents {
        let side = |reeds: &[i8]| {
            let above_home =
                |reed: &i8| (i32::from(*reed) - i32::from(tuning.home())).rem_euclid(12) as usize;
            reeds.iter().map(|reed| self.cents[above_home(reed)]).collect()
        };
        ReedCents { blow: side(tuning.blow()), draw: side(tuning.draw()) }
    }
}

impl Entry {
    /// Refuses a name that cannot be shown, and a name that a temperament further up in the file has already.
    fn check_names(&self, text: &str, known: &[Temperament]) -> Result<(), FileError> {
        for name in std::iter::once(&self.name).chain(&self.also) {
            let said = read_name(text, "temperament", name)?;
            if let Some(taken) = known.iter().find(|temperament| temperament.is_called(said)) {
                let message =
                    format!("{said:?} is a name of the temperament {:?} already; choose another", taken.name);
                return Err(FileError::at_span(text, &name.span(), message));
            }
        }
        Ok(())
    }

    fn into_temperament(self, text: &str) -> Result<Temperament, FileError> {
        let wrong = |span: &std::ops::Range<usize>, message: String| FileError::at_span(text, span, message);
        let name = self.name.get_ref().trim().to_owned();
        let (list, offsets) = match (&self.ratios, &self.cents) {
            (Some(ratios), None) => (ratios.span(), from_ratios(text, ratios)?),
            (None, Some(cents)) => (cents.span(), from_cents(text, cents)?),
            _ => {
                let message = format!("{name:?} needs either ratios or cents, twelve of them");
                return Err(wrong(&self.name.span(), message));
            }
        };
        let count = offsets.len();
        let cents = offsets.try_into().map_err(|_| {
            wrong(&list, format!("{count} notes; give twelve, for each half step from the tonic up"))
        })?;
        let also = self.also.into_iter().map(Spanned::into_inner).collect();
        Ok(Temperament { name, also, about: self.about, cents })
    }
}

/// Offsets from frequency ratios above the tonic: Ellis's cents, `1200·log2(ratio)`, less 100 for each half step.
fn from_ratios(text: &str, list: &Spanned<Vec<Spanned<String>>>) -> Result<Vec<f64>, FileError> {
    let offset = |(half_steps, word): (usize, &Spanned<String>)| {
        let ratio = word.get_ref().split_once('/').and_then(|(above, below)| {
            let (above, below): (u32, u32) = (above.trim().parse().ok()?, below.trim().parse().ok()?);
            (above > 0 && below > 0).then(|| f64::from(above) / f64::from(below))
        });
        let ratio = ratio.ok_or_else(|| {
            let message =
                format!("{:?} is no ratio; write two whole numbers above 0, such as 3/2", word.get_ref());
            FileError::at_span(text, &word.span(), message)
        })?;
        within_reach(text, word, 1200.0 * ratio.log2() - 100.0 * half_steps as f64)
    };
    list.get_ref().iter().enumerate().map(offset).collect()
}

fn from_cents(text: &str, list: &Spanned<Vec<Spanned<f64>>>) -> Result<Vec<f64>, FileError> {
    list.get_ref().iter().map(|cents| within_reach(text, cents, *cents.get_ref())).collect()
}

/// Passes an offset of less than a half step.
fn within_reach<T>(text: &str, place: &Spanned<T>, cents: f64) -> Result<f64, FileError> {
    if cents.abs() < 100.0 {
        return Ok(cents);
    }
    let message =
        format!("that lies {cents:.1} cents from equal temperament; stay below a half step, 100 cents");
    Err(FileError::at_span(text, &place.span(), message))
}
