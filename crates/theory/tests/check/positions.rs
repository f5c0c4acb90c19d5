//! The twelve positions of a Richter harp: modes and the functions of the chords under the mouth.

use crate::{harp, in_key, joined, note, position_tonic, scale};
use layout::{Breath, Harp, HarpKey, PitchClass};
use std::collections::BTreeSet;
use theory::{ChordGroup, Need, ScaleInKey, ScaleMap};

/// Position, mode of the unbent notes, lowest note (MIDI) of the octave that needs no technique on a C harp. Modes:
/// harmonica list archive, March 2012, message 00904; octaves computed there from the Richter layout (OEIS A291810).
const MODES: [(i32, &str, i32); 7] = [
    (1, "major", 72),
    (2, "Mixolydian", 79),
    (3, "Dorian", 74),
    (4, "natural minor", 81),
    (5, "Phrygian", 76),
    (6, "Locrian", 71),
    (12, "Lydian", 77),
];

/// Roman numerals in the positions 1, 2, 3, 4, 5 and 12. Computed, with the roots equal to a general-purpose library's
/// in all pairs (`chords.rs` compares them again).
const FUNCTIONS: [(&str, Breath, &str); 7] = [
    ("C", Breath::Blow, "I IV ♭VII ♭III ♭VI V"),
    ("G", Breath::Draw, "V I IV ♭VII ♭III II"),
    ("G7", Breath::Draw, "V7 I7 IV7 ♭VII7 ♭III7 II7"),
    ("G9", Breath::Draw, "V9 I9 IV9 ♭VII9 ♭III9 II9"),
    ("Dm", Breath::Draw, "ii v i iv ♭vii vi"),
    ("B°", Breath::Draw, "vii° iii° vi° ii° v° ♯iv°"),
    ("Bø7", Breath::Draw, "viiø7 iiiø7 viø7 iiø7 vø7 ♯ivø7"),
];

fn mode_in(harp: &Harp, position: i32) -> ScaleInKey {
    let (_, mode, _) = MODES.iter().find(|row| row.0 == position).unwrap();
    ScaleInKey::new(scale(mode), position_tonic(harp, position))
}

#[test]
fn the_unbent_notes_of_each_position_are_its_mode() {
    for key in HarpKey::all() {
        let harp = Harp::richter(key);
        let unbent: BTreeSet<PitchClass> = (1..=10)
            .flat_map(|hole| [harp.reed(hole, Breath::Blow), harp.reed(hole, Breath::Draw)])
            .map(|reed| reed.unwrap().pitch_class())
            .collect();
        for (position, _, _) in MODES {
            let mode: BTreeSet<PitchClass> =
                mode_in(&harp, position).notes().map(|n| n.name.pitch_class()).collect();
            assert_eq!(mode, unbent, "position {position} of {key}");
        }
    }
}

#[test]
fn each_mode_has_an_octave_that_needs_nothing() {
    for key in HarpKey::all() {
        let harp = Harp::richter(key);
        let up = i32::from(key.blow_1().midi()) - 60;
        for (position, _, low) in MODES {
            let map = ScaleMap::new(&harp, &mode_in(&harp, position));
            let run = map.run_up(note(low + up), note(low + up + 12));
            assert_eq!(run.len(), 8);
            assert!(run.iter().all(|n| n.need() == Need::Nothing), "position {position} of {key}");
        }
    }
}

#[test]
fn chords_under_the_mouth_work_as_the_table_says() {
    let harp = harp("C");
    let groups = ChordGroup::all(&harp);
    let major = in_key("major", "C");
    for (symbol, breath, functions) in FUNCTIONS {
        let chord = groups
            .iter()
            .filter(|group| group.breath == breath)
            .flat_map(|group| &group.names)
            .find(|chord| chord.symbol(&major) == symbol)
            .unwrap_or_else(|| panic!("no {symbol}"));
        let ours = joined([1, 2, 3, 4, 5, 12].map(|p| chord.function(&mode_in(&harp, p))));
        assert_eq!(ours, functions, "{symbol}");
    }
}

#[test]
fn functions_are_the_same_on_every_harp() {
    let on_c = harp("C");
    for key in HarpKey::all() {
        let harp = Harp::richter(key);
        for (position, _, _) in MODES {
            let all = |harp: &Harp| {
                let key = mode_in(harp, position);
                joined(
                    ChordGroup::all(harp)
                        .iter()
                        .map(|group| joined(group.names.iter().map(|c| c.function(&key)))),
                )
            };
            assert_eq!(all(&harp), all(&on_c), "position {position} of {key}");
        }
    }
}
