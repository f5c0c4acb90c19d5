//! When a player sees how a try goes: all the while, less and less, or only when it is over.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// When it is shown how a try goes.
///
/// Feedback at every try helps at once and may hinder what stays: of 46 adults over four days the error fell with
/// feedback at half of the tries and with feedback that faded, but not with feedback at every try (Aoyagi et al.,
/// Journal of Physical Therapy Science 31:687, 2019). Fading prolonged retention (Winstein & Schmidt, 1990). A summary
/// after several tries served best when it came after 5 to 15 of them, depending on how complex the task is (Schmidt et
/// al., 1989 and 1990, by a later abstract). An error told only beyond a band gave better relative timing than one that
/// was always told (Cruz et al., Motricidade 14, 2018): inside the tolerance this program says little. For beginners a
/// live display is justified all the same (Blanco et al., Frontiers in Psychology 12:684693, 2021), so it is what is
/// usual. The numbers of tries are ours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Feedback {
    /// Live, at every try.
    #[default]
    Always,
    /// Live at every try at first, then at every second one, then only a summary after every five.
    Fading,
    /// Nothing that moves with the pitch is shown before the verdict; then the line of the try.
    After,
}

/// Tries that are all shown live before feedback fades.
const ALL_LIVE: usize = 5;
/// Tries of which every second one is shown live.
const HALF_LIVE: usize = 10;
/// After those, this many tries at a time are told together.
const TOGETHER: usize = 5;

/// A text that names no feedback.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FeedbackError(String);

impl Feedback {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Always, Self::Fading, Self::After];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Always => "always",
            Self::Fading => "fading",
            Self::After => "after",
        }
    }

    /// The one after it, in turn.
    #[must_use]
    pub fn next(self) -> Self {
        match self {
            Self::Always => Self::Fading,
            Self::Fading => Self::After,
            Self::After => Self::Always,
        }
    }

    /// What it means, in words.
    pub fn about(self) -> &'static str {
        match self {
            Self::Always => "your pitch is shown while you play",
            Self::Fading => "your pitch is shown less and less often, at last only after every five tries",
            Self::After => "your pitch is shown when a try is over, and not before",
        }
    }

    /// Whether the pitch is shown while a try goes on, after so many tries that count.
    pub(crate) fn is_live(self, tries: usize) -> bool {
        match self {
            Self::Always => true,
            Self::After => false,
            Self::Fading => {
                let fading = tries.checked_sub(ALL_LIVE);
                fading.is_none_or(|fading| fading < HALF_LIVE && !fading.is_multiple_of(2))
            }
        }
    }

    /// How many of `tries` tries that count have been told by now, while others are still to come.
    pub(crate) fn told(self, tries: usize) -> usize {
        let together = tries.checked_sub(ALL_LIVE + HALF_LIVE).filter(|_| self == Self::Fading);
        together.map_or(tries, |together| tries - together % TOGETHER)
    }
}

impl fmt::Display for Feedback {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Feedback {
    type Err = FeedbackError;

    fn from_str(text: &str) -> Result<Self, FeedbackError> {
        let wanted = text.trim().to_lowercase();
        Self::ALL.into_iter().find(|own| own.name() == wanted).ok_or_else(|| FeedbackError(text.to_owned()))
    }
}

impl fmt::Display for FeedbackError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let all = Feedback::ALL.map(Feedback::name).join(", ");
        write!(f, "{:?} says not when your pitch is shown; there are: {all}", self.0)
    }
}

impl std::error::Error for FeedbackError {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_fades_from_every_try_to_every_second_and_to_every_five() {
        let live: String =
            (0..25).map(|tries| if Feedback::Fading.is_live(tries) { 'x' } else { '.' }).collect();
        assert_eq!(live, "xxxxx.x.x.x.x.x..........");
        let told: Vec<usize> = (13..=26).map(|tries| Feedback::Fading.told(tries)).collect();
        assert_eq!(told, [13, 14, 15, 15, 15, 15, 15, 20, 20, 20, 20, 20, 25, 25]);
        for tries in 0..50 {
            assert!(Feedback::Always.is_live(tries) && !Feedback::After.is_live(tries));
            assert_eq!([Feedback::Always, Feedback::After].map(|it| it.told(tries)), [tries; 2]);
        }
    }

    #[test]
    fn each_is_read_by_its_name_and_comes_in_turn() {
        for own in Feedback::ALL {
            assert_eq!(own.name().parse(), Ok(own));
            assert_eq!(own.next().next().next(), own);
        }
        assert!(
            "never"
                .parse::<Feedback>()
                .unwrap_err()
                .to_string()
                .ends_with("there are: always, fading, after")
        );
    }
}
