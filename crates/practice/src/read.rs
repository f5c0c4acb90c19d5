//! Reading a drill file, with an exact place for every mistake.

use crate::read_chord::holes_of;
use crate::sheet::{LONGEST, Sheet, not_for};
use crate::streak::MOST_TRIES;
use crate::{Asks, Drill, DrillError, Item, PlayOrder};
use layout::{Breath, Harp, TabError, TabStyle, Way};
use scoring::reeds::ReedsTarget;
use scoring::{Target, Tolerance};
use std::ops::{Range, RangeInclusive};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

const DRILL_KEYS: [&str; 11] =
    ["title", "about", "caution", "tuning", "hold", "tries", "in_a_row", "within", "clean", "order", "item"];
const ITEM_KEYS: [&str; 8] = ["play", "chord", "hold", "tries", "in_a_row", "within", "cents", "clean"];
const HOLD_S: RangeInclusive<f64> = 0.3..=20.0;
const TRIES: RangeInclusive<f64> = 1.0..=20.0;
const CENTS: RangeInclusive<f64> = -50.0..=50.0;
const IN_A_ROW: RangeInclusive<f64> = 2.0..=10.0;
const WITHIN: RangeInclusive<f64> = 1.0..=50.0;
const MOST_ITEMS: usize = 200;
/// The most notes of a joined item.
const MOST_NOTES: usize = 16;

/// What the items of a drill share where they say nothing themselves.
#[derive(Clone, Copy)]
struct Usual {
    hold_s: f64,
    tries: Option<u32>,
    in_a_row: Option<u32>,
    tolerance: Option<Tolerance>,
    clean: bool,
}

/// Within this a note counts as centred, unless the drill calls less than this in tune, cents.
const USUAL_CENTRED: f64 = Tolerance::USUAL.centred_cents;
/// Seconds to hold a note where neither the item nor the drill says it.
const HOLD_USUAL_S: f64 = 2.0;

/// Reads a drill for `harp`, or for whatever harp can play it; see [`Drill::parse`].
pub(crate) fn read(name: &str, text: &str, harp: Option<&Harp>) -> Result<Drill, DrillError> {
    let document = DeTable::parse(text).map_err(|error| DrillError::from_toml(text, &error))?;
    let sheet = Sheet { text, table: document.get_ref(), start: 0 };
    sheet.only(&DRILL_KEYS)?;
    let title =
        sheet.words("title", LONGEST.0)?.ok_or_else(|| sheet.missing("title = \"a name for the drill\""))?;
    let about = sheet.words("about", LONGEST.1)?.unwrap_or_default();
    let caution = sheet.words("caution", LONGEST.1)?;
    let tuning = sheet.tuning("drill", harp)?;
    let usual = sheet.usual(Usual {
        hold_s: HOLD_USUAL_S,
        tries: None,
        in_a_row: None,
        tolerance: None,
        clean: false,
    })?;
    let order = sheet.order()?;
    let items = sheet.items(harp, usual)?;
    Ok(Drill { name: name.to_owned(), title, about, caution, tuning, items, order })
}

impl Sheet<'_> {
    /// What this table says of hold, tries and tolerance, and `usual` where it says nothing.
    fn usual(&self, usual: Usual) -> Result<Usual, DrillError> {
        let within = self.number("within", WITHIN)?;
        let tolerance = within.and_then(|cents| Tolerance::new(cents.min(USUAL_CENTRED), cents).ok());
        Ok(Usual {
            hold_s: self.number("hold", HOLD_S)?.unwrap_or(usual.hold_s),
            tries: self.count("tries", TRIES)?.or(usual.tries),
            in_a_row: self.count("in_a_row", IN_A_ROW)?.or(usual.in_a_row),
            tolerance: tolerance.or(usual.tolerance),
            clean: self.yes("clean")?.unwrap_or(usual.clean),
        })
    }

    fn yes(&self, key: &str) -> Result<Option<bool>, DrillError> {
        let Some(value) = self.value(key) else { return Ok(None) };
        match value.get_ref() {
            DeValue::Boolean(yes) => Ok(Some(*yes)),
            _ => Err(self.error(&value.span(), format!("{key} has to be true or false"))),
        }
    }

    fn order(&self) -> Result<PlayOrder, DrillError> {
        let Some(value) = self.value("order") else { return Ok(PlayOrder::Written) };
        match value.get_ref().as_str() {
            Some("written") => Ok(PlayOrder::Written),
            Some("random") => Ok(PlayOrder::Random),
            _ => Err(self.error(&value.span(), "order has to be \"written\" or \"random\"")),
        }
    }

    /// The items; `usual` is for those that say nothing themselves.
    fn items(&self, harp: Option<&Harp>, usual: Usual) -> Result<Vec<Item>, DrillError> {
        let needed = "[[item]] and below it play = \"-4'\"";
        let value = self.value("item").ok_or_else(|| self.missing(needed))?;
        let wrong = |span: &Range<usize>, what: &str| self.error(span, format!("{what}; write {needed}"));
        let Some(list) = value.get_ref().as_array() else {
            return Err(wrong(&value.span(), "item is no list"));
        };
        if list.is_empty() {
            return Err(wrong(&value.span(), "the drill has no items"));
        }
        if list.len() > MOST_ITEMS {
            let message = format!("the drill has {} items; {MOST_ITEMS} are allowed", list.len());
            return Err(self.error(&value.span(), message));
        }
        let mut items: Vec<Item> = Vec::new();
        for entry in list {
            let Some(table) = entry.get_ref().as_table() else {
                return Err(wrong(&entry.span(), "this is no item"));
            };
            let sheet = Sheet { table, start: entry.span().start, ..*self };
            let item = sheet.item(harp, usual)?;
            let is_chord = item.chord().is_some();
            if items.first().is_some_and(|first| first.chord().is_some() != is_chord) {
                let message = "a drill is of notes or of chords; write the others into a drill of their own";
                let value = sheet.value(if is_chord { "chord" } else { "play" });
                return Err(self.error(&value.map_or(entry.span(), Spanned::span), message));
            }
            items.push(item);
        }
        Ok(items)
    }

    fn item(&self, harp: Option<&Harp>, usual: Usual) -> Result<Item, DrillError> {
        self.only(&ITEM_KEYS)?;
        let Usual { hold_s, tries, in_a_row, tolerance, clean } = self.usual(usual)?;
        let tries = tries.unwrap_or(if in_a_row.is_some() { MOST_TRIES } else { 1 });
        let asks = match (self.value("play"), self.value("chord")) {
            (Some(play), None) => self.notes((play, harp), hold_s)?,
            (None, Some(chord)) => self.chord((chord, harp), hold_s)?,
            (None, None) => return Err(self.missing("play = \"-4'\"")),
            (Some(_), Some(chord)) => {
                return Err(
                    self.error(&chord.span(), "an item asks for notes or for a chord; write play or chord")
                );
            }
        };
        let is_single = matches!(&asks, Asks::Notes(notes) if notes.len() == 1);
        if let (Some(value), false) = (self.value("clean"), is_single) {
            return Err(
                self.error(&value.span(), "clean is of a single note; write one note, or leave it out")
            );
        }
        Ok(Item { clean: clean && is_single, asks, tries, in_a_row, tolerance })
    }

    /// Notes in their order.
    fn notes(
        &self,
        (play, harp): (&Spanned<DeValue<'_>>, Option<&Harp>),
        hold_s: f64,
    ) -> Result<Asks, DrillError> {
        let cents = self.number("cents", CENTS)?.unwrap_or(0.0);
        let ways = self.ways("play", (play, harp))?;
        if ways.len() > MOST_NOTES {
            let message = format!("{} notes in one go are too many; {MOST_NOTES} are allowed", ways.len());
            return Err(self.error(&play.span(), message));
        }
        Ok(Asks::Notes(ways.into_iter().map(|(_, way)| Target { way, cents, hold_s }).collect()))
    }

    /// Holes that sound together.
    fn chord(
        &self,
        (chord, harp): (&Spanned<DeValue<'_>>, Option<&Harp>),
        hold_s: f64,
    ) -> Result<Asks, DrillError> {
        for key in ["cents", "within", "clean"] {
            if let Some(value) = self.value(key) {
                let message = format!("{key} is of notes; a chord is judged by the holes that sound");
                return Err(self.error(&value.span(), message));
            }
        }
        let (places, ways): (Vec<usize>, Vec<Way>) = self.ways("chord", (chord, harp))?.into_iter().unzip();
        let holes = holes_of(&ways).map_err(|(word, message)| {
            // The quote stands before the first sign.
            let at = 1 + places.get(word).copied().unwrap_or(0);
            DrillError::at(self.text, self.inside(chord, at), message)
        })?;
        let breath = ways.first().map_or(Breath::Blow, |way| way.breath);
        Ok(Asks::Chord(ReedsTarget { breath, holes, hold_s }))
    }

    /// The ways of a piece of tab, each with the number of characters before it.
    fn ways(
        &self,
        key: &str,
        (play, harp): (&Spanned<DeValue<'_>>, Option<&Harp>),
    ) -> Result<Vec<(usize, Way)>, DrillError> {
        let Some(tab) = play.get_ref().as_str() else {
            let like = if key == "chord" { "-1 -2 -3" } else { "-4'" };
            return Err(
                self.error(&play.span(), format!("{key} has to be tab in quotes, such as \"{like}\""))
            );
        };
        let style = TabStyle::default();
        let read = |(at, word): (usize, &str)| {
            let way = harp.map_or_else(|| style.read(word), |harp| style.read_for(harp, word));
            Ok((at, way.map_err(|error| self.tab_error(play, harp, (&error, at)))?))
        };
        words_of(tab).into_iter().map(read).collect()
    }

    /// A mistake in a word of tab that begins `at` characters into the text, placed at the very sign.
    fn tab_error(
        &self,
        play: &Spanned<DeValue<'_>>,
        harp: Option<&Harp>,
        (error, at): (&TabError, usize),
    ) -> DrillError {
        let message = not_for(harp, error, TabStyle::default().read(&error.text).ok());
        DrillError::at(self.text, self.inside(play, at + error.column), message)
    }

    /// The byte of the file at which character number `at` of a value begins; the opening quote is number 0.
    fn inside(&self, play: &Spanned<DeValue<'_>>, at: usize) -> usize {
        let span = play.span();
        let written = self.text.get(span.clone()).unwrap_or_default();
        // Characters can be counted only where the text stands in the file exactly as it is read.
        let verbatim = !written.contains('\\') && !written.contains('\n') && !written.starts_with("'''");
        let into: usize = if verbatim { written.chars().take(at).map(char::len_utf8).sum() } else { 0 };
        span.start + into
    }
}

/// The words of a line of tab, each with the number of characters before it; of a blank line the line itself.
fn words_of(tab: &str) -> Vec<(usize, &str)> {
    let mut words = Vec::new();
    let mut begun: Option<(usize, usize)> = None;
    for (characters, (byte, c)) in tab.char_indices().enumerate() {
        match (c.is_whitespace(), begun) {
            (false, None) => begun = Some((characters, byte)),
            (true, Some((at, from))) => {
                words.push((at, &tab[from..byte]));
                begun = None;
            }
            _ => {}
        }
    }
    words.extend(begun.map(|(at, from)| (at, &tab[from..])));
    if words.is_empty() { vec![(0, tab)] } else { words }
}
