//! Programmes: what a teacher has a student practise, week by week.

mod built_in;
mod read;
mod standing;

pub use built_in::programmes;
pub use standing::{GoalStanding, SoFar, Standing};

use layout::{FileError, Harp, Tunings, Way};
use practice::Drill;
use practice::run::Phrase;
use serde::Serialize;
use std::fmt;
use theory::{Position, Scales};

/// A programme, as a teacher writes it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Programme {
    /// Short name, as given on the command line.
    pub name: String,
    /// Title for the screen.
    pub title: String,
    /// What it is good for, a sentence or two.
    pub about: String,
    /// What to take care of (breath, lips, reeds), if the programme needs it said.
    pub caution: Option<String>,
    /// The tuning it is for.
    pub tuning: String,
    /// Its weeks, one after the other; at least one.
    pub weeks: Vec<Week>,
}

/// A week of a programme.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Week {
    /// What it is about, in the teacher's words.
    pub about: String,
    /// How long to practise on a day, minutes.
    pub minutes: u32,
    /// What to practise; at least one thing.
    pub items: Vec<Item>,
    /// What to reach.
    pub goals: Vec<Goal>,
}

/// Something to practise.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Item {
    /// What it is.
    #[serde(flatten)]
    pub what: What,
    /// The names under which the journal keeps its results; of a scale the beginning of the name, which the order of
    /// notes follows.
    #[serde(skip)]
    kept: Vec<String>,
}

/// What there is to practise.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum What {
    /// A note by itself: a bend, an overblow, a plain note.
    #[serde(serialize_with = "as_tab")]
    Note(Way),
    /// A drill by its name.
    Drill(String),
    /// A phrase by its name.
    Phrase(String),
    /// A scale in a position.
    #[serde(untagged)]
    Scale {
        /// Its name.
        scale: String,
        /// The position.
        position: Position,
    },
}

/// What to reach in something that is practised.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Goal {
    /// In what.
    #[serde(flatten)]
    pub item: Item,
    /// How well.
    #[serde(flatten)]
    pub aim: Aim,
}

/// How well something is to be played.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Aim {
    /// Of a note or a drill.
    Landed {
        /// So many tries landed …
        landed: u32,
        /// … of so many, the last ones.
        of: u32,
        /// Of a note: and so many cents off at most, as the root of the mean square of all that were measured.
        #[serde(skip_serializing_if = "Option::is_none")]
        within: Option<f64>,
    },
    /// Of a scale or a phrase.
    Clean {
        /// Clean at this tempo or a faster one, beats a minute ([`crate::Past::clean_tempo`]).
        clean: f64,
    },
}

/// What the names in a programme mean: everything that is known by name.
#[derive(Clone, Copy, Debug)]
pub struct Known<'a> {
    /// The drills, whatever their harp.
    pub drills: &'a [Drill],
    /// The phrases, likewise.
    pub phrases: &'a [Phrase],
    /// The scales.
    pub scales: &'a Scales,
    /// The tunings.
    pub tunings: &'a Tunings,
}

impl Programme {
    /// Reads a programme as a teacher writes it, in TOML:
    ///
    /// ```toml
    /// title = "Two weeks of 3 draw"    # needed
    /// about = "What it is good for"    # the rest of this block may be left out
    /// caution = "What to take care of"
    /// tuning = "Richter"               # the tuning it is for; Richter if not given
    ///
    /// [[week]]                         # one such block for each week, 52 at most
    /// about = "Find it, and stay"      # may be left out
    /// minutes = 15                     # a day, 5 to 120; 15 if not given
    /// items = [                        # what to practise, 1 to 12 things
    ///   { note = "-3'" },              # a note by its tab: a bend, an overblow, a plain note
    ///   { drill = "hole-3-depths" },   # by its name
    /// ]
    /// goals = [                        # what to reach, may be left out
    ///   { note = "-3'", landed = 5, of = 10 },
    /// ]
    ///
    /// [[week]]
    /// items = [
    ///   { note = "-3'" },
    ///   { phrase = "slow-blues" },
    ///   { scale = "blues", position = 2 },
    /// ]
    /// goals = [
    ///   { note = "-3'", landed = 8, of = 10, within = 15 }, # and 15 cents off at most (see below)
    ///   { scale = "blues", position = 2, clean = 80 },      # beats a minute
    /// ]
    /// ```
    ///
    /// `landed` and `of` (10 if not given) are for notes and drills: so many of the last tries. `within` is for notes:
    /// the root of the mean square of their distances, in cents, is not more than this. The journal keeps of a day how
    /// many tries landed and the sums of distances, not each distance, so how many lie within 15 cents is not known;
    /// the root of the mean square counts every measured try, one that missed by far more than the others. `clean` is
    /// for scales and phrases.
    ///
    /// # Errors
    /// If the text is no TOML, has an unknown key, an unknown name, a value out of range, a note that a harp of the
    /// tuning cannot play, a week without items, or a goal for something that is to be practised neither in its week
    /// nor in an earlier one: the first such mistake.
    pub fn parse(name: &str, text: &str, known: &Known<'_>) -> Result<Self, FileError> {
        read::read(name, text, known)
    }

    /// Whether it is for this harp.
    pub fn suits(&self, harp: &Harp) -> bool {
        self.tuning == harp.tuning().name()
    }

    /// Which week it is: "week 3 of 12".
    pub fn place(&self, standing: &Standing<'_>) -> String {
        standing.week.map_or_else(
            || "gone through to its end".to_owned(),
            |week| format!("week {} of {}", week + 1, self.weeks.len()),
        )
    }

    /// What is to be practised at this point: the items of the week, and whatever else has an open goal of this week or
    /// an earlier one. After the last week only the latter.
    pub fn items_now<'a>(&'a self, standing: &Standing<'a>) -> Vec<&'a Item> {
        let week = standing.week.and_then(|week| self.weeks.get(week));
        let mut items: Vec<&Item> = week.iter().flat_map(|week| &week.items).collect();
        for open in standing.open() {
            if !items.contains(&&open.goal.item) {
                items.push(&open.goal.item);
            }
        }
        items
    }
}

impl Item {
    /// Whether the journal keeps the results of this item by that name.
    pub fn is_kept_as(&self, name: &str) -> bool {
        match self.what {
            What::Scale { .. } => self.kept.iter().any(|kept| name.starts_with(kept.as_str())),
            _ => self.kept.iter().any(|kept| name == kept),
        }
    }
}

impl fmt::Display for Item {
    /// "half step on 3 draw", "drill hole-3-depths", "phrase slow-blues", "blues in 2nd position".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.what {
            What::Note(way) => write!(f, "{way}"),
            What::Drill(name) => write!(f, "drill {name}"),
            What::Phrase(name) => write!(f, "phrase {name}"),
            What::Scale { scale, position } => write!(f, "{scale} in {position}"),
        }
    }
}

impl fmt::Display for Goal {
    /// "half step on 3 draw: 8 of 10 landed, typically within 15 cents", "blues in 2nd position: clean at 80".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.item, self.aim)
    }
}

impl fmt::Display for Aim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Landed { landed, of, within } => {
                write!(f, "{landed} of {of} landed")?;
                within.map_or(Ok(()), |cents| write!(f, ", typically within {cents:.0} cents"))
            }
            Self::Clean { clean } => write!(f, "clean at {clean:.0}"),
        }
    }
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde hands a reference")]
fn as_tab<S: serde::Serializer>(way: &Way, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&layout::TabStyle::default().print(*way))
}
