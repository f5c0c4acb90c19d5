//! Collections of things that go by names: ours and the player's own.

use layout::{FileError, UnknownName, plain_name, read_name};
use toml::Spanned;

/// Something that goes by one name and perhaps by others.
pub trait Named {
    /// What the thing is called in messages: "scale".
    const WHAT: &'static str;

    /// The name it goes by.
    fn name(&self) -> &str;

    /// Other names for it.
    fn other_names(&self) -> &[String];

    /// Whether it goes by this name, in any case; hyphens count as spaces.
    fn is_called(&self, name: &str) -> bool {
        let name = plain_name(name);
        plain_name(self.name()) == name || self.other_names().iter().any(|own| plain_name(own) == name)
    }
}

/// Things with names, in the order in which they are shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Collection<T>(Vec<T>);

impl<T> Default for Collection<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<T: Named> Collection<T> {
    /// These things and `others`. One of the others replaces the thing of the same name here.
    #[must_use]
    pub fn with(mut self, others: Self) -> Self {
        for other in others.0 {
            match self.0.iter_mut().find(|own| plain_name(own.name()) == plain_name(other.name())) {
                Some(own) => *own = other,
                None => self.0.push(other),
            }
        }
        self
    }

    /// All of them in order.
    pub fn iter(&self) -> std::slice::Iter<'_, T> {
        self.0.iter()
    }

    /// The thing that goes by a name, in any case. Every thing's own name is tried before any other name.
    ///
    /// # Errors
    /// If nothing goes by the name.
    pub fn find(&self, name: &str) -> Result<&T, UnknownName> {
        let wanted = plain_name(name);
        let own = self.0.iter().find(|thing| plain_name(thing.name()) == wanted);
        own.or_else(|| self.0.iter().find(|thing| thing.is_called(&wanted))).ok_or_else(|| {
            let also = self.0.iter().flat_map(T::other_names).map(String::as_str);
            UnknownName::new(T::WHAT, name, self.0.iter().map(T::name), also)
        })
    }

    /// Adds what a file lists, once its names are found to be new.
    pub(crate) fn push(&mut self, thing: T) {
        self.0.push(thing);
    }

    /// Refuses a name that cannot be shown, and a name that a thing further up in the file has already.
    pub(crate) fn check_names<'a>(
        &self,
        names: impl IntoIterator<Item = &'a Spanned<String>>,
        text: &str,
    ) -> Result<(), FileError> {
        for name in names {
            let said = read_name(text, T::WHAT, name)?;
            if let Some(taken) = self.0.iter().find(|thing| thing.is_called(said)) {
                let message = format!(
                    "{said:?} is a name of the {} {:?} already; choose another",
                    T::WHAT,
                    taken.name()
                );
                return Err(FileError::at_span(text, &name.span(), message));
            }
        }
        Ok(())
    }
}

/// The error at a byte offset inside a string of a TOML text.
pub(crate) fn inside(text: &str, string: &Spanned<String>, offset: usize, message: String) -> FileError {
    let start = string.span().start;
    let rest = text.get(start..).unwrap_or_default();
    // A string opens with one quotation mark, or with three and perhaps a line break that does not count.
    let opening = if rest.starts_with("\"\"\"") || rest.starts_with("'''") {
        3 + usize::from(rest[3..].starts_with('\n'))
    } else {
        1
    };
    FileError::at(text, start + opening + offset, message)
}

impl<'a, T> IntoIterator for &'a Collection<T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}
