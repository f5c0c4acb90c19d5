//! The tunings that are known by name: ours and the player's own.

use crate::{FileError, KnownTuning, UnknownName, plain_name};

/// Our tunings, the usual one first and each beside its kin.
const OURS: [&str; 11] = [
    include_str!("../../../assets/tunings/richter.toml"),
    include_str!("../../../assets/tunings/country.toml"),
    include_str!("../../../assets/tunings/major-seventh.toml"),
    include_str!("../../../assets/tunings/raised-blow-3.toml"),
    include_str!("../../../assets/tunings/dorian.toml"),
    include_str!("../../../assets/tunings/natural-minor.toml"),
    include_str!("../../../assets/tunings/harmonic-minor.toml"),
    include_str!("../../../assets/tunings/solo.toml"),
    include_str!("../../../assets/tunings/circular.toml"),
    include_str!("../../../assets/tunings/diminished.toml"),
    include_str!("../../../assets/tunings/augmented.toml"),
];

/// Tunings in the order in which they are shown.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tunings(Vec<KnownTuning>);

impl Tunings {
    /// The tunings that come with the program.
    pub fn ours() -> Self {
        // A test reads the same texts and fails if one has a mistake, so `ok` hides none.
        Self(OURS.iter().filter_map(|text| KnownTuning::read(text).ok()).collect())
    }

    /// The texts that [`Tunings::ours`] reads.
    pub fn our_texts() -> &'static [&'static str] {
        &OURS
    }

    /// Adds a tuning in the form of `assets/tunings/richter.toml`; one of the same name is replaced.
    ///
    /// # Errors
    /// As [`KnownTuning::read`]; the tunings then stay as they were.
    pub fn add(&mut self, text: &str) -> Result<(), FileError> {
        let new = KnownTuning::read(text)?;
        let name = plain_name(new.tuning.name());
        match self.0.iter_mut().find(|own| plain_name(own.tuning.name()) == name) {
            Some(own) => *own = new,
            None => self.0.push(new),
        }
        Ok(())
    }

    /// All of them in order.
    pub fn iter(&self) -> std::slice::Iter<'_, KnownTuning> {
        self.0.iter()
    }

    /// The tuning that goes by a name, in any case. Every tuning's own name is tried before any other name.
    ///
    /// A tuning that climbs without a break can be begun on another step: `circular from 1`
    /// ([`crate::Tuning::begun_on`]).
    ///
    /// # Errors
    /// If no tuning goes by it.
    pub fn find(&self, name: &str) -> Result<KnownTuning, UnknownName> {
        let own = self.0.iter().find(|known| plain_name(known.tuning.name()) == plain_name(name));
        let known = own.or_else(|| self.0.iter().find(|known| known.is_called(name)));
        known.cloned().or_else(|| self.begun(name)).ok_or_else(|| {
            let names = self.0.iter().map(|known| known.tuning.name());
            UnknownName::new(
                "tuning",
                name,
                names,
                self.0.iter().flat_map(|known| &known.also).map(String::as_str),
            )
        })
    }

    /// The tuning behind a name such as `circular from 1`.
    fn begun(&self, name: &str) -> Option<KnownTuning> {
        let name = plain_name(name);
        let (whole, step) = name.rsplit_once(" from ")?;
        let known = self.0.iter().find(|known| known.is_called(whole))?;
        let tuning = known.tuning.begun_on(step.trim().parse().ok()?)?;
        Some(KnownTuning { tuning, also: Vec::new(), ..known.clone() })
    }
}

impl<'a> IntoIterator for &'a Tunings {
    type Item = &'a KnownTuning;
    type IntoIter = std::slice::Iter<'a, KnownTuning>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}
