//! Phrases: what is written is what is played, every mistake has its place, and those that come with the program are
//! sound.

// Helpers of tests may panic like the tests themselves; figures are for whoever runs them with --nocapture.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

use layout::{Harp, HarpKey, TabStyle};
use practice::NotForHarp;
use practice::built_in_phrases;
use practice::run::Phrase;
use proptest::prelude::*;
use synth::{Model, Timed};
use theory::Level;

const EXAMPLE: &str = include_str!("../../../assets/examples/own-phrase.toml");

fn harp(key: &str) -> Harp {
    Harp::richter(key.parse::<HarpKey>().unwrap())
}

/// A phrase of these bars, in 4/4 at 60: a quarter note lasts a second.
fn of_bars(bars: &str) -> String {
    format!("title = 'x'\ntempo = 60\nbars = \"\"\"\n{bars}\"\"\"\n")
}

/// Tab, onset and length of each note in quarter notes, and a `~` before one that is joined.
fn notes(text: &str) -> Vec<(String, f64, f64)> {
    let phrase = Phrase::parse("x", text, &harp("C")).unwrap_or_else(|error| panic!("{error}"));
    let tempo = practice::run::Tempo::new(60.0).unwrap();
    let asked = phrase.material.at(tempo).asked(&harp("C"));
    let sign = |joined| if joined { "~" } else { "" };
    let round = |seconds: f64| (seconds * 1000.0).round() / 1000.0;
    asked
        .iter()
        .map(|note| {
            let tab = format!("{}{}", sign(note.joined), TabStyle::default().print(note.way));
            (tab, round(note.onset_s), round(note.length_s))
        })
        .collect()
}

fn are(bars: &str, wanted: &[(&str, f64, f64)]) {
    let wanted: Vec<_> = wanted.iter().map(|(tab, at, long)| ((*tab).to_owned(), *at, *long)).collect();
    assert_eq!(notes(&of_bars(bars)), wanted, "{bars}");
}

/// Worked out by hand in quarter notes.
#[test]
fn lengths_rests_holds_and_joins_are_what_they_say() {
    are(
        "quarter -2 eighths -3' 4 half -4\n",
        &[("-2", 0.0, 1.0), ("-3'", 1.0, 0.5), ("4", 1.5, 0.5), ("-4", 2.0, 2.0)],
    );
    are("dotted quarter 4 eighth rest half 5\n", &[("4", 0.0, 1.5), ("5", 2.0, 2.0)]);
}

#[test]
fn a_hold_goes_over_the_bar_line_and_a_to_as_well() {
    are(
        "half rest half -2\nquarter hold quarter -2'' to half -2\n",
        &[("-2", 2.0, 3.0), ("-2''", 5.0, 1.0), ("~-2", 6.0, 2.0)],
    );
    are("whole -2\nto whole -2''\n", &[("-2", 0.0, 4.0), ("~-2''", 4.0, 4.0)]);
}

#[test]
fn triplets_and_sixteenths_divide_the_beat() {
    are(
        "triplets 4 5 6 sixteenths 4 5 6 5 quarter triplets 4 5 6\n",
        &[
            ("4", 0.0, 0.333),
            ("5", 0.333, 0.333),
            ("6", 0.667, 0.333),
            ("4", 1.0, 0.25),
            ("5", 1.25, 0.25),
            ("6", 1.5, 0.25),
            ("5", 1.75, 0.25),
            ("4", 2.0, 0.667),
            ("5", 2.667, 0.667),
            ("6", 3.333, 0.667),
        ],
    );
}

#[test]
fn bars_are_repeated() {
    let bars = "whole 4\nwhole 5\nrepeat bars 1 to 2\nrepeat bar 4\n";
    let tab: Vec<String> = notes(&of_bars(bars)).into_iter().map(|(tab, ..)| tab).collect();
    assert_eq!(tab.join(" "), "4 5 4 5 5");
}

/// Two to one is a triplet's two thirds, so a swung eighth lies where the last note of a triplet does.
#[test]
fn eighths_are_swung_and_triplets_are_not() {
    let text = of_bars("eighths 4 5 triplets 4 5 6 half 4\n").replace("tempo", "swing = '2:1'\ntempo");
    let onsets: Vec<f64> = notes(&text).into_iter().map(|(_, at, _)| at).collect();
    assert_eq!(onsets, [0.0, 0.667, 1.0, 1.333, 1.667, 2.0]);
    let straight = of_bars("eighths 4 5 triplets 4 5 6 half 4\n");
    let onsets: Vec<f64> = notes(&straight).into_iter().map(|(_, at, _)| at).collect();
    assert_eq!(onsets, [0.0, 0.5, 1.0, 1.333, 1.667, 2.0]);
}

fn error(text: &str) -> (usize, usize, String) {
    let error = Phrase::parse("x", text, &harp("C")).unwrap_err();
    (error.line, error.column, error.message)
}

#[test]
fn mistakes_in_the_bars_are_named_with_their_place() {
    for (bars, place, words) in [
        ("quarter 4 4 4\n", (4, 1), "bar 1 is too short: it has 3 quarters, and a bar of 4/4 has 4"),
        ("whole 4\n\n  half 4 4 eighth 4\n", (6, 3), "bar 2 is too long: it has 4.5 quarters"),
        ("4 4 4 4\n", (4, 1), "say first how long it is: whole, half, quarter"),
        ("quarter 4 -5' 4 4\n", (4, 11), "a C harp cannot play -5'"),
        ("quarter 4 -5' 4 4\n", (4, 11), "country or major seventh tuning has it"),
        ("quarter 4 4x 4 4\n", (4, 12), "\"4x\" is no tab"),
        ("quarter -11 4 4 4\n", (4, 9), "there is no hole 11"),
        ("quater 4 4 4 4\n", (4, 1), "did you mean \"quarter\"?"),
        ("dotted triplets 4 4 4\n", (4, 1), "not before triplets"),
        ("dotted 4 4 4\n", (4, 1), "dotted stands before"),
        ("quarter hold 4 4 4\n", (4, 9), "no note sounds before this to be held"),
        ("quarter 4 rest hold 4\n", (4, 16), "no note sounds before this to be held"),
        ("quarter to 4 4 4 4\n", (4, 12), "no note sounds before this to be joined to"),
        ("quarter 4 to -4 4 4\n", (4, 14), "the breath turns here"),
        ("quarter 4 to 4 4 4\n", (4, 14), "write hold"),
        ("quarter 4 to rest 4 4\n", (4, 11), "after to comes a note"),
        ("quarter 4 5 6 7 to\n", (4, 17), "to begins the next bar"),
        (
            "eighths 4 to 5 to 4 to 5 to 4 to 5 to 4 to 5\neighths to 4 5 4 5 4 5 4 5\n",
            (5, 12),
            "8 notes are the most",
        ),
        ("repeat bar 1\n", (4, 1), "no bar before this one"),
        ("whole 4\nrepeat bars 1 to 7\n", (5, 1), "only bar 1 stands before this"),
        ("whole 4\nwhole rest\nrepeat bars 2 to 1\n", (6, 1), "only bars 1 to 2"),
        ("whole 4\nrepeat\n", (5, 1), "write repeat bar 1"),
        ("whole 4\nrepeat bars 1\n", (5, 1), "write repeat bar 1, or repeat bars 1 to 2"),
        ("whole 4\nwhole 5\nrepeat bar 1 to 2\n", (6, 1), "write repeat bar 1, or repeat bars 1 to 2"),
        ("whole 4\nwhole 5\nrepeat bars 1 and 2\n", (6, 1), "write repeat bar 1, or repeat bars 1 to 2"),
        ("whole 4\nwhole rest\nwhole 4\nhalf hold half rest\nrepeat bar 4\n", (8, 1), "to be held"),
        ("whole rest\n", (3, 11), "there is no note"),
        ("", (3, 11), "there is no note"),
        ("whole (4 5\n", (4, 7), "with a bracket at either end"),
        ("whole 4\\\\\n", (4, 8), "a backslash means nothing"),
    ] {
        let (line, column, message) = error(&of_bars(bars));
        assert!(message.contains(words), "{bars:?}: {message}");
        assert_eq!((line, column), place, "{bars:?}: {message}");
    }
}

#[test]
fn mistakes_in_the_rest_of_the_file_are_named_with_their_place() {
    let bars = "bars = 'whole 4'\n";
    for (text, place, words) in [
        (bars.to_owned(), (1, 1), "title ="),
        ("title = 'x'\n".to_owned(), (1, 1), "bars ="),
        (format!("title = 'x'\nmetre = '7/8'\n{bars}"), (2, 9), "6/8"),
        (format!("title = 'x'\nmetre = 4\n{bars}"), (2, 9), "4/4"),
        (format!("title = 'x'\ntempo = 20\n{bars}"), (2, 9), "30 to 240"),
        (format!("title = 'x'\ntempo = 'fast'\n{bars}"), (2, 9), "30 to 240"),
        (format!("title = 'x'\nswing = '5:1'\n{bars}"), (2, 9), "1 (straight) to 3"),
        // Two in binary, whose figures are not those of a ratio.
        (format!("title = 'x'\nswing = 0b10\n{bars}"), (2, 9), "has to be text in quotes"),
        (format!("title = 'x'\nposition = 13\n{bars}"), (2, 12), "12"),
        (format!("title = 'x'\nneeds = 'bend'\n{bars}"), (2, 9), "bends"),
        (format!("title = 'x'\ntuning = 'country'\n{bars}"), (2, 10), "this phrase is for country tuning"),
        (format!("title = 'x'\nbar = 3\n{bars}"), (2, 1), "did you mean \"bars\"?"),
        ("title = 'x'\nbars = 3\n".to_owned(), (2, 8), "has to be text"),
        (
            "title = 'x'\nneeds = 'plain'\nbars = 'half 4 -4\u{2019}'\n".to_owned(),
            (3, 16),
            "needs = \"half-steps\"",
        ),
        (
            "title = 'x'\nmetre = '6/8'\nswing = '2:1'\nbars = 'half 4 quarter 4'\n".to_owned(),
            (3, 9),
            "not swung",
        ),
        (
            "title = 'x'\nswing = '2:1'\nbars = 'sixteenth triplets 4 4 4 4 4 4 dotted half 4'\n".to_owned(),
            (2, 9),
            "cannot be swung",
        ),
    ] {
        let (line, column, message) = error(&text);
        assert!(message.contains(words), "{text:?}: {message}");
        assert_eq!((line, column), place, "{text:?}: {message}");
    }
}

/// Three eighths are the beat of a compound metre, so its bars are counted in eighths.
#[test]
fn a_bar_of_a_compound_metre_is_counted_in_eighths() {
    let text = |bars: &str| format!("title = 'x'\nmetre = '6/8'\nbars = '{bars}'\n");
    for (bars, words) in [
        ("quarter 4 eighth 4", "bar 1 is too short: it has 3 eighths, and a bar of 6/8 has 6"),
        ("whole 4", "bar 1 is too long: it has 8 eighths, and a bar of 6/8 has 6"),
        ("half 4 sixteenth 4", "bar 1 is too short: it has 4.5 eighths"),
    ] {
        let (line, column, message) = error(&text(bars));
        assert!((line, column) == (3, 9) && message.contains(words), "{bars}: {line}:{column} {message}");
    }
}

/// Where there are chords a single note is asked for by its hole too, so that a second hole beside it is heard; where
/// there are none each note is judged by its pitch.
#[test]
fn a_note_among_chords_is_asked_for_by_its_hole() {
    let holes = |bars: &str| {
        let phrase = Phrase::parse("x", &of_bars(bars), &harp("C")).unwrap();
        phrase.material.notes().iter().map(|note| note.holes.iter().collect::<Vec<_>>()).collect::<Vec<_>>()
    };
    assert_eq!(holes("half (-1 -2) quarter -4 rest\n"), [vec![1, 2], vec![4]]);
    assert_eq!(holes("half 1 quarter -4 rest\n"), [vec![], Vec::<u8>::new()]);
}

#[test]
fn a_run_has_64_bars_and_no_more() {
    let many = |count: usize| of_bars(&"whole 4\n".repeat(count));
    assert_eq!(notes(&many(64)).len(), 64);
    let (line, _, message) = error(&many(10_000));
    assert!(line == 68 && message.contains("64 are the most"), "{line}: {message}");
    // Each of these lines doubles what stands before it.
    let doubled: Vec<String> = (0..60).map(|n| format!("repeat bars 1 to {}\n", 1_u64 << n)).collect();
    let (_, _, message) = error(&of_bars(&format!("whole 4\n{}", doubled.concat())));
    assert!(message.contains("64 are the most"), "{message}");
    let (_, _, message) = error(&of_bars(&format!("whole 4\nrepeat bars 1 to {}\n", u128::MAX)));
    assert!(message.contains("write repeat bar 1"), "{message}");
}

#[test]
fn a_phrase_is_read_whatever_the_harp() {
    let text = of_bars("whole -5'\n");
    let phrase = Phrase::read("x", &text).unwrap();
    assert!(matches!(phrase.cannot_play(&harp("C")), Some(NotForHarp::Way(..))));
    let text = text.replace("tempo", "tuning = 'country'\ntempo");
    let phrase = Phrase::read("x", &text).unwrap();
    assert_eq!(phrase.cannot_play(&harp("C")), Some(NotForHarp::Tuning("country".to_owned())));
}

#[test]
fn the_example_reads() {
    let phrase = Phrase::parse("example", EXAMPLE, &harp("A")).unwrap();
    assert_eq!((phrase.material.bars(), phrase.needs), (6, Some(Level::DrawBends)));
    assert_eq!(phrase.material.rhythm.words(), "at 84, 4/4, swung 2:1");
}

/// Every shipped phrase reads and suits the harp in all keys; its bars add up, or it would not read; it needs what it
/// says and no less; it can be told from the others.
#[test]
fn every_built_in_phrase_suits_every_key_and_needs_what_it_says() {
    assert_eq!(built_in_phrases().len(), 15);
    for (name, text) in built_in_phrases() {
        for key in HarpKey::all() {
            let phrase = Phrase::parse(name, text, &Harp::richter(key))
                .unwrap_or_else(|error| panic!("{name}: {error}"));
            let ways = || phrase.material.notes().iter().map(|note| note.way);
            let needs = phrase.needs.unwrap_or_else(|| panic!("{name} does not say what it needs"));
            assert!(ways().all(|way| needs.includes(way)), "{name}");
            let less = Level::ALL.into_iter().rev().find(|level| *level < needs);
            assert!(less.is_none_or(|less| ways().any(|way| !less.includes(way))), "{name} needs less");
            assert!(
                !phrase.about.is_empty() && phrase.position.is_some() && phrase.tuning.is_some(),
                "{name}"
            );
            assert!((4..=8).contains(&phrase.material.bars()), "{name}");
        }
        assert!(text.ends_with("\"\"\"\n"), "{name}");
        assert_eq!(built_in_phrases().iter().filter(|(other, _)| other == name).count(), 1);
    }
}

/// The bends that have to be there: 2 draw half and whole, 3 draw in three depths, 4 and 6 draw, the blow bends, all of
/// them in motion.
#[test]
fn the_bends_in_motion_are_there() {
    let mut joined: Vec<String> = Vec::new();
    for (name, text) in built_in_phrases() {
        let phrase = Phrase::read(name, text).unwrap();
        let notes = phrase.material.notes();
        for pair in notes.windows(2).filter(|pair| pair[1].joined) {
            joined.extend(pair.iter().map(|note| TabStyle::default().print(note.way)));
        }
    }
    for tab in ["-2'", "-2''", "-3'", "-3''", "-3'''", "-4'", "-6'", "8'", "9'", "10''"] {
        assert!(joined.iter().any(|other| other == tab), "{tab} is never joined to anything");
    }
}

/// What is played to the player beforehand stays below -12 dBFS on every harp, and is heard: above -32 dBFS.
#[test]
fn the_model_of_every_built_in_phrase_is_neither_loud_nor_faint() {
    for (name, text) in built_in_phrases() {
        for key in ["low F", "C", "high G"] {
            let (harp, phrase) = (harp(key), Phrase::read(name, text).unwrap());
            // So fast that it is over soon: the level does not depend on the tempo.
            let asked = phrase.material.at(practice::run::Tempo::new(200.0).unwrap()).asked(&harp);
            let notes = asked.iter().map(|note| Timed {
                way: note.way,
                onset_s: note.onset_s,
                length_s: note.length_s,
                joined: note.joined,
                others: std::array::from_fn(|at| note.ways().nth(at + 1)),
            });
            let mut model = Model::new(&harp, 24_000.0, notes, 0.0).unwrap();
            let (mut peak, mut block) = (0.0_f32, [0.0; 512]);
            while model.fill(&mut block) > 0 {
                peak = block.iter().fold(peak, |peak, x| peak.max(x.abs()));
            }
            let dbfs = 20.0 * f64::from(peak).log10();
            println!("{name} on {key}: {dbfs:.1} dBFS");
            assert!((-32.0..-12.0).contains(&dbfs), "{name} on {key}: {dbfs} dBFS");
        }
    }
}

proptest! {
    /// Whatever stands in the bars, reading ends with notes that fill bars, or with a mistake that has its place.
    #[test]
    fn no_bars_make_the_reader_panic(words in prop::collection::vec(
        prop::sample::select(vec![
            "quarter", "eighths", "half", "whole", "dotted", "triplets", "rest", "hold", "to", "repeat", "bar", "bars", "1",
            "2", "99999999999999999999", "4", "-4", "-4'", "-3''", "6o", "(", "4)", "’", "ß", "\u{1b}[2J", "\n", "\n", "\r\n",
        ]), 0..60))
    {
        let text = of_bars(&words.join(" "));
        match Phrase::parse("x", &text, &harp("C")) {
            Ok(phrase) => {
                let notes = phrase.material.asked(&harp("C"));
                prop_assert!(!notes.is_empty() && phrase.material.bars() <= 64);
                for pair in notes.windows(2) {
                    prop_assert!(pair[0].onset_s + pair[0].length_s <= pair[1].onset_s + 1e-9);
                }
            }
            Err(error) => prop_assert!(error.line <= text.lines().count() + 1 && !error.message.is_empty()),
        }
    }
}
