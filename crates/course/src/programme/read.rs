//! Reading a programme, with an exact place for every mistake.

use super::{Aim, Goal, Item, Known, Programme, Week, What};
use layout::{ConcertPitch, FileError, Harp, HarpKey, TabStyle, UnknownName, Way, read_toml};
use practice::run::{Phrase, Tempo};
use practice::{Drill, NotForHarp};
use serde::Deserialize;
use std::fmt::Display;
use std::ops::{Range, RangeInclusive};
use theory::Position;
use toml::Spanned;

/// The longest title and the longest other text, characters.
const LONGEST: (usize, usize) = (60, 500);
/// A year.
const MOST_WEEKS: usize = 52;
/// More than this no day has room for.
const MOST_ITEMS: usize = 12;
/// Minutes a day; beyond two hours lips and breath suffer (common practice, no source).
const MINUTES: RangeInclusive<u32> = 5..=120;
const USUAL_MINUTES: u32 = 15;
const TRIES: RangeInclusive<u32> = 1..=50;
const USUAL_OF: u32 = 10;
/// Cents; a player who is steady is some 5 cents off, and the widest tolerance of a drill is 50.
const WITHIN: RangeInclusive<f64> = 5.0..=50.0;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ProgrammeFile {
    title: Spanned<String>,
    about: Option<Spanned<String>>,
    caution: Option<Spanned<String>>,
    tuning: Option<Spanned<String>>,
    week: Spanned<Vec<Spanned<WeekEntry>>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WeekEntry {
    about: Option<Spanned<String>>,
    minutes: Option<Spanned<u32>>,
    items: Option<Spanned<Vec<Spanned<Entry>>>>,
    #[serde(default)]
    goals: Vec<Spanned<Entry>>,
}

/// An item, or a goal, which is an item and how well it is to be played.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    note: Option<Spanned<String>>,
    drill: Option<Spanned<String>>,
    phrase: Option<Spanned<String>>,
    scale: Option<Spanned<String>>,
    position: Option<Spanned<u8>>,
    landed: Option<Spanned<u32>>,
    of: Option<Spanned<u32>>,
    within: Option<Spanned<f64>>,
    clean: Option<Spanned<f64>>,
}

/// Reads a programme; see [`Programme::parse`].
pub(super) fn read(name: &str, text: &str, known: &Known<'_>) -> Result<Programme, FileError> {
    let file: ProgrammeFile = read_toml(text)?;
    let harp = harp(text, file.tuning.as_ref(), known)?;
    let reader = Reader { text, known, harp: &harp };
    let title = reader.words(&file.title, "title", LONGEST.0)?;
    let about = file.about.map(|about| reader.words(&about, "about", LONGEST.1)).transpose()?;
    let caution = file.caution.map(|caution| reader.words(&caution, "caution", LONGEST.1)).transpose()?;
    let count = file.week.get_ref().len();
    if !(1..=MOST_WEEKS).contains(&count) {
        let message = format!("the programme has {count} weeks; 1 to {MOST_WEEKS} are allowed");
        return Err(reader.error(&file.week.span(), message));
    }
    let mut weeks = Vec::with_capacity(count);
    for entry in file.week.into_inner() {
        let week = reader.week(entry, &weeks)?;
        weeks.push(week);
    }
    let tuning = harp.tuning().name().to_owned();
    Ok(Programme { name: name.to_owned(), title, about: about.unwrap_or_default(), caution, tuning, weeks })
}

/// A harp of the tuning, in whatever key: what it can play does not depend on that.
fn harp(text: &str, tuning: Option<&Spanned<String>>, known: &Known<'_>) -> Result<Harp, FileError> {
    let Some(name) = tuning else { return Ok(Harp::richter(HarpKey::default())) };
    let found = known.tunings.find(name.get_ref());
    let found = found.map_err(|error| FileError::at_span(text, &name.span(), error.to_string()))?;
    Ok(Harp::new(HarpKey::default(), found.tuning, ConcertPitch::ISO))
}

struct Reader<'a> {
    text: &'a str,
    known: &'a Known<'a>,
    harp: &'a Harp,
}

impl Reader<'_> {
    fn error(&self, span: &Range<usize>, message: impl Into<String>) -> FileError {
        FileError::at_span(self.text, span, message)
    }

    /// A text of at most `longest` characters, its lines joined: how wide a line may be is the screen's business.
    fn words(&self, words: &Spanned<String>, key: &str, longest: usize) -> Result<String, FileError> {
        let said = words.get_ref().trim();
        let wrong = if said.is_empty() {
            "is empty"
        } else if said.chars().count() > longest {
            "is too long"
        } else if said.chars().any(|c| c.is_control() && c != '\n') {
            "holds a control character"
        } else {
            return Ok(said.split_whitespace().collect::<Vec<_>>().join(" "));
        };
        Err(self.error(&words.span(), format!("{key} {wrong}; give it in quotes, 1 to {longest} characters")))
    }

    /// A number within `range`.
    fn within<T: PartialOrd + Display + Copy>(
        &self,
        value: &Spanned<T>,
        (key, unit): (&str, &str),
        range: &RangeInclusive<T>,
    ) -> Result<T, FileError> {
        if range.contains(value.get_ref()) {
            return Ok(*value.get_ref());
        }
        let message = format!("{key} has to be a number from {} to {} {unit}", range.start(), range.end());
        Err(self.error(&value.span(), message.trim_end()))
    }

    /// A week; `before` are those before it.
    fn week(&self, entry: Spanned<WeekEntry>, before: &[Week]) -> Result<Week, FileError> {
        let span = entry.span();
        let entry = entry.into_inner();
        let about = entry.about.map(|about| self.words(&about, "about", LONGEST.1)).transpose()?;
        let minutes = entry.minutes.map(|minutes| self.within(&minutes, ("minutes", "a day"), &MINUTES));
        let needed = "items = [{ note = \"-4'\" }]";
        let Some(items) = entry.items else {
            let number = before.len() + 1;
            let message = format!("week {number} has nothing to practise; add a line like {needed}");
            return Err(self.error(&span, message));
        };
        for (what, list, least) in [("items", items.get_ref(), 1), ("goals", &entry.goals, 0)] {
            if !(least..=MOST_ITEMS).contains(&list.len()) {
                let span = list.first().map_or_else(|| items.span(), Spanned::span);
                let message =
                    format!("a week has {least} to {MOST_ITEMS} {what}, not {}; write {needed}", list.len());
                return Err(self.error(&span, message));
            }
        }
        let items = items.get_ref().iter().map(|entry| self.item(entry)).collect::<Result<Vec<_>, _>>()?;
        let mut week = Week {
            about: about.unwrap_or_default(),
            minutes: minutes.transpose()?.unwrap_or(USUAL_MINUTES),
            items,
            goals: Vec::new(),
        };
        let goals = entry.goals.iter().map(|entry| self.goal(entry, before, &week));
        week.goals = goals.collect::<Result<Vec<_>, _>>()?;
        Ok(week)
    }

    /// An item of a week: it is to be practised, and sets nothing to reach.
    fn item(&self, entry: &Spanned<Entry>) -> Result<Item, FileError> {
        let Entry { landed, of, within, clean, .. } = entry.get_ref();
        let counts = [("landed", landed), ("of", of)].map(|(key, it)| (key, it.as_ref().map(Spanned::span)));
        let sizes =
            [("within", within), ("clean", clean)].map(|(key, it)| (key, it.as_ref().map(Spanned::span)));
        for (key, span) in counts.into_iter().chain(sizes) {
            if let Some(span) = span {
                return Err(self.error(&span, format!("{key} says what to reach; it belongs into goals")));
            }
        }
        self.asked(entry)
    }

    /// What an item or a goal is about.
    fn asked(&self, entry: &Spanned<Entry>) -> Result<Item, FileError> {
        let Entry { note, drill, phrase, scale, position, .. } = entry.get_ref();
        if let (None, Some(position)) = (scale, position) {
            return Err(self.error(&position.span(), "a position is said of a scale; add scale = \"blues\""));
        }
        match (note, drill, phrase, scale) {
            (Some(note), None, None, None) => {
                Ok(Item { what: What::Note(self.way(note)?), kept: Vec::new() })
            }
            (None, Some(drill), None, None) => {
                let name = self.drill(drill)?.name.clone();
                Ok(Item { kept: vec![format!("drill {name}")], what: What::Drill(name) })
            }
            (None, None, Some(phrase), None) => {
                let phrase = self.phrase(phrase)?;
                let kept = vec![format!("run {}", phrase.material.name.kept_as)];
                Ok(Item { what: What::Phrase(phrase.name.clone()), kept })
            }
            (None, None, None, Some(scale)) => {
                let Some(position) = position else {
                    return Err(self.error(&scale.span(), "say in which position, such as position = 2"));
                };
                self.scale(scale, position)
            }
            _ => {
                let message = "an item is one thing: note = \"-4'\", drill, phrase or scale by its name";
                Err(self.error(&entry.span(), message))
            }
        }
    }

    fn way(&self, note: &Spanned<String>) -> Result<Way, FileError> {
        TabStyle::default().read_for(self.harp, note.get_ref().trim()).map_err(|error| {
            let tuning = self.harp.tuning().name();
            self.error(&note.span(), format!("no note of a harp in {tuning} tuning: {error}"))
        })
    }

    fn drill(&self, name: &Spanned<String>) -> Result<&Drill, FileError> {
        let drills = self.known.drills;
        let drill = drills.iter().find(|drill| drill.name == *name.get_ref()).ok_or_else(|| {
            let known = drills.iter().map(|drill| drill.name.as_str());
            self.error(&name.span(), UnknownName::new("drill", name.get_ref(), known, []).to_string())
        })?;
        self.suits(name, "drill", drill.cannot_play(self.harp))?;
        Ok(drill)
    }

    fn phrase(&self, name: &Spanned<String>) -> Result<&Phrase, FileError> {
        let phrases = self.known.phrases;
        let phrase = phrases.iter().find(|phrase| phrase.name == *name.get_ref()).ok_or_else(|| {
            let known = phrases.iter().map(|phrase| phrase.name.as_str());
            self.error(&name.span(), UnknownName::new("phrase", name.get_ref(), known, []).to_string())
        })?;
        self.suits(name, "phrase", phrase.cannot_play(self.harp))?;
        Ok(phrase)
    }

    fn suits(&self, name: &Spanned<String>, what: &str, not: Option<NotForHarp>) -> Result<(), FileError> {
        let why = match not {
            None => return Ok(()),
            Some(NotForHarp::Tuning(tuning)) => format!("is for {tuning} tuning"),
            Some(NotForHarp::Way(way, _)) => format!("asks for {way}"),
        };
        let tuning = self.harp.tuning().name();
        let message = format!("the {what} {:?} {why}, and this programme is for {tuning}", name.get_ref());
        Err(self.error(&name.span(), message))
    }

    fn scale(&self, name: &Spanned<String>, position: &Spanned<u8>) -> Result<Item, FileError> {
        let scale = self.known.scales.find(name.get_ref());
        let scale = scale.map_err(|error| self.error(&name.span(), error.to_string()))?;
        let Some(position) = Position::new(*position.get_ref()) else {
            return Err(self.error(&position.span(), "a position is a number from 1 to 12"));
        };
        let kept = vec![format!("run {} in {position}, ", scale.name())];
        Ok(Item { what: What::Scale { scale: scale.name().to_owned(), position }, kept })
    }

    /// A goal of `week`; `before` are the weeks before it.
    fn goal(&self, entry: &Spanned<Entry>, before: &[Week], week: &Week) -> Result<Goal, FileError> {
        let item = self.asked(entry)?;
        let aim = self.aim(entry, &item)?;
        let mut items = before.iter().chain([week]).flat_map(|week| &week.items);
        if !items.any(|own| self.practises(own, &item)) {
            let message = format!("neither this week nor one before has {item} to practise; add it to items");
            return Err(self.error(&entry.span(), message));
        }
        Ok(Goal { item, aim })
    }

    /// Whether the tries of a goal come with what is practised. Notes are tried in drills; those of a phrase or a scale
    /// are not tries at one note.
    fn practises(&self, own: &Item, wanted: &Item) -> bool {
        match (&own.what, &wanted.what) {
            (What::Drill(name), What::Note(way)) => {
                let drill = self.known.drills.iter().find(|drill| drill.name == *name);
                drill.is_some_and(|drill| drill.items.iter().any(|item| item.ways().any(|own| own == *way)))
            }
            (own, wanted) => own == wanted,
        }
    }

    fn aim(&self, entry: &Spanned<Entry>, item: &Item) -> Result<Aim, FileError> {
        let Entry { landed, of, within, clean, .. } = entry.get_ref();
        let in_time = matches!(item.what, What::Phrase(_) | What::Scale { .. });
        if in_time {
            let others = [landed, of].map(|it| it.as_ref().map(Spanned::span));
            let wrong = others.into_iter().flatten().chain(within.as_ref().map(Spanned::span)).next();
            if let Some(span) = wrong {
                let message = "of a scale or a phrase a goal is a tempo, such as clean = 80";
                return Err(self.error(&span, message));
            }
            let Some(clean) = clean else {
                return Err(self.error(&entry.span(), "the goal says no tempo; add clean = 80"));
            };
            let (slowest, fastest) = Tempo::RANGE;
            let clean = self.within(clean, ("clean", "beats a minute"), &(slowest..=fastest))?;
            return Ok(Aim::Clean { clean });
        }
        if let Some(clean) = clean {
            let message = "a tempo is for scales and phrases; of a note or a drill say landed = 8, of = 10";
            return Err(self.error(&clean.span(), message));
        }
        let Some(landed) = landed else {
            return Err(self.error(&entry.span(), "the goal does not say how many; add landed = 8, of = 10"));
        };
        let of = of.as_ref().map_or(Ok(USUAL_OF), |of| self.within(of, ("of", ""), &TRIES))?;
        let landed = self.within(landed, ("landed", ""), &(*TRIES.start()..=of))?;
        if let (Some(within), What::Drill(_)) = (within, &item.what) {
            let message = "a drill says itself what is in tune; within is for a note";
            return Err(self.error(&within.span(), message));
        }
        let within = within.as_ref().map(|within| self.within(within, ("within", "cents"), &WITHIN));
        Ok(Aim::Landed { landed, of, within: within.transpose()? })
    }
}
