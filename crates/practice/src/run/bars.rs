//! The bars of a phrase: lengths in words, notes in tab, a line a bar.

use super::material::MOST_BARS;
use super::rhythm::QUARTER;
use super::{Metre, TimedNote};
use crate::read_chord::holes_of;
use crate::sheet::not_for;
use layout::{FileError, Harp, TabStyle, Technique, UnknownName, Way};
use scoring::reeds::Holes;
use theory::Level;

/// The most notes that are joined on one attack: as many as the simulated player's hands take.
const MOST_JOINED: usize = 8;

/// The values, with their plurals and ticks.
const VALUES: [(&str, &str, u32); 5] = [
    ("whole", "wholes", 4 * QUARTER),
    ("half", "halves", 2 * QUARTER),
    ("quarter", "quarters", QUARTER),
    ("eighth", "eighths", QUARTER / 2),
    ("sixteenth", "sixteenths", QUARTER / 4),
];
/// The other words of a bar.
const WORDS: [&str; 5] = ["dotted", "triplets", "rest", "hold", "to"];
const REPEAT: &str = "repeat";

/// For whom and into what the bars are read.
pub(super) struct Ask<'a> {
    /// The whole file.
    pub(super) text: &'a str,
    pub(super) harp: Option<&'a Harp>,
    pub(super) metre: Metre,
    /// What the phrase says that it needs.
    pub(super) needs: Option<Level>,
}

/// A word of a bar, and the byte of the file at which it begins.
#[derive(Clone, Copy)]
struct Word<'a> {
    at: usize,
    text: &'a str,
}

/// What sounds for a while.
#[derive(Clone, Copy)]
enum Sound {
    Note { way: Way, joined: bool, holes: Holes },
    Hold,
    Rest,
}

/// A part of a bar.
#[derive(Clone, Copy)]
struct Part {
    at: usize,
    ticks: u32,
    sound: Sound,
}

/// Reads the bars, which begin at this byte of the file.
pub(super) fn read(ask: &Ask<'_>, at: usize, written: &str) -> Result<Vec<TimedNote>, FileError> {
    let mut bars: Vec<Vec<Part>> = Vec::new();
    let mut from = at;
    for line in written.split_inclusive('\n') {
        let words = words(from, line);
        from += line.len();
        let Some(first) = words.first() else { continue };
        let new = if first.text.eq_ignore_ascii_case(REPEAT) {
            repeated(ask, &words, &bars)?
        } else {
            vec![bar(ask, &words, bars.len() + 1)?]
        };
        if bars.len() + new.len() > MOST_BARS {
            let message = format!(
                "with this there are {} bars, and {MOST_BARS} are the most of one run; practise it in parts",
                bars.len() + new.len()
            );
            return Err(ask.wrong(first.at, message));
        }
        bars.extend(new);
    }
    only_reeds(ask, &bars)?;
    let mut notes = joined_up(ask, &bars)?;
    if notes.iter().any(|note| !note.holes.is_empty()) {
        for note in notes.iter_mut().filter(|note| note.holes.is_empty()) {
            note.holes = Holes::NONE.with(note.way.hole);
        }
    }
    if notes.is_empty() {
        return Err(ask.wrong(at, "there is no note in these bars; write such as quarter -4 4 half -2"));
    }
    Ok(notes)
}

/// Where there are chords, everything is judged by its reeds: no note may be bent, and none joined.
fn only_reeds(ask: &Ask<'_>, bars: &[Vec<Part>]) -> Result<(), FileError> {
    let notes = || {
        bars.iter().flatten().filter_map(|part| match part.sound {
            Sound::Note { way, joined, holes } => Some((part.at, way, joined, holes)),
            Sound::Hold | Sound::Rest => None,
        })
    };
    if notes().all(|(.., holes)| holes.is_empty()) {
        return Ok(());
    }
    let wrong = notes().find(|(_, way, joined, _)| *joined || way.technique != Technique::Natural);
    match wrong {
        None => Ok(()),
        Some((at, _, true, _)) => Err(ask.wrong(at, "a phrase with chords has no slurs; leave out the to")),
        Some((at, way, ..)) => Err(ask.wrong(
            at,
            format!("{way}: a phrase with chords is told by its reeds, and has natural notes only"),
        )),
    }
}

/// The words of a line.
fn words(from: usize, line: &str) -> Vec<Word<'_>> {
    let begins = |text: &str| text.as_ptr() as usize - line.as_ptr() as usize;
    let mut words: Vec<Word<'_>> = Vec::new();
    for text in line.split_whitespace() {
        let open = words.last_mut().filter(|last| last.text.starts_with('(') && !last.text.contains(')'));
        match open {
            // What stands in brackets is one word.
            Some(last) => last.text = &line[begins(last.text)..begins(text) + text.len()],
            None => words.push(Word { at: from + begins(text), text }),
        }
    }
    words
}

/// The chord that a word in brackets names.
fn chord(ask: &Ask<'_>, word: Word<'_>, joined: Option<Word<'_>>) -> Result<Sound, FileError> {
    if let Some(to) = joined {
        return Err(ask.wrong(to.at, "a chord begins with a breath of its own; leave out the to"));
    }
    let Some(inside) = word.text.strip_prefix('(').and_then(|text| text.strip_suffix(')')) else {
        return Err(ask.wrong(word.at, "a chord is written such as (-1 -2 -3), with a bracket at either end"));
    };
    let own: Vec<Word<'_>> = words(word.at + 1, inside);
    let ways = own.iter().map(|word| way(ask, *word)).collect::<Result<Vec<_>, _>>()?;
    let holes = holes_of(&ways)
        .map_err(|(index, message)| ask.wrong(own.get(index).map_or(word.at, |word| word.at), message))?;
    let lowest = ways.iter().copied().min_by_key(|way| way.hole);
    let way = lowest.ok_or_else(|| ask.wrong(word.at, "there is no hole in these brackets"))?;
    Ok(Sound::Note { way, joined: false, holes })
}

/// The bars of `repeat bar 1` or `repeat bars 1 to 2`.
fn repeated(ask: &Ask<'_>, words: &[Word<'_>], bars: &[Vec<Part>]) -> Result<Vec<Vec<Part>>, FileError> {
    let place = words.first().map_or(0, |word| word.at);
    let number = |word: &Word<'_>| word.text.parse::<usize>().ok();
    let range = match words {
        [_, bar, one] if bar.text == "bar" => number(one).map(|one| (one, one)),
        [_, bars, first, to, last] if bars.text == "bars" && to.text == "to" => {
            number(first).zip(number(last))
        }
        _ => None,
    };
    let Some((first, last)) = range else {
        return Err(ask.wrong(place, "write repeat bar 1, or repeat bars 1 to 2"));
    };
    let wanted = first.checked_sub(1).and_then(|first| bars.get(first..last)).filter(|bars| !bars.is_empty());
    let Some(wanted) = wanted else {
        let message = match bars.len() {
            0 => "there is no bar before this one to repeat".to_owned(),
            1 => "only bar 1 stands before this".to_owned(),
            count => format!("only bars 1 to {count} stand before this"),
        };
        return Err(ask.wrong(place, message));
    };
    // What is wrong only there, such as a hold after a rest, is told at the line that repeats.
    let here = |part: &Part| Part { at: place, ..*part };
    Ok(wanted.iter().map(|bar| bar.iter().map(here).collect()).collect())
}

/// A bar with this number, which the words fill.
fn bar(ask: &Ask<'_>, words: &[Word<'_>], number: usize) -> Result<Vec<Part>, FileError> {
    let mut parts: Vec<Part> = Vec::new();
    let (mut ticks, mut joined) = (None, None);
    let mut rest = words;
    while let Some((word, after)) = rest.split_first() {
        if let Some((length, after)) = length(ask, rest)? {
            (ticks, rest) = (Some(length), after);
            continue;
        }
        rest = after;
        let lower = word.text.to_ascii_lowercase();
        if lower == "to" {
            joined = Some(*word);
            continue;
        }
        let sound = match lower.as_str() {
            "rest" => Sound::Rest,
            "hold" => Sound::Hold,
            _ if word.text.starts_with('(') => chord(ask, *word, joined)?,
            _ => Sound::Note { way: way(ask, *word)?, joined: joined.is_some(), holes: Holes::NONE },
        };
        if let (Some(to), Sound::Rest | Sound::Hold) = (joined, sound) {
            return Err(ask.wrong(to.at, format!("after to comes a note, and this is a {lower}")));
        }
        joined = None;
        let Some(ticks) = ticks else {
            let message = format!("say first how long it is: {}", names());
            return Err(ask.wrong(word.at, message));
        };
        parts.push(Part { at: word.at, ticks, sound });
    }
    if let Some(to) = joined {
        return Err(ask.wrong(to.at, "after to comes a note; over the bar line, to begins the next bar"));
    }
    let (is, wanted) = (parts.iter().map(|part| part.ticks).sum(), ask.metre.bar());
    if is == wanted {
        return Ok(parts);
    }
    let (unit, name) = if ask.metre.is_compound() { (QUARTER / 2, "eighths") } else { (QUARTER, "quarters") };
    let count = |ticks: u32| (f64::from(ticks) / f64::from(unit) * 100.0).round() / 100.0;
    let how = if is < wanted { "short" } else { "long" };
    let message = format!(
        "bar {number} is too {how}: it has {} {name}, and a bar of {} has {}",
        count(is),
        ask.metre,
        count(wanted)
    );
    Err(ask.wrong(words.first().map_or(0, |word| word.at), message))
}

/// A length at the beginning of these words, and the words behind it.
fn length<'a, 'b>(ask: &Ask<'_>, words: &'b [Word<'a>]) -> Result<Option<(u32, &'b [Word<'a>])>, FileError> {
    let is = |word: Option<&Word<'_>>, name: &str| word.is_some_and(|it| it.text.eq_ignore_ascii_case(name));
    let is_triplet = |word: Option<&Word<'_>>| is(word, "triplet") || is(word, "triplets");
    let dotted = is(words.first(), "dotted");
    let rest = &words[usize::from(dotted)..];
    let value = VALUES.iter().find(|(one, many, _)| is(rest.first(), one) || is(rest.first(), many));
    let triplet = is_triplet(rest.get(usize::from(value.is_some())));
    let Some(first) = words.first().filter(|_| dotted || triplet || value.is_some()) else {
        return Ok(None);
    };
    if dotted && (triplet || value.is_none()) {
        let message =
            "dotted stands before whole, half, quarter, eighth or sixteenth, and not before triplets";
        return Err(ask.wrong(first.at, message));
    }
    let ticks = value.map_or(QUARTER / 2, |(.., ticks)| *ticks);
    let ticks = match (dotted, triplet) {
        (true, _) => ticks * 3 / 2,
        (_, true) => ticks * 2 / 3,
        _ => ticks,
    };
    Ok(Some((ticks, &rest[usize::from(value.is_some()) + usize::from(triplet)..])))
}

/// The way that a word of tab names.
fn way(ask: &Ask<'_>, word: Word<'_>) -> Result<Way, FileError> {
    if word.text.starts_with(char::is_alphabetic) {
        let known = VALUES.iter().map(|(one, ..)| *one).chain(WORDS);
        let also = VALUES.iter().map(|(_, many, _)| *many).chain(["triplet", REPEAT]);
        let unknown = UnknownName::new("word", word.text, known, also);
        return Err(ask.wrong(word.at, unknown.to_string()));
    }
    let style = TabStyle::default();
    let read = ask.harp.map_or_else(|| style.read(word.text), |harp| style.read_for(harp, word.text));
    let way = read.map_err(|error| {
        let into: usize = word.text.chars().take(error.column.saturating_sub(1)).map(char::len_utf8).sum();
        ask.wrong(word.at + into, not_for(ask.harp, &error, style.read(word.text).ok()))
    })?;
    match ask.needs.filter(|level| !level.includes(way)) {
        None => Ok(way),
        Some(level) => {
            let more = Level::ALL.into_iter().find(|other| other.includes(way)).unwrap_or(level);
            let (own, more) = (level.name(), more.name());
            let message = format!(
                "{} is beyond what the phrase says it needs, {own}; write needs = \"{more}\"",
                word.text
            );
            Err(ask.wrong(word.at, message))
        }
    }
}

/// The notes of all bars, those that are held made longer.
fn joined_up(ask: &Ask<'_>, bars: &[Vec<Part>]) -> Result<Vec<TimedNote>, FileError> {
    let mut notes: Vec<TimedNote> = Vec::new();
    let (mut now, mut in_a_row) = (0, 0);
    for part in bars.iter().flatten() {
        let before = notes.last_mut().filter(|note| note.start + note.length == now);
        match (part.sound, before) {
            (Sound::Rest, _) => {}
            (Sound::Hold, Some(note)) => note.length += part.ticks,
            (Sound::Hold, None) => return Err(ask.wrong(part.at, "no note sounds before this to be held")),
            (Sound::Note { way, joined, holes }, before) => {
                if joined {
                    in_a_row += 1;
                    slurred(before.map(|note| note.way), way, in_a_row)
                        .map_err(|why| ask.wrong(part.at, why))?;
                } else {
                    in_a_row = 1;
                }
                notes.push(TimedNote { start: now, length: part.ticks, way, joined, holes });
            }
        }
        now += part.ticks;
    }
    Ok(notes)
}

/// Why a note cannot be joined to the one before it, as number `in_a_row` on one attack.
fn slurred(before: Option<Way>, way: Way, in_a_row: usize) -> Result<(), String> {
    match before {
        None => Err("no note sounds before this to be joined to".to_owned()),
        Some(before) if before == way => {
            Err("this is the note before it; write hold to go on with it".to_owned())
        }
        Some(before) if before.breath != way.breath => {
            Err("the breath turns here, and a new breath begins the note anew; leave out the to".to_owned())
        }
        Some(_) if in_a_row > MOST_JOINED => {
            Err(format!("{MOST_JOINED} notes are the most that are joined; leave out a to"))
        }
        Some(_) => Ok(()),
    }
}

/// The names of the values, for a message.
fn names() -> String {
    VALUES.iter().map(|(one, ..)| *one).chain(["triplets"]).collect::<Vec<_>>().join(", ")
}

impl Ask<'_> {
    fn wrong(&self, at: usize, message: impl Into<String>) -> FileError {
        FileError::at(self.text, at, message)
    }
}
