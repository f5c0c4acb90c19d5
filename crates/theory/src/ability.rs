//! What a player commands.

use layout::{Breath, Harp, Note, TabError, TabStyle, Technique, UnknownName, Way, plain_name};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// How well a player commands a way to play.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mastery {
    /// It cannot be counted on at all.
    NotYet,
    /// It comes, but not every time.
    Learning,
    /// It can be counted on.
    Sure,
}

/// A named level: what a player commands where nothing is said of a single way.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// Natural notes only.
    Plain,
    /// Draw bends by a half step as well.
    HalfSteps,
    /// Draw bends of every depth as well.
    #[default]
    DrawBends,
    /// Blow bends as well.
    Bends,
    /// Overblows on holes 4, 5 and 6 as well.
    Overblows,
    /// Every overblow and overdraw as well.
    Everything,
}

/// What a player commands: a level, and single ways that depart from it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "AbilityWords", into = "AbilityWords")]
pub struct Ability {
    level: Level,
    single: BTreeMap<Way, Mastery>,
}

/// A text that describes no ability: what is wrong and what is allowed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AbilityError(String);

/// An ability as it stands in a config file: the level's name, and lines of tab in the default style.
#[derive(Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
struct AbilityWords {
    level: Level,
    #[serde(skip_serializing_if = "TabWays::is_empty")]
    sure: TabWays,
    #[serde(skip_serializing_if = "TabWays::is_empty")]
    learning: TabWays,
    #[serde(skip_serializing_if = "TabWays::is_empty")]
    not_yet: TabWays,
}

/// A line of tab, read.
#[derive(Clone, Default, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
struct TabWays(Vec<Way>);

impl Level {
    /// All of them, from the least to the most.
    pub const ALL: [Self; 6] =
        [Self::Plain, Self::HalfSteps, Self::DrawBends, Self::Bends, Self::Overblows, Self::Everything];

    /// The name, as it stands in a config file.
    pub fn name(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::HalfSteps => "half-steps",
            Self::DrawBends => "draw-bends",
            Self::Bends => "bends",
            Self::Overblows => "overblows",
            Self::Everything => "everything",
        }
    }

    /// What it means, in words.
    pub fn about(self) -> &'static str {
        match self {
            Self::Plain => "natural notes only",
            Self::HalfSteps => "natural notes and draw bends by a half step",
            Self::DrawBends => "natural notes and draw bends of every depth",
            Self::Bends => "natural notes, draw bends and blow bends",
            Self::Overblows => "every bend, and the overblows on holes 4, 5 and 6",
            Self::Everything => "every bend, overblow and overdraw",
        }
    }

    /// Whether the level includes a way.
    pub fn includes(self, way: Way) -> bool {
        let least = match (way.technique, way.breath) {
            (Technique::Natural, _) => Self::Plain,
            (Technique::Bend(0 | 1), Breath::Draw) => Self::HalfSteps,
            (Technique::Bend(_), Breath::Draw) => Self::DrawBends,
            (Technique::Bend(_), Breath::Blow) => Self::Bends,
            (Technique::Overbend, Breath::Blow) if (4..=6).contains(&way.hole) => Self::Overblows,
            (Technique::Overbend, _) => Self::Everything,
        };
        self >= least
    }
}

impl Ability {
    /// An ability that is just a level.
    pub fn new(level: Level) -> Self {
        Self { level, single: BTreeMap::new() }
    }

    /// The same ability with `command` for one way. A natural note is always commanded and stays so.
    #[must_use]
    pub fn with(mut self, way: Way, command: Mastery) -> Self {
        if way.technique != Technique::Natural {
            self.single.insert(way, command);
        }
        self
    }

    /// The level.
    pub fn level(&self) -> Level {
        self.level
    }

    /// The ways that depart from the level, hole by hole.
    pub fn departures(&self) -> impl Iterator<Item = (Way, Mastery)> + '_ {
        self.single.iter().map(|(way, command)| (*way, *command)).filter(|(way, command)| {
            *command != if self.level.includes(*way) { Mastery::Sure } else { Mastery::NotYet }
        })
    }

    /// Whether this way has an entry of its own, even one that says the same as the level.
    pub fn speaks_of(&self, way: Way) -> bool {
        self.single.contains_key(&way)
    }

    /// How well the player commands a way.
    pub fn mastery(&self, way: Way) -> Mastery {
        let by_level = if self.level.includes(way) { Mastery::Sure } else { Mastery::NotYet };
        self.single.get(&way).copied().unwrap_or(by_level)
    }

    /// Whether the player reaches a way at all, if only sometimes.
    pub fn reaches(&self, way: Way) -> bool {
        self.mastery(way) > Mastery::NotYet
    }

    /// What the same player commands on another level. A higher level keeps the single ways that are commanded better
    /// than the new level says; a lower level keeps those that are commanded less well than it says. So a higher level
    /// never reaches less.
    #[must_use]
    pub fn on_level(&self, level: Level) -> Self {
        let departs = |way: Way, command: Mastery| {
            let by_level = if level.includes(way) { Mastery::Sure } else { Mastery::NotYet };
            if level > self.level { command > by_level } else { command < by_level }
        };
        let single =
            self.single.iter().filter(|(way, command)| level == self.level || departs(**way, **command));
        Self { level, single: single.map(|(way, command)| (*way, *command)).collect() }
    }

    /// The ways to sound a note that are worth telling this player: those in reach, the cheapest first
    /// ([`crate::cost`]). Where none is in reach, it is the simplest way that the harp has. So an overblow is offered
    /// beside a natural note only to those who command it.
    ///
    /// ```
    /// use layout::{Harp, TabStyle};
    /// use theory::{Ability, Level};
    ///
    /// let harp = Harp::richter("C".parse().unwrap());
    /// let ways = |level| {
    ///     let ways = Ability::new(level).ways_to(&harp, "C5".parse().unwrap());
    ///     ways.into_iter().map(|way| TabStyle::default().print(way)).collect::<Vec<_>>().join(" or ")
    /// };
    /// assert_eq!(ways(Level::Bends), "4");
    /// assert_eq!(ways(Level::Everything), "4 or 3o");
    /// ```
    pub fn ways_to(&self, harp: &Harp, note: Note) -> Vec<Way> {
        let all = harp.ways_to(note);
        let mut reached: Vec<(u32, Way)> =
            all.iter().filter_map(|way| Some((crate::cost(harp, *way, self)?, *way))).collect();
        if reached.is_empty() {
            return all.into_iter().take(1).collect();
        }
        reached.sort_by_key(|(cost, _)| *cost);
        reached.into_iter().map(|(_, way)| way).collect()
    }

    /// The ways of a harp that the player can reach, in the order of [`Harp::ways`].
    pub fn ways<'a>(&'a self, harp: &'a Harp) -> impl Iterator<Item = Way> + 'a {
        harp.ways().filter(|way| self.reaches(*way))
    }
}

impl TryFrom<AbilityWords> for Ability {
    type Error = AbilityError;

    fn try_from(words: AbilityWords) -> Result<Self, AbilityError> {
        let lists = [
            (words.sure, Mastery::Sure),
            (words.learning, Mastery::Learning),
            (words.not_yet, Mastery::NotYet),
        ];
        let mut ability = Self::new(words.level);
        for (TabWays(ways), command) in lists {
            for way in ways {
                if ability.single.insert(way, command).is_some() {
                    let tab = TabStyle::default().print(way);
                    return Err(AbilityError(format!("{tab} is listed twice; list it once")));
                }
            }
        }
        Ok(ability)
    }
}

impl From<Ability> for AbilityWords {
    fn from(ability: Ability) -> Self {
        let ways = |command| {
            let ways = ability.departures().filter(|(_, own)| *own == command);
            TabWays(ways.map(|(way, _)| way).collect())
        };
        Self {
            level: ability.level,
            sure: ways(Mastery::Sure),
            learning: ways(Mastery::Learning),
            not_yet: ways(Mastery::NotYet),
        }
    }
}

impl TabWays {
    fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl From<TabWays> for String {
    fn from(TabWays(ways): TabWays) -> Self {
        ways.into_iter().map(|way| TabStyle::default().print(way)).collect::<Vec<_>>().join(" ")
    }
}

impl TryFrom<String> for TabWays {
    type Error = AbilityError;

    fn try_from(line: String) -> Result<Self, AbilityError> {
        ways(&line).map(Self)
    }
}

/// The ways of a line of tab, each of which has to ask for a technique.
fn ways(line: &str) -> Result<Vec<Way>, AbilityError> {
    let steps =
        TabStyle::default().read_line(line).map_err(|error: TabError| AbilityError(error.reason()))?;
    let ways: Vec<Way> = steps.iter().flat_map(|step| step.ways().iter().copied()).collect();
    match ways.iter().find(|way| way.technique == Technique::Natural) {
        Some(natural) => Err(AbilityError(format!(
            "{natural} needs no technique and is always counted on; list bends and overbends, such as -3'' or 6o"
        ))),
        None => Ok(ways),
    }
}

impl std::str::FromStr for Level {
    type Err = AbilityError;

    /// Reads a level's name, in any case, spaces for hyphens.
    fn from_str(text: &str) -> Result<Self, AbilityError> {
        let wanted = plain_name(text);
        Self::ALL.into_iter().find(|level| plain_name(level.name()) == wanted).ok_or_else(|| {
            AbilityError(UnknownName::new("level", text, Self::ALL.map(Self::name), []).to_string())
        })
    }
}

impl std::str::FromStr for Ability {
    type Err = AbilityError;

    /// Reads a level, and after a comma what is commanded besides: `draw-bends, 8' 6o`.
    fn from_str(text: &str) -> Result<Self, AbilityError> {
        let (level, besides) = text.split_once(',').unwrap_or((text, ""));
        let start = Self::new(level.parse()?);
        Ok(ways(besides)?.into_iter().fold(start, |ability, way| ability.with(way, Mastery::Sure)))
    }
}

impl fmt::Display for Ability {
    /// "draw-bends", "draw-bends, 8' 6o, learning -3''', not -2''".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.level.name())?;
        let words = AbilityWords::from(self.clone());
        for (word, ways) in [("", words.sure), ("learning ", words.learning), ("not ", words.not_yet)] {
            if !ways.is_empty() {
                write!(f, ", {word}{}", String::from(ways))?;
            }
        }
        Ok(())
    }
}

impl fmt::Display for AbilityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for AbilityError {}
