//! What the list offers to be played in time, and a line of the list: a drill, or something in time.

use crate::desk::LastTime;
use crate::mapping::{Library, over_home, plan_of};
use crate::words;
use layout::{Harp, Way};
use practice::run::{
    Material, Metre, Over, Phrase, Plan, Rhythm, RunName, ScaleRun, Shape, Swing, Tempo, Value,
};
use practice::{Drill, Item, NotForHarp};
use scoring::timed::AskedNote;
use std::collections::HashMap;
use theory::{FirstScale, Position, ScaleInKey};

/// Something to be played in time.
#[derive(Clone, Debug, PartialEq)]
pub enum InTime {
    /// The scale with which a position is begun, up and down.
    Scale(FirstScale),
    /// A scale that a programme asks for, up and down, over the whole harp.
    Asked(String, Position),
    /// A phrase.
    Phrase(Box<Phrase>),
}

impl InTime {
    /// What comes with the program: the first scale of each position that has one, and the phrases.
    pub fn ours() -> Vec<Self> {
        let phrases = practice::built_in_phrases().iter();
        Self::with(phrases.filter_map(|(name, text)| Phrase::read(name, text).ok()))
    }

    /// The first scales, and these phrases.
    pub fn with(phrases: impl IntoIterator<Item = Phrase>) -> Vec<Self> {
        FirstScale::all()
            .map(Self::Scale)
            .chain(phrases.into_iter().map(|phrase| Self::Phrase(Box::new(phrase))))
            .collect()
    }

    /// Whether it is this scale in this position.
    pub(crate) fn is_scale(&self, name: &str, in_position: Position) -> bool {
        match self {
            Self::Scale(first) => first.scale == name && first.position() == in_position,
            Self::Asked(scale, position) => scale == name && *position == in_position,
            Self::Phrase(_) => false,
        }
    }

    /// What its runs are called on this harp.
    fn name(&self, harp: &Harp, library: &Library) -> Option<RunName> {
        match self {
            Self::Phrase(phrase) => Some(phrase.material.name.clone()),
            Self::Scale(first) => Some(RunName::of_scale(&first_key(*first, harp, library)?, SHAPE, harp)),
            Self::Asked(scale, position) => {
                Some(RunName::of_scale(&key(scale, *position, (harp, library))?, SHAPE, harp))
            }
        }
    }

    /// What is played on this harp, at the tempo remembered for it. A scale goes without the notes that the player does
    /// not command. `None` if nothing is left to play.
    fn material(&self, harp: &Harp, (library, (lately, last)): (&Library, Tempos<'_>)) -> Option<Material> {
        let remembered = || last.get(&kept(&self.name(harp, library)?))?.goes_on_at();
        let (key, range) = match self {
            Self::Phrase(phrase) => {
                let material = phrase.material.clone();
                return Some(match remembered() {
                    Some(tempo) => material.at(tempo),
                    None => material,
                });
            }
            Self::Scale(first) => (first_key(*first, harp, library)?, Some(first.range(harp)?)),
            Self::Asked(scale, position) => (key(scale, *position, (harp, library))?, None),
        };
        let run = ScaleRun { key: &key, shape: SHAPE, range, ability: &library.ability, seed: 0 };
        let tempo = remembered().or(lately).unwrap_or(Tempo::USUAL);
        let rhythm = Rhythm::new(tempo, Metre::COMMON, Value::EIGHTHS, Swing::STRAIGHT).ok()?;
        run.material(harp, rhythm).ok()
    }

    /// The band that suits it; `None` of a phrase that does not say in which position it is thought.
    fn over(&self, harp: &Harp, library: &Library, material: &Material) -> Option<Over> {
        let key = match self {
            Self::Scale(first) => first_key(*first, harp, library)?,
            Self::Asked(scale, position) => key(scale, *position, (harp, library))?,
            Self::Phrase(phrase) => key(PLAIN, phrase.position?, (harp, library))?,
        };
        over_home(&library.progressions, (&key, harp), material)
    }
}

/// The tempo of the last run, and the last result of each run by the name it is kept as.
type Tempos<'a> = (Option<Tempo>, &'a HashMap<String, LastTime>);

/// What the results of a run are kept as.
fn kept(name: &RunName) -> String {
    format!("run {}", name.kept_as)
}

/// The scale from which the chords under a phrase are written.
const PLAIN: &str = "major";
/// The order in which a first scale is played.
const SHAPE: Shape = Shape::Both;

/// A first scale on this harp.
fn first_key(first: FirstScale, harp: &Harp, library: &Library) -> Option<ScaleInKey> {
    key(first.scale, first.position(), (harp, library))
}

/// A scale in a position of this harp.
fn key(scale: &str, position: Position, (harp, library): (&Harp, &Library)) -> Option<ScaleInKey> {
    let scale = library.scales.find(scale).ok()?.clone();
    Some(ScaleInKey::in_position(scale, harp, position))
}

/// A line of the list.
#[derive(Clone, Copy)]
pub(crate) enum Listed<'a> {
    /// A drill.
    Drill(&'a Drill),
    /// Something in time, with what it is made from.
    InTime(&'a InTime, &'a Library, Tempos<'a>),
}

impl Listed<'_> {
    /// What a drill is called.
    pub(crate) const DRILL: &'static str = "drill";

    /// What it is called in a sentence.
    pub(crate) fn what(self) -> &'static str {
        match self {
            Self::Drill(_) => Self::DRILL,
            Self::InTime(InTime::Phrase(_), ..) => "phrase",
            Self::InTime(InTime::Scale(_) | InTime::Asked(..), ..) => "scale",
        }
    }

    /// What tells it from the others of its kind.
    pub(crate) fn name(self) -> (&'static str, String) {
        let name = match self {
            Self::Drill(drill) => drill.name.clone(),
            Self::InTime(InTime::Phrase(phrase), ..) => phrase.name.clone(),
            Self::InTime(InTime::Scale(_) | InTime::Asked(..), ..) => self.title(),
        };
        (self.what(), name)
    }

    /// Its title, true on a harp of any key.
    pub(crate) fn title(self) -> String {
        match self {
            Self::Drill(drill) => drill.title.clone(),
            Self::InTime(InTime::Phrase(phrase), ..) => phrase.material.name.title.clone(),
            Self::InTime(InTime::Scale(first), ..) => format!("{}: {}", first.position(), first.scale),
            Self::InTime(InTime::Asked(scale, position), ..) => format!("{position}: {scale}"),
        }
    }

    /// What its results are kept as: see [`crate::App::remember`]. `None` where there is nothing to play.
    pub(crate) fn kept_as(self, harp: &Harp) -> Option<String> {
        match self {
            Self::Drill(drill) => Some(format!("drill {}", drill.name)),
            Self::InTime(in_time, library, _) => Some(kept(&in_time.name(harp, library)?)),
        }
    }

    /// What it is good for.
    pub(crate) fn about(&self) -> &str {
        match self {
            Self::Drill(drill) => &drill.about,
            Self::InTime(InTime::Phrase(phrase), ..) => &phrase.about,
            Self::InTime(InTime::Scale(first), ..) => first.about,
            Self::InTime(InTime::Asked(..), ..) => "Over the whole harp, as your programme asks for it.",
        }
    }

    /// What to take care of, if that is said.
    pub(crate) fn caution(&self) -> Option<&str> {
        match self {
            Self::Drill(drill) => drill.caution.as_deref(),
            Self::InTime(InTime::Phrase(phrase), ..) => phrase.caution.as_deref(),
            Self::InTime(InTime::Scale(_) | InTime::Asked(..), ..) => None,
        }
    }

    /// How much it is.
    pub(crate) fn size(self, harp: &Harp) -> String {
        match self {
            Self::Drill(drill) => words::size(drill),
            Self::InTime(in_time, library, tempo) => {
                let material = in_time.material(harp, (library, tempo));
                material.as_ref().map_or("nothing that you command".to_owned(), words::size_in_time)
            }
        }
    }

    /// The position in which it is thought, and what it asks the player to command; nothing where neither is said.
    pub(crate) fn needs(self) -> Option<String> {
        let Self::InTime(InTime::Phrase(phrase), ..) = self else { return None };
        let position = phrase.position.map(|position| position.to_string());
        let needs = phrase.needs.map(|level| format!("it asks for {}", level.about()));
        let both: Vec<String> = position.into_iter().chain(needs).collect();
        (!both.is_empty()).then(|| both.join("; "))
    }

    /// The ways it asks for, row by row with how each is played: the items of a drill, the bars of what is
    /// played in time.
    pub(crate) fn rows(self, harp: &Harp) -> Vec<(Vec<Way>, String)> {
        let (in_time, library, tempo) = match self {
            Self::Drill(drill) => {
                let row = |item: &Item| (item.ways().collect(), words::item(item));
                return drill.items.iter().map(row).collect();
            }
            Self::InTime(in_time, library, tempo) => (in_time, library, tempo),
        };
        let Some(material) = in_time.material(harp, (library, tempo)) else { return Vec::new() };
        let asked = material.asked(harp);
        let bar = |bar| {
            let of_bar = asked.iter().filter(|note| note.bar == bar);
            (of_bar.flat_map(AskedNote::ways).collect(), String::new())
        };
        (0..material.bars()).map(bar).collect()
    }

    /// Why this harp cannot play it, if it cannot.
    pub(crate) fn cannot_play(self, harp: &Harp) -> Option<NotForHarp> {
        match self {
            Self::Drill(drill) => drill.cannot_play(harp),
            Self::InTime(InTime::Phrase(phrase), ..) => phrase.cannot_play(harp),
            Self::InTime(InTime::Asked(..), ..) => None,
            Self::InTime(InTime::Scale(first), ..) => {
                first.range(harp).is_none().then(|| NotForHarp::Tuning("Richter".to_owned()))
            }
        }
    }

    /// Runs of what is played in time; `None` of a drill, and where there is nothing to play.
    pub(crate) fn plan(self, harp: &Harp) -> Option<Plan> {
        match self {
            Self::Drill(_) => None,
            Self::InTime(in_time, library, tempo) => {
                let material = in_time.material(harp, (library, tempo))?;
                let over = in_time.over(harp, library, &material);
                Some(plan_of(material, over))
            }
        }
    }
}
