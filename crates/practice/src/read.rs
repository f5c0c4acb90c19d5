//! Reading a drill file, with an exact place for every mistake.

use crate::sheet::{LONGEST, Sheet, not_for};
use crate::streak::MOST_TRIES;
use crate::{Drill, DrillError, Item, PlayOrder};
use layout::{Harp, TabError, TabStyle};
use scoring::{Target, Tolerance};
use std::ops::{Range, RangeInclusive};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

const DRILL_KEYS: [&str; 10] =
    ["title", "about", "caution", "tuning", "hold", "tries", "in_a_row", "within", "order", "item"];
const ITEM_KEYS: [&str; 6] = ["play", "hold", "tries", "in_a_row", "within", "cents"];
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
    let usual = sheet.usual(Usual { hold_s: HOLD_USUAL_S, tries: None, in_a_row: None, tolerance: None })?;
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
        })
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
        list.iter()
            .map(|entry| match entry.get_ref().as_table() {
                None => Err(wrong(&entry.span(), "this is no item")),
                Some(table) => Sheet { table, start: entry.span().start, ..*self }.item(harp, usual),
            })
            .collect()
    }

    fn item(&self, harp: Option<&Harp>, usual: Usual) -> Result<Item, DrillError> {
        self.only(&ITEM_KEYS)?;
        let play = self.value("play").ok_or_else(|| self.missing("play = \"-4'\""))?;
        let Some(tab) = play.get_ref().as_str() else {
            return Err(self.error(&play.span(), "play has to be tab in quotes, such as \"-4'\""));
        };
        let Usual { hold_s, tries, in_a_row, tolerance } = self.usual(usual)?;
        let cents = self.number("cents", CENTS)?.unwrap_or(0.0);
        let words = words_of(tab);
        if words.len() > MOST_NOTES {
            let message = format!("{} notes in one go are too many; {MOST_NOTES} are allowed", words.len());
            return Err(self.error(&play.span(), message));
        }
        let read = |(at, word): (usize, &str)| {
            let style = TabStyle::default();
            let way = harp.map_or_else(|| style.read(word), |harp| style.read_for(harp, word));
            let way = way.map_err(|error| self.tab_error(play, harp, (&error, at)))?;
            Ok(Target { way, cents, hold_s })
        };
        let notes = words.into_iter().map(read).collect::<Result<Vec<_>, DrillError>>()?;
        let tries = tries.unwrap_or(if in_a_row.is_some() { MOST_TRIES } else { 1 });
        Ok(Item { notes, tries, in_a_row, tolerance })
    }

    /// A mistake inside a piece of tab that begins `at` so many characters into the text, at the very sign.
    fn tab_error(
        &self,
        play: &Spanned<DeValue<'_>>,
        harp: Option<&Harp>,
        (error, at): (&TabError, usize),
    ) -> DrillError {
        let message = not_for(harp, error, TabStyle::default().read(&error.text).ok());
        let span = play.span();
        let written = self.text.get(span.clone()).unwrap_or_default();
        // Only where the text stands in the file as it is read does the column inside it hold.
        let verbatim = !written.contains('\\') && !written.contains('\n') && !written.starts_with("'''");
        let into: usize =
            if verbatim { written.chars().take(at + error.column).map(char::len_utf8).sum() } else { 0 };
        DrillError::at(self.text, span.start + into, message)
    }
}

/// The words of a line of tab, each with the number of characters before it; of an empty one the emptiness itself.
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
