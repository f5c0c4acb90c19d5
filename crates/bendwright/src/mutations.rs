//! Files of the player's own, spoilt at random: whatever stands in them, nothing panics, and a mistake has its place.
//!
//! `BENDWRIGHT_MUTATIONS=100000 cargo test -p bendwright mutations` spoils each kind so often instead of a thousand
//! times.

use crate::config::Settings;
use crate::library::Library;
use crate::setup::Setup;
use crate::{files, state};
use course::{Day, Known, Past, Programme};
use layout::{ConcertPitch, FileError, Harp, KnownTuning, PitchClass, Temperament};
use oorandom::Rand32;
use practice::Drill;
use practice::run::Phrase;
use std::path::Path;
use std::time::{Duration, Instant};
use theory::{NoteName, Progressions, ScaleInKey, ScaleMap, Scales};

/// What is put into a file: marks of the form in wrong places, figures out of reach, signs that a terminal obeys.
const PIECES: [&str; 34] = [
    "\"",
    "'",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    "=",
    ",",
    ".",
    "#",
    "\n",
    "\r",
    "\"\"\"",
    "'''",
    "\\",
    "\\u001b",
    "\u{1b}[2J",
    "\0",
    "\u{202e}",
    "ß",
    "♭",
    "-",
    "nan",
    "inf",
    "1e999",
    "99999999999999999999",
    "0x7f",
    "true",
    "2020-01-01",
    " ",
    "a.b.c = 1\n",
    "[a]\n",
];

/// Texts of one kind, into which mistakes are put at random.
struct Spoiler {
    random: Rand32,
    texts: Vec<Vec<u8>>,
}

impl Spoiler {
    fn new(seed: u64, texts: &[&str]) -> Self {
        let texts = texts.iter().map(|text| text.as_bytes().to_vec()).collect();
        Self { random: Rand32::new(seed), texts }
    }

    /// A number below `end`, or 0 if that is 0.
    fn below(&mut self, end: usize) -> usize {
        if end == 0 { 0 } else { self.random.rand_range(0..u32::try_from(end).unwrap()) as usize }
    }

    /// One of the texts with one to four mistakes.
    fn next(&mut self) -> Vec<u8> {
        let which = self.below(self.texts.len());
        let mut bytes = self.texts[which].clone();
        for _ in 0..=self.below(4) {
            self.spoil(&mut bytes);
        }
        bytes
    }

    fn spoil(&mut self, bytes: &mut Vec<u8>) {
        let at = self.below(bytes.len());
        let end = (at + 1 + self.below(8)).min(bytes.len());
        match self.below(8) {
            0 if at < bytes.len() => bytes[at] = self.random.rand_range(0..256) as u8,
            1 => drop(bytes.drain(at..end)),
            2 => bytes.truncate(at),
            3 => {
                // A number becomes another one.
                let digit = (at..bytes.len()).find(|i| bytes[*i].is_ascii_digit()).unwrap_or(at);
                let number = self.random.rand_i32().to_string();
                bytes.splice(digit..(digit + 1).min(bytes.len()), number.into_bytes());
            }
            4 => self.move_lines(bytes),
            5 => {
                let deep = ["[", "{a = "][self.below(2)].repeat(1 + self.below(200));
                bytes.splice(at..at, deep.into_bytes());
            }
            _ => {
                let piece = PIECES[self.below(PIECES.len())];
                bytes.splice(at..at, piece.bytes());
            }
        }
    }

    /// A line goes, comes twice, or changes places with another.
    fn move_lines(&mut self, bytes: &mut Vec<u8>) {
        let mut lines: Vec<Vec<u8>> = bytes.split_inclusive(|b| *b == b'\n').map(<[u8]>::to_vec).collect();
        if lines.is_empty() {
            return;
        }
        let (one, other) = (self.below(lines.len()), self.below(lines.len()));
        match self.below(3) {
            0 => drop(lines.remove(one)),
            1 => lines.insert(other, lines[one].clone()),
            _ => lines.swap(one, other),
        }
        *bytes = lines.concat();
    }
}

/// A mistake stands in the text, and its message can be shown and is for people.
fn check(text: &str, error: &FileError) {
    let FileError { line, column, message } = error;
    let known = line.checked_sub(1).and_then(|line| text.split('\n').nth(line));
    let Some(known) = known else { panic!("there is no line {line} in {text:?}: {message}") };
    assert!((1..=known.chars().count() + 1).contains(column), "no column {column} in {known:?}: {message}");
    assert!(!message.is_empty() && !message.contains(char::is_control), "{message:?} in {text:?}");
    assert!(!message.contains("f64") && !message.contains("invalid type"), "{message:?} in {text:?}");
}

/// Spoils texts and reads each by `read`, which gives back the mistakes.
#[allow(clippy::print_stderr, reason = "whoever runs it by hand wants the figures")]
fn spoil(kind: &str, texts: &[&str], read: impl Fn(&str) -> Vec<FileError>) {
    let count = std::env::var("BENDWRIGHT_MUTATIONS").ok().and_then(|count| count.parse().ok());
    let count = count.unwrap_or(1000);
    let mut spoiler = Spoiler::new(0x0be2_d301, texts);
    let (mut mistaken, mut no_text, mut slowest) = (0, 0, Duration::ZERO);
    for text in texts {
        assert_eq!(read(text), [], "the text is right before it is spoilt");
    }
    for _ in 0..count {
        let bytes = spoiler.next();
        let before = Instant::now();
        match files::text(Path::new("file"), bytes) {
            Ok(text) => {
                let errors = read(&text);
                for error in &errors {
                    check(&text, error);
                }
                mistaken += usize::from(!errors.is_empty());
            }
            Err(mistake) => {
                assert!(mistake.place().is_some(), "{mistake}");
                no_text += 1;
            }
        }
        slowest = slowest.max(before.elapsed());
    }
    eprintln!(
        "{kind}: {count} spoilt, {mistaken} with mistakes, {no_text} no text; the slowest took {slowest:?}"
    );
    assert!(mistaken > count / 3, "{kind}: only {mistaken} of {count} had a mistake");
}

fn mistakes<T>(read: Result<T, FileError>) -> Vec<FileError> {
    read.err().into_iter().collect()
}

#[test]
fn settings() {
    let readme = include_str!("../../../README.md");
    let settings = readme.split("```toml\n").nth(1).unwrap().split("```").next().unwrap();
    let library = Library::default();
    let more = "harp = 'low F'\ntuning = 'country'\ntheme = 'mono'\nascii = true\nreduced_motion = true\n\
                tolerance.centred = 5\ninput = {from = 'player', channel = 'left'}\n[tab]\ndraw = 'd'\n\
                breath_after = true\n[keys]\nquit = 'x'\n";
    spoil("settings", &[settings, more], |text| {
        let (settings, mistakes) = Settings::of(text);
        for warning in Setup::warnings_of(&settings, &library) {
            assert!(
                warning.contains(" (settings, line ") && !warning.contains(char::is_control),
                "{warning:?}"
            );
        }
        mistakes
    });
}

#[test]
fn remembered() {
    let text = "version = 1\nposition = 3\nscale = \"blues\"\n\n[harp]\nkey = \"low F\"\ntuning = \"Richter\"\n\
                settings = \"C\"\n";
    let followed =
        format!("{text}\n[[programme]]\nplayer = \"me\"\nname = \"mine\"\nbegan = \"2026-11-28\"\n");
    spoil("state", &[text, &followed], |text| mistakes(state::parse(text)));
}

#[test]
fn drills() {
    let harp = Harp::richter("C".parse().unwrap());
    let example = include_str!("../../../assets/examples/own-drill.toml");
    // A drill for another tuning is refused by this harp before anything is spoilt.
    let ours = practice::built_in().iter().map(|(_, text)| *text);
    let suit = |text: &&str| Drill::parse("name", text, &harp).is_ok();
    let texts: Vec<&str> = ours.chain([example]).filter(suit).collect();
    assert!(texts.len() > 15, "only {} drills are spoilt", texts.len());
    spoil("drills", &texts, |text| mistakes(Drill::parse("name", text, &harp)));
}

#[test]
fn phrases() {
    let harp = Harp::richter("C".parse().unwrap());
    let example = include_str!("../../../assets/examples/own-phrase.toml");
    let texts: Vec<&str> =
        practice::built_in_phrases().iter().map(|(_, text)| *text).chain([example]).collect();
    assert!(texts.len() > 10, "only {} phrases are spoilt", texts.len());
    spoil("phrases", &texts, |text| {
        let read = Phrase::parse("name", text, &harp);
        if let Ok(phrase) = &read {
            let notes = phrase.material.asked(&harp);
            assert!(!notes.is_empty() && phrase.material.bars() <= 64);
            assert!(notes.iter().all(|note| note.length_s > 0.0), "{text}");
            assert!(notes.is_sorted_by(|a, b| a.onset_s + a.length_s <= b.onset_s + 1e-9), "{text}");
        }
        mistakes(read)
    });
}

#[test]
fn programmes() {
    let example = include_str!("../../../assets/examples/own-programme.toml");
    let texts: Vec<&str> = course::programmes().iter().map(|(_, text)| *text).chain([example]).collect();
    let drills: Vec<Drill> =
        practice::built_in().iter().filter_map(|(name, text)| Drill::read(name, text).ok()).collect();
    let phrases: Vec<Phrase> = practice::built_in_phrases()
        .iter()
        .filter_map(|(name, text)| Phrase::read(name, text).ok())
        .collect();
    let (scales, tunings) = (&Scales::ours(), &layout::Tunings::ours());
    let known = Known { drills: &drills, phrases: &phrases, scales, tunings };
    spoil("programmes", &texts, |text| {
        let read = Programme::parse("name", text, &known);
        if let Ok(programme) = &read {
            let standing = programme.standing(&Past::default(), Day(0), Day(40));
            assert!(standing.week == Some(0) && !programme.items_now(&standing).is_empty(), "{text}");
        }
        mistakes(read)
    });
}

#[test]
fn tunings() {
    spoil("tunings", layout::Tunings::our_texts(), |text| {
        let read = KnownTuning::read(text);
        if let Ok(known) = &read {
            let harp = Harp::new("C".parse().unwrap(), known.tuning.clone(), ConcertPitch::ISO);
            assert!(harp.ways().count() >= 2 * usize::from(harp.holes()));
        }
        mistakes(read)
    });
}

#[test]
fn temperaments() {
    let richter = layout::Tuning::richter();
    spoil("temperaments", &[include_str!("../../../assets/temperaments.toml")], |text| {
        let read = Temperament::read(text);
        for temperament in read.iter().flatten() {
            let cents = temperament.reed_cents(&richter);
            assert!(cents.blow.iter().chain(&cents.draw).all(|cents| cents.abs() < 100.0));
        }
        mistakes(read)
    });
}

#[test]
fn scales() {
    let harp = Harp::richter("C".parse().unwrap());
    spoil("scales", &[include_str!("../../../assets/scales.toml")], |text| {
        let read = Scales::read(text);
        for scale in read.iter().flatten() {
            let key = ScaleInKey::new(scale.clone(), NoteName::usual(PitchClass::new(7)));
            assert!(!scale.name().is_empty() && !ScaleMap::new(&harp, &key).notes().is_empty());
        }
        mistakes(read)
    });
}

#[test]
fn progressions() {
    spoil("progressions", &[include_str!("../../../assets/progressions.toml")], |text| {
        let read = Progressions::read(text);
        assert!(read.iter().flatten().all(|progression| !progression.name().is_empty()));
        mistakes(read)
    });
}
