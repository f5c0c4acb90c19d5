//! Chords: where they lie (table of the trade, computed from the Richter layout), and their names and numerals against
//! music21.

use crate::references::{music21, rows, text, texts};
use crate::{harp, in_key, joined, name, note};
use layout::{Breath, Note};
use serde_json::Value;
use std::collections::BTreeSet;
use theory::{Chord, ChordGroup, Degree, Function, Grip, HarpChord, Place, Progressions};

/// music21's names of the kinds that we name too, and our symbols for them.
const KINDS: [(&str, &str); 22] = [
    ("major", ""),
    ("minor", "m"),
    ("augmented", "+"),
    ("diminished", "°"),
    ("dominant-seventh", "7"),
    ("major-seventh", "maj7"),
    ("minor-major-seventh", "m(maj7)"),
    ("minor-seventh", "m7"),
    ("augmented-major-seventh", "+maj7"),
    ("augmented-seventh", "+7"),
    ("half-diminished-seventh", "ø7"),
    ("diminished-seventh", "°7"),
    ("seventh-flat-five", "7♭5"),
    ("major-sixth", "6"),
    ("minor-sixth", "m6"),
    ("major-ninth", "maj9"),
    ("dominant-ninth", "9"),
    ("minor-ninth", "m9"),
    ("suspended-second", "sus2"),
    ("suspended-fourth", "sus4"),
    ("suspended-fourth-seventh", "7sus4"),
    ("power", "5"),
];

fn our_symbol(kind: &str) -> Option<&'static str> {
    KINDS.iter().find(|(theirs, _)| *theirs == kind).map(|(_, ours)| *ours)
}

#[test]
fn chord_kinds_have_the_notes_that_music21_gives_them() {
    let reference = music21();
    let key = in_key("chromatic", "C");
    let mut compared = BTreeSet::new();
    for row in rows(&reference, "kinds") {
        let Some(symbol) = our_symbol(text(row, "kind")) else { continue };
        let root = name(text(row, "root"));
        let theirs: Vec<_> = texts(row, "notes").into_iter().map(name).collect();
        let names = Chord::names(&stack(&theirs));
        let found = names.iter().find(|c| c.kind.symbol() == symbol && c.root == root.pitch_class());
        let found = found.unwrap_or_else(|| panic!("{root}{symbol} is not found in {}", joined(&theirs)));
        let ours: BTreeSet<_> = found.kind.degrees().map(|degree| root.at(degree)).collect();
        assert_eq!(ours, theirs.iter().copied().collect(), "{root}{symbol} {}", found.symbol(&key));
        compared.insert(symbol);
    }
    assert_eq!(compared.len(), KINDS.len(), "{compared:?}");
}

/// Notes with these names, each above the one before.
fn stack(names: &[theory::NoteName]) -> Vec<Note> {
    let mut last = 47;
    names
        .iter()
        .map(|name| {
            let up = (i32::from(name.pitch_class().semitones()) - last).rem_euclid(12);
            last += if up == 0 { 12 } else { up };
            note(last)
        })
        .collect()
}

fn midi(row: &Value) -> Vec<Note> {
    row["midi"].as_array().unwrap().iter().map(|n| note(n.as_i64().unwrap() as i32)).collect()
}

/// Our name for the notes of a row that agrees with music21, or `None` if music21 has no name for them or a kind that
/// we lack. A diminished seventh and an augmented triad divide the octave evenly, so that any of their notes may be the
/// root: music21 decides by the spelling, this crate by the bass.
fn same_chord(row: &Value) -> Option<Chord> {
    let kind = row["kind"].as_str().and_then(our_symbol)?;
    let root = name(text(row, "root")).pitch_class();
    let names = Chord::names(&midi(row));
    let any_root = ["°7", "+"].contains(&kind);
    let same = names.iter().find(|c| c.kind.symbol() == kind && (any_root || c.root == root));
    Some(*same.unwrap_or_else(|| panic!("{row}: {names:?}")))
}

#[test]
fn names_of_neighbouring_holes_equal_music21() {
    let reference = music21();
    let compared = rows(&reference, "grips").iter().filter_map(same_chord).count();
    assert!(compared > 100, "{compared}");
}

#[test]
fn roman_numeral_roots_equal_music21() {
    let reference = music21();
    let mut compared = 0;
    for row in rows(&reference, "grips") {
        let root = name(text(row, "root")).pitch_class();
        let Some(chord) = same_chord(row).filter(|chord| chord.root == root) else { continue };
        for numeral in row["numerals"].as_array().unwrap() {
            let tonic = numeral[0].as_str().unwrap();
            let degree =
                Degree::new(numeral[1].as_u64().unwrap() as u8, numeral[2].as_i64().unwrap() as i8).unwrap();
            let ours = chord.function(&in_key("major", tonic));
            assert_eq!(ours.degree.in_octave(), degree.in_octave(), "{row} in {tonic}");
            assert_eq!(ours.kind.is_minor(), numeral[3].as_bool().unwrap(), "{row} in {tonic}");
            if row["tuning"] == "Richter" && ["C", "G", "D", "A", "E", "F"].contains(&tonic) {
                assert_eq!(ours.degree, degree, "{row} in {tonic}");
            }
            compared += 1;
        }
    }
    assert!(compared > 1000, "{compared}");
}

fn rows_of(breath: Breath, symbol: &str) -> String {
    let key = in_key("major", "C");
    let groups = ChordGroup::all(&harp("C"));
    let group = groups
        .iter()
        .find(|group| group.breath == breath && group.names.iter().any(|c| c.symbol(&key) == symbol))
        .unwrap_or_else(|| panic!("no {symbol}"));
    joined(
        group.runs().iter().map(|run| format!("{}:{}-{}", run.at_least, run.holes.start(), run.holes.end())),
    )
}

#[test]
fn chords_lie_where_the_table_of_the_trade_has_them() {
    // "blow, any three or more"; draw 1–3, 2–4, 1–4; 2–5, 1–5; 2–6; 4–6, 8–10; 3–5, 7–9; any four from 3 to 10.
    assert_eq!(rows_of(Breath::Blow, "C"), "3:1-10");
    assert_eq!(rows_of(Breath::Draw, "G"), "3:1-4");
    assert_eq!(rows_of(Breath::Draw, "G7"), "4:2-5 5:1-5");
    assert_eq!(rows_of(Breath::Draw, "G9"), "5:2-6");
    assert_eq!(rows_of(Breath::Draw, "Dm"), "3:4-6 3:8-10");
    assert_eq!(rows_of(Breath::Draw, "B°"), "3:3-5 3:7-9");
    assert_eq!(rows_of(Breath::Draw, "Bø7"), "4:3-10");
    assert_eq!(rows_of(Breath::Draw, "Dm6"), "4:3-10");
}

fn grip(breath: Breath, low: u8, high: u8, grip: Grip) -> HarpChord {
    HarpChord::new(&harp("C"), breath, (low, high), grip).unwrap()
}

#[test]
fn an_ambiguous_chord_carries_both_names() {
    let key = in_key("Mixolydian", "G");
    let names =
        |low| joined(grip(Breath::Draw, low, low + 3, Grip::Together).names().iter().map(|c| c.symbol(&key)));
    assert_eq!(names(3), "Bø7 Dm6/B");
    assert_eq!(names(4), "Dm6 Bø7/D");
    assert_eq!(grip(Breath::Draw, 4, 7, Grip::Together).names()[1].inversion(), 1);
}

#[test]
fn splits_are_the_outer_notes_of_three_to_five_holes() {
    let octave = grip(Breath::Blow, 1, 4, Grip::Outer);
    assert_eq!(octave.interval().unwrap().to_string(), "octave");
    assert_eq!(octave.to_string(), "blow 1 and 4, tongue on 2 and 3");
    assert_eq!(grip(Breath::Draw, 3, 7, Grip::Outer).to_string(), "draw 3 and 7, tongue on 4 to 6");
    assert!(grip(Breath::Draw, 3, 7, Grip::Outer).interval().unwrap().is_octave());
    let all: Vec<HarpChord> = HarpChord::all(&harp("C")).collect();
    // Per breath: 9 + 8 + 7 + 6 rows of two to five holes, 8 + 7 + 6 splits.
    assert_eq!(all.len(), 2 * (30 + 21));
    assert_eq!(all.iter().filter(|c| c.grip == Grip::Outer).count(), 2 * 21);
    // Octaves without technique on a Richter harp: blow 1+4 … 7+10, draw 1+4 and the five-hole ones from 3 to 6.
    let octaves = all.iter().filter(|c| c.interval().is_some_and(|i| i.semitones() == 12));
    assert_eq!(
        joined(octaves.map(|c| format!("{}{}+{}", &c.breath.word()[..1], c.low, c.high))),
        "b1+4 b2+5 b3+6 b4+7 b5+8 b6+9 b7+10 d1+4 d3+7 d4+8 d5+9 d6+10"
    );
}

#[test]
fn thirds_sixths_and_power_chords_have_names() {
    let said = |breath, low, high, how| grip(breath, low, high, how).interval().unwrap().to_string();
    assert_eq!(said(Breath::Draw, 4, 5, Grip::Together), "minor third");
    assert_eq!(said(Breath::Blow, 1, 2, Grip::Together), "major third");
    assert_eq!(said(Breath::Draw, 2, 4, Grip::Outer), "fifth");
    assert_eq!(said(Breath::Draw, 3, 5, Grip::Outer), "tritone");
    assert_eq!(said(Breath::Blow, 2, 4, Grip::Outer), "minor sixth");
    assert_eq!(said(Breath::Blow, 1, 5, Grip::Outer), "octave and major third");
    let power = grip(Breath::Draw, 2, 4, Grip::Outer).names();
    assert_eq!(power[0].symbol(&in_key("blues", "G")), "G5");
}

fn best(progression_key: (&str, &str), function: &str) -> (String, String) {
    let key = in_key(progression_key.0, progression_key.1);
    let places = Place::all(&harp("C"), &key, function.parse().unwrap());
    (places[0].holes.to_string(), joined(&places[0].missing))
}

#[test]
fn the_chords_of_a_second_position_twelve_bar_lie_where_players_find_them() {
    // Computed from the layout: G7 whole on draw 2 to 5; C7 lacks its seventh, D7 its third and seventh.
    let in_g = ("blues", "G");
    assert_eq!(best(in_g, "I7"), ("draw 2 to 5".to_owned(), String::new()));
    assert_eq!(best(in_g, "IV7"), ("blow 1 to 3".to_owned(), "♭7".to_owned()));
    assert_eq!(best(in_g, "V7"), ("draw 4 and 6, tongue on 5".to_owned(), "3 ♭7".to_owned()));
    assert_eq!(best(in_g, "I"), ("draw 2 to 4".to_owned(), String::new()));
}

/// A root or a third makes a chord known; a fifth with a seventh does not (common practice, no source).
#[test]
fn no_place_of_a_chord_lacks_both_its_root_and_its_third() {
    let key = in_key("major", "C");
    for chord in ["I7", "ii7", "♭III7", "IV7", "V7", "♭VI7", "vi7", "♭VII7", "♯iv°"] {
        let chord: Function = chord.parse().unwrap();
        let places = Place::all(&harp("C"), &key, chord);
        // Of E♭7 and A♭7 a C harp has one natural note each, G and C; of F♯ A C it has A drawn and C blown.
        let nowhere = ["♭III7", "♭VI7", "♯iv°"].contains(&chord.to_string().as_str());
        assert_eq!(places.is_empty(), nowhere, "{chord}: {places:?}");
        for place in places {
            let known = place.covers.iter().any(|degree| degree.number() == 1 || degree.number() == 3);
            assert!(known && place.covers.len() > 1, "{} for {chord}", place.holes);
        }
    }
    // D and F of G7 lie side by side on 4 and 5 draw, and on 8 and 9, and are as good as D minor.
    let of_g7 = Place::all(&harp("C"), &key, "V7".parse().unwrap());
    let held = joined(of_g7.iter().map(|place| place.holes.to_string()));
    assert!(
        held.contains("draw 2 to 5") && !held.contains("draw 4 and 5") && !held.contains("4 to 5"),
        "{held}"
    );
}

#[test]
fn rows_of_holes_are_said_as_neighbours() {
    let groups = ChordGroup::all(&harp("C"));
    let said = |symbol: &str| {
        let key = in_key("major", "C");
        let group = groups.iter().find(|group| group.names.iter().any(|c| c.symbol(&key) == symbol)).unwrap();
        joined(group.runs().iter().map(|run| {
            format!("{run}: {}", joined(run.narrowest().map(|(low, high)| format!("{low}-{high}"))))
        }))
    };
    assert_eq!(said("G"), "3 or more neighbours of 1 to 4: 1-3 2-4");
    assert_eq!(said("Dm"), "4 to 6: 4-6 8 to 10: 8-10");
    assert_eq!(said("G7"), "2 to 5: 2-5 1 to 5: 1-5");
}

#[test]
fn every_chord_of_our_progressions_has_a_place_in_each_of_the_first_five_positions() {
    for position in 1..=5 {
        let harp = harp("C");
        let key = theory::ScaleInKey::new(crate::scale("major"), crate::position_tonic(&harp, position));
        for progression in &Progressions::ours() {
            for chord in progression.chords() {
                let tones = theory::chord_tones(&harp, &key, chord);
                assert!(tones.iter().any(|tone| !tone.ways.is_empty()), "{chord} in {}", key.tonic());
                for place in Place::all(&harp, &key, chord) {
                    let wanted: Vec<_> = chord.pitch_classes(&key).collect();
                    assert!(place.holes.pitch_classes().iter().all(|class| wanted.contains(class)));
                    assert_eq!(place.covers.len() + place.missing.len(), wanted.len());
                }
            }
        }
    }
}

#[test]
fn a_twelve_bar_has_twelve_bars() {
    for name in ["twelve-bar", "quick-change twelve-bar", "minor twelve-bar"] {
        assert_eq!(Progressions::ours().find(name).unwrap().bars().len(), 12);
    }
    let chords = joined(Progressions::ours().find("minor twelve-bar").unwrap().chords());
    assert_eq!(chords, "i7 iv7 ♭VI7 V7");
}

#[test]
fn roman_numerals_read_back() {
    for text in ["I", "♭VII7", "iiø7", "vii°", "♯iv°", "Imaj7", "ivadd6", "V7sus4", "III+", "vi", "I5"]
    {
        assert_eq!(text.parse::<Function>().unwrap().to_string(), text);
    }
    for (typed, printed) in
        [("bVII", "♭VII"), ("viio", "vii°"), ("iim7b5", "iiø7"), ("I6", "Iadd6"), ("Vaug", "V+")]
    {
        assert_eq!(typed.parse::<Function>().unwrap().to_string(), printed);
    }
    for text in ["", "7", "IIII", "iV", "H7", "i°°", "Vsus9", "bb", "IX"] {
        assert!(text.parse::<Function>().is_err(), "{text}");
    }
}
