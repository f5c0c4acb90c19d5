//! The twelve positions.

use crate::{SCALES, harp, in_key, tuned};
use layout::{Harp, HarpKey, PitchClass, TabStyle};
use theory::{Named, Position, Purpose, ScaleInKey};

fn position(number: u8) -> Position {
    Position::new(number).unwrap()
}

/// Tonics of the positions 1 to 12 of every key: a circle of fifths from the harp's own, (key + 7·(p − 1)) mod 12.
/// Positions as fifths: folk wiki ("a fifth above"), harmonica list archive, March 2012, message 00904.
const TONICS: [(&str, &str); 12] = [
    ("G", "G D A E B F♯ D♭ A♭ E♭ B♭ F C"),
    ("A♭", "A♭ E♭ B♭ F C G D A E B F♯ D♭"),
    ("A", "A E B F♯ D♭ A♭ E♭ B♭ F C G D"),
    ("B♭", "B♭ F C G D A E B F♯ D♭ A♭ E♭"),
    ("B", "B F♯ D♭ A♭ E♭ B♭ F C G D A E"),
    ("C", "C G D A E B F♯ D♭ A♭ E♭ B♭ F"),
    ("D♭", "D♭ A♭ E♭ B♭ F C G D A E B F♯"),
    ("D", "D A E B F♯ D♭ A♭ E♭ B♭ F C G"),
    ("E♭", "E♭ B♭ F C G D A E B F♯ D♭ A♭"),
    ("E", "E B F♯ D♭ A♭ E♭ B♭ F C G D A"),
    ("F", "F C G D A E B F♯ D♭ A♭ E♭ B♭"),
    ("F♯", "F♯ D♭ A♭ E♭ B♭ F C G D A E B"),
];

#[test]
fn all_144_tonics() {
    let mut checked = 0;
    for (key, tonics) in TONICS {
        let harp = harp(key);
        for (position, tonic) in Position::all().zip(tonics.split(' ')) {
            let tonic: PitchClass = tonic.parse().unwrap();
            assert_eq!(position.tonic(&harp), tonic, "{position} of {key}");
            assert_eq!(Position::of(&harp, tonic), position);
            checked += 1;
        }
    }
    assert_eq!(checked, 144);
}

/// Position, mode of the plain notes, reeds of the tonic, lowest octave on plain notes (C harp). Modes: harmonica list
/// archive, March 2012, message 00904; the rest from the layout (OEIS A291810).
const MODES: [(u8, &str, &str, i32); 7] = [
    (1, "Ionian", "1 4 7 10", 72),
    (2, "Mixolydian", "-2 3 6 9", 79),
    (3, "Dorian", "-1 -4 -8", 74),
    (4, "Aeolian", "-6 -10", 81),
    (5, "Phrygian", "2 5 8", 76),
    (6, "Locrian", "-3 -7", 71),
    (12, "Lydian", "-5 -9", 77),
];

fn tabs(ways: Vec<(layout::Note, layout::Way)>) -> String {
    let tabs: Vec<String> = ways.into_iter().map(|(_, way)| TabStyle::default().print(way)).collect();
    tabs.join(" ")
}

#[test]
fn modes_tonic_reeds_and_plain_octaves_in_every_key() {
    for key in HarpKey::all() {
        let harp = Harp::richter(key);
        let up = i32::from(key.blow_1().midi()) - 60;
        for (number, mode, reeds, octave) in MODES {
            let position = position(number);
            let found = position.mode(&harp, &SCALES).unwrap();
            assert!(found.is_called(mode), "{position} of {key}: {}", found.name());
            assert_eq!(tabs(position.tonic_reeds(&harp)), reeds, "{position} of {key}");
            let lowest = i32::from(position.plain_octaves(&harp, found)[0].midi());
            assert_eq!(lowest, octave + up, "{position} of {key}");
        }
    }
}

/// Positions whose tonic is no plain note, with the ways to make it (C harp), from the rules for bends (harmonica list
/// archive, 1994) and overbends (common practice, no source).
#[test]
fn positions_7_to_11_have_no_plain_tonic() {
    let harp = harp("C");
    for (number, ways) in [
        (7, "-2' 5o 9'"),
        (8, "-1' -4' -7o -10o"),
        (9, "-3''' 2o -6' -9o"),
        (10, "1o 4o 8'"),
        (11, "-3' 6o 10''"),
    ] {
        let position = position(number);
        assert!(position.tonic_reeds(&harp).is_empty());
        assert_eq!(position.mode(&harp, &SCALES), None);
        assert_eq!(tabs(position.tonic_ways(&harp)), ways, "{position}");
    }
}

/// Natural minor: 1st Dorian, 2nd Aeolian; Dorian: 1st Mixolydian, 2nd Dorian; major seventh: 2nd Ionian (computed from
/// the reeds). Harmonic minor and its first position: encyclopaedia. Solo has the modes of Richter.
#[test]
fn modes_of_other_tunings() {
    for (tuning, number, mode) in [
        ("natural minor", 1, "Dorian"),
        ("natural minor", 2, "Aeolian"),
        ("Dorian", 1, "Mixolydian"),
        ("Dorian", 2, "Dorian"),
        ("major seventh", 2, "Ionian"),
        ("harmonic minor", 1, "harmonic minor"),
        ("solo", 1, "Ionian"),
        ("solo", 3, "Dorian"),
        ("circular", 1, "Ionian"),
    ] {
        let found = position(number).mode(&tuned("A", tuning), &SCALES).map(|scale| scale.is_called(mode));
        assert_eq!(found, Some(true), "{tuning}, position {number}");
    }
    assert_eq!(position(1).mode(&tuned("A", "country"), &SCALES), None, "F and F♯ both");
}

/// On a circular harp begun on the fifth degree hole 1 blow is not home.
#[test]
fn the_first_position_is_on_the_home_of_the_tuning() {
    let harp = tuned("G", "circular");
    assert_eq!(position(1).tonic(&harp).to_string(), "C");
    assert_eq!(Position::of(&harp, "C".parse().unwrap()), Position::FIRST);
}

/// Second position natural minor on a natural minor harp: 2 draw to 6 blow with the second degree bent (encyclopaedia);
/// harmonic minor: 4 blow to 7 blow on plain notes (the same).
#[test]
fn the_scales_that_the_minor_tunings_are_made_for() {
    let run = |tuning: &str, scale: &str, tonic: &str, low: u8| {
        let map = theory::ScaleMap::new(&tuned("C", tuning), &in_key(scale, tonic));
        let low = layout::Note::new(i32::from(low)).unwrap();
        let notes = map.run_up(low, low.up(12).unwrap());
        let tabs: Vec<String> =
            notes.into_iter().map(|note| TabStyle::default().print(note.simplest().unwrap())).collect();
        tabs.join(" ")
    };
    assert_eq!(run("natural minor", "natural minor", "G", 67), "-2 -3' -3 4 -4 5 -5 6");
    assert_eq!(run("harmonic minor", "harmonic minor", "C", 72), "4 -4 5 -5 6 -6 -7 7");
}

#[test]
fn positions_are_said_and_read() {
    let said: Vec<String> = Position::all().map(|position| position.to_string()).collect();
    assert_eq!(said[..4], ["1st position", "2nd position", "3rd position", "4th position"]);
    assert_eq!(said[10..], ["11th position", "12th position"]);
    for position in Position::all() {
        for text in [position.to_string(), position.number().to_string()] {
            assert_eq!(text.parse(), Ok(position));
        }
    }
    // Folk forum, 2006.
    for (name, number) in [("straight", 1), ("Cross", 2), ("slant", 3)] {
        assert_eq!(name.parse(), Ok(position(number)));
    }
    for wrong in ["0", "13", "", "crooked", "2th"] {
        let message = wrong.parse::<Position>().unwrap_err().to_string();
        assert!(message.contains("1 to 12"), "{message}");
    }
}

/// Position, main chords and missing degrees. The chords under the mouth are those of the table of the trade (common
/// practice, no source: C on the blow, G and B diminished on the low draw, D minor on the middle and the high draw; so
/// IV, I and v in the second position, and in the third little but i); the degrees follow from the layout (OEIS
/// A291810).
const PURPOSES: [(u8, &str, &str); 8] = [
    (1, "I C, no IV, V G", "♭2 ♭3 ♭5 ♭6 ♭7"),
    (2, "I G, IV C, v Dm", "♭2 ♭3 ♭5 ♭6 7"),
    (3, "i Dm, IV G, no V", "♭2 3 ♭5 ♭6 7"),
    (4, "no I, iv Dm, no V", "♭2 3 ♭5 6 7"),
    (5, "no I, no IV, v B°", "2 3 ♭5 6 7"),
    (6, "i B°, no IV, no V", "2 3 5 6 7"),
    (11, "no I, no IV, no V", "1 ♭3 4 ♭6 ♭7"),
    (12, "no I, no IV, V C", "♭2 ♭3 4 ♭6 ♭7"),
];

fn purpose(harp: &Harp, number: u8) -> (Purpose, ScaleInKey) {
    let major = SCALES.find("major").unwrap().clone();
    let key = ScaleInKey::in_position(major, harp, position(number));
    (Purpose::new(harp, &key), key)
}

#[test]
fn what_a_position_is_for() {
    let harp = harp("C");
    for (number, chords, lacks) in PURPOSES {
        let (purpose, key) = purpose(&harp, number);
        assert_eq!(purpose.chord_names(&key), chords, "{number}");
        assert_eq!(purpose.lack_names(), format!("lacks {lacks}"), "{number}");
        assert!(purpose.suits.is_some());
    }
    let (second, key) = purpose(&harp, 2);
    assert_eq!(
        second.chord_words(&key),
        "I is G, draw 3 or more neighbours of 1 to 4; IV is C, blow 3 or more neighbours of 1 to 10; V is Dm, draw 4 \
         to 6, 8 to 10"
    );
    assert_eq!(second.lack_words(), "no reed sounds ♭2, ♭3, ♭5, ♭6 or 7");
}

#[test]
fn what_richter_positions_suit_is_said_of_no_other_reeds() {
    for known in &*crate::TUNINGS {
        let harp = tuned("A", known.tuning.name());
        for number in 1..=12 {
            assert_eq!(
                purpose(&harp, number).0.suits.is_some(),
                known.tuning.name() == "Richter",
                "{known:?}"
            );
        }
    }
    // Minor chords on blow and draw (encyclopaedia): i and iv of the second position, v where Richter has it too.
    let (minor, key) = purpose(&tuned("A", "natural minor"), 2);
    assert_eq!(minor.chord_names(&key), "i Em, iv Am, v Bm");
    // Every breath stacks thirds, so there is a chord on every degree (a hobbyist's page, archived).
    let (circular, key) = purpose(&tuned("G", "circular"), 1);
    assert_eq!(circular.chord_names(&key), "I C, IV F, V G");
    // Fully chromatic with bends, but no major and no minor chord under the mouth.
    let (diminished, key) = purpose(&tuned("C", "diminished"), 1);
    assert!(
        diminished.chords.iter().flat_map(|chord| &chord.triads).all(|(chord, _)| chord.kind.symbol() == "°")
    );
    assert!(!diminished.chord_names(&key).is_empty());
}
