//! The marks of a tab style, printing with them, and the legend.

use super::read::plain;
use crate::words::steps;
use crate::{Breath, TabStep, Technique, UnknownName, Way};
use serde::{Deserialize, Serialize};
use std::fmt;

/// The marks that a tab style is made of, as a player may write them in a config file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct TabMarks {
    /// Mark of the blow, may be empty.
    pub blow: String,
    /// Mark of the draw, may be empty if blow has one.
    pub draw: String,
    /// Whether the breath's mark stands after the hole number instead of before it.
    pub breath_after: bool,
    /// Mark of a bend, once for every half step.
    pub bend: String,
    /// Mark of an overblow or overdraw.
    pub overbend: String,
}

/// How tab is written and read: a set of [`TabMarks`] that cannot be mistaken for one another.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TabStyle(TabMarks);

/// Marks that cannot serve.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MarksError {
    /// Bend or overbend has no mark, or neither breath has one.
    Missing(&'static str),
    /// A mark holds a digit, a space, a bracket or a control character.
    Unfit(String),
    /// One mark begins like another.
    Alike(String, String),
    /// No style of that name.
    NoStyle(String),
}

impl Default for TabMarks {
    /// `4 -4 -3'' 6o -7o`: a bare number is blow.
    fn default() -> Self {
        Self {
            blow: String::new(),
            draw: "-".to_owned(),
            breath_after: false,
            bend: "'".to_owned(),
            overbend: "o".to_owned(),
        }
    }
}

impl TabStyle {
    /// The names that [`TabStyle::named`] knows, the default first.
    pub const NAMES: [&'static str; 4] = ["signs", "flats", "arrows", "letters"];

    /// A style from its marks.
    ///
    /// # Errors
    /// If a mark is missing or unfit, or two marks could be mistaken for one another.
    pub fn new(marks: TabMarks) -> Result<Self, MarksError> {
        for (mark, what) in [(&marks.bend, "bend"), (&marks.overbend, "overbend")] {
            if mark.is_empty() {
                return Err(MarksError::Missing(what));
            }
        }
        if marks.blow.is_empty() && marks.draw.is_empty() {
            return Err(MarksError::Missing("draw"));
        }
        let all = [&marks.blow, &marks.draw, &marks.bend, &marks.overbend];
        if let Some(unfit) = all.into_iter().find(|mark| mark.chars().any(is_unfit)) {
            return Err(MarksError::Unfit(unfit.clone()));
        }
        for (i, a) in all.into_iter().enumerate().filter(|(_, mark)| !mark.is_empty()) {
            let later = all.into_iter().skip(i + 1).filter(|mark| !mark.is_empty());
            if let Some(b) = later.into_iter().find(|b| begin_alike(a, b)) {
                return Err(MarksError::Alike(a.clone(), b.clone()));
            }
        }
        Ok(Self(marks))
    }

    /// One of the styles in [`TabStyle::NAMES`]: `signs` (`4 -3'' 6o`, the default), `flats` (`4 -3bb 6o`), `arrows`
    /// (`↑4 ↓3'' ↑6o`), `letters` (`4B 3D'' 6Bo`).
    ///
    /// # Errors
    /// If there is no style of that name.
    pub fn named(name: &str) -> Result<Self, MarksError> {
        let with = |blow: &str, draw: &str, breath_after, bend: &str| {
            Self(TabMarks {
                blow: blow.to_owned(),
                draw: draw.to_owned(),
                breath_after,
                bend: bend.to_owned(),
                ..TabMarks::default()
            })
        };
        match name {
            "signs" => Ok(Self::default()),
            "flats" => Ok(with("", "-", false, "b")),
            "arrows" => Ok(with("↑", "↓", false, "'")),
            "letters" => Ok(with("B", "D", true, "'")),
            _ => Err(MarksError::NoStyle(name.to_owned())),
        }
    }

    /// The marks.
    pub fn marks(&self) -> &TabMarks {
        &self.0
    }

    /// The mark of a breath.
    pub(super) fn breath_mark(&self, breath: Breath) -> &str {
        match breath {
            Breath::Blow => &self.0.blow,
            Breath::Draw => &self.0.draw,
        }
    }

    /// One way as tab.
    pub fn print(&self, way: Way) -> String {
        let breath = self.breath_mark(way.breath);
        let (before, after) = if self.0.breath_after { ("", breath) } else { (breath, "") };
        let technique = match way.technique {
            Technique::Natural => String::new(),
            Technique::Bend(depth) => self.0.bend.repeat(usize::from(depth)),
            Technique::Overbend => self.0.overbend.clone(),
        };
        format!("{before}{}{after}{technique}", way.hole)
    }

    /// One step as tab; holes together stand in brackets.
    pub fn print_step(&self, step: &TabStep) -> String {
        match step {
            TabStep::One(way) => self.print(*way),
            TabStep::Together(ways) => {
                let inside: Vec<String> = ways.iter().map(|way| self.print(*way)).collect();
                format!("({})", inside.join(" "))
            }
        }
    }

    /// A line of tab, its steps set apart by spaces.
    pub fn print_line(&self, steps: &[TabStep]) -> String {
        steps.iter().map(|step| self.print_step(step)).collect::<Vec<_>>().join(" ")
    }

    /// The signs and what they mean, in the order in which they should be printed.
    pub fn legend(&self) -> Vec<(String, String)> {
        let way = |hole, breath, technique| Way::new(hole, breath, technique);
        let line = |way: Way, note: &str| (self.print(way), format!("{way}{note}"));
        vec![
            line(way(4, Breath::Blow, Technique::Natural), ""),
            line(way(4, Breath::Draw, Technique::Natural), ""),
            line(
                way(3, Breath::Draw, Technique::Bend(2)),
                &format!(" ({} for every {})", self.0.bend, steps(1)),
            ),
            line(way(6, Breath::Blow, Technique::Overbend), ""),
            line(way(7, Breath::Draw, Technique::Overbend), ""),
            (
                self.print_step(&TabStep::Together(
                    [4, 5].map(|hole| way(hole, Breath::Blow, Technique::Natural)).to_vec(),
                )),
                "together".to_owned(),
            ),
        ]
    }
}

/// Whether the longer of two marks begins with the shorter one, as they are read.
fn begin_alike(a: &str, b: &str) -> bool {
    a.chars().zip(b.chars()).all(|(a, b)| plain(a) == plain(b))
}

/// Whether a character may not be part of a mark.
fn is_unfit(c: char) -> bool {
    c.is_numeric() || c.is_whitespace() || c.is_control() || matches!(c, '(' | ')')
}

impl fmt::Display for MarksError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(what) => write!(f, "the tab mark for {what} is empty; give it a sign"),
            Self::Unfit(mark) => {
                write!(
                    f,
                    "{mark:?} cannot be a tab mark; use signs or letters, no digits, spaces or brackets"
                )
            }
            Self::Alike(a, b) => {
                write!(f, "the tab marks {a:?} and {b:?} begin alike; choose marks that cannot be confused")
            }
            Self::NoStyle(name) => UnknownName::new("tab style", name, TabStyle::NAMES, []).fmt(f),
        }
    }
}

impl std::error::Error for MarksError {}
