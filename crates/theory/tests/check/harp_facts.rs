//! Where scales lie on a Richter harp. The tab rows and counts are computed from the layout (OEIS A291810) and the bend
//! and overbend rules; the statements about positions are common practice, no source. All hold for all twelve keys.

use crate::{harp, joined, note, position_tonic, scale};
use layout::{Harp, HarpKey, Note, TabStyle};
use theory::{MapNote, Need, ScaleInKey, ScaleMap};

/// The twelve usual keys, and how far each lies above the C harp.
fn harps() -> impl Iterator<Item = (Harp, i32)> {
    (55..=66).map(|midi| (Harp::richter(HarpKey::from_blow_1(note(midi))), midi - 60))
}

fn map(harp: &Harp, scale_name: &str, position: i32) -> ScaleMap {
    ScaleMap::new(harp, &ScaleInKey::new(scale(scale_name), position_tonic(harp, position)))
}

fn tab<'a>(notes: impl IntoIterator<Item = &'a MapNote>) -> String {
    joined(
        notes.into_iter().map(|n| n.simplest().map_or("?".to_owned(), |way| TabStyle::default().print(way))),
    )
}

/// Scale, position, first note on a C harp (MIDI), run up one octave.
const RUNS: [(&str, i32, i32, &str); 7] = [
    ("blues", 2, 67, "-2 -3' 4 -4' -4 -5 6"),
    ("blues", 1, 84, "7 8' -9 9' 9 10'' 10"),
    ("blues", 3, 74, "-4 -5 6 -6' -6 7 -8"),
    ("blues", 4, 69, "-3'' 4 -4 4o 5 6 -6"),
    ("major", 1, 60, "1 -1 2 -2'' -2 -3'' -3 4"),
    ("Mixolydian", 2, 67, "-2 -3'' -3 4 -4 5 -5 6"),
    ("major pentatonic", 2, 67, "-2 -3'' -3 -4 5 6"),
];

#[test]
fn one_octave_runs_are_those_of_the_check_rows() {
    for (harp, up) in harps() {
        for (scale_name, position, low, row) in RUNS {
            let map = map(&harp, scale_name, position);
            assert_eq!(
                tab(map.run_up(note(low + up), note(low + up + 12))),
                row,
                "{scale_name} on {}",
                harp.key()
            );
            let down = tab(map.run_down(note(low + up + 12), note(low + up)));
            let turned = joined(row.split(' ').rev());
            assert_eq!(down, turned, "{scale_name} on {} downwards", harp.key());
        }
    }
}

/// The notes from `low` to `high` (MIDI on a C harp) that ask for some technique, as tab.
fn needing(map: &ScaleMap, up: i32, low: i32, high: i32) -> String {
    let run = map.run_up(note(low + up), note(high + up));
    tab(run.into_iter().filter(|n| n.need() > Need::Nothing))
}

#[test]
fn second_position_pentatonics_and_blues() {
    for (harp, up) in harps() {
        // "One bend only over the whole harp" holds from the lowest reed to 10 draw; the 3 above that, which players
        // leave out, is a bend of 10 blow.
        let major = map(&harp, "major pentatonic", 2);
        assert_eq!(needing(&major, up, 60, 93), "-3''");
        assert_eq!(needing(&major, up, 94, 97), "10'");
        let minor = map(&harp, "minor pentatonic", 2);
        assert_eq!(needing(&minor, up, 60, 79), "-2'' -3'");
        assert_eq!(needing(&minor, up, 79, 91), "6o");
        let blues = scale("blues").degrees().len();
        assert_eq!(blues, scale("minor pentatonic").degrees().len() + 1);
    }
}

#[test]
fn first_position_major_needs_bends_only_in_the_low_octave() {
    for (harp, up) in harps() {
        let map = map(&harp, "major", 1);
        assert_eq!(needing(&map, up, 72, 84), "");
        assert_eq!(needing(&map, up, 60, 72), "-2'' -3''");
    }
}

#[test]
fn third_position_natural_minor_needs_one_overblow_in_the_middle_octave() {
    for (harp, up) in harps() {
        let map = map(&harp, "natural minor", 3);
        assert_eq!(needing(&map, up, 74, 86), "6o");
        assert_eq!(needing(&map, up, 62, 74), "-2'' -3'' -3'");
    }
}

#[test]
fn fourth_position_natural_minor_starts_on_a_bend_and_needs_no_other() {
    for (harp, up) in harps() {
        let map = map(&harp, "natural minor", 4);
        assert_eq!(needing(&map, up, 69, 81), "-3''");
        assert_eq!(lowest_tonic(&map), note(69 + up));
    }
}

#[test]
fn fifth_and_twelfth_position_start_where_players_start_them() {
    for (harp, up) in harps() {
        let fifth = map(&harp, "minor pentatonic", 5);
        assert_eq!(tab([&octave_from_lowest_tonic(&fifth)[0]]), "2");
        let second = map(&harp, "major pentatonic", 2);
        let sounds = |map: &ScaleMap| joined(map.notes().iter().map(|n| n.note));
        assert_eq!(sounds(&fifth), sounds(&second));
        let twelfth = map(&harp, "Lydian", 12);
        assert_eq!(lowest_tonic(&twelfth), note(65 + up));
        assert_eq!(tab([&octave_from_lowest_tonic(&twelfth)[0]]), "-2''");
    }
}

fn octave_from_lowest_tonic(map: &ScaleMap) -> Vec<MapNote> {
    map.octaves().into_iter().find(|octave| octave.whole).unwrap().notes.to_vec()
}

fn lowest_tonic(map: &ScaleMap) -> Note {
    octave_from_lowest_tonic(map)[0].note
}

/// Notes from the lowest to the highest reed that ask for nothing, and all notes there.
fn unbent_of(map: &ScaleMap, up: i32) -> (usize, usize) {
    let run = map.run_up(note(60 + up), note(96 + up));
    (run.iter().filter(|n| n.need() == Need::Nothing).count(), run.len())
}

#[test]
fn the_minor_pentatonic_is_easiest_in_fourth_position() {
    for (harp, up) in harps() {
        let counts: Vec<(usize, usize)> =
            (1..=12).map(|p| unbent_of(&map(&harp, "minor pentatonic", p), up)).collect();
        assert_eq!(counts[3], (15, 16));
        let easiest = counts.iter().map(|(unbent, all)| all - unbent).min();
        assert_eq!(easiest, Some(1));
    }
}

#[test]
fn the_blues_needs_an_overbend_in_every_position_over_the_full_range() {
    for (harp, _) in harps() {
        for position in 1..=12 {
            let map = map(&harp, "blues", position);
            assert!(map.count(|need| need >= Need::Overbend) > 0, "position {position}");
        }
    }
}

#[test]
fn the_chromatic_scale_counts_what_the_harp_has() {
    // 19 distinct unbent notes (encyclopaedia, Richter-tuned harmonica), 31 with bends, 38 with overbends, from MIDI
    // key 60 to 97.
    let map = map(&harp("C"), "chromatic", 1);
    assert_eq!(map.count(|need| need == Need::Nothing), 19);
    assert_eq!(map.count(|need| need <= Need::Bend(3)), 31);
    assert_eq!(map.count(|need| need <= Need::Overbend), 38);
    assert_eq!(map.count(|need| need == Need::Impossible), 0);
    let overbends = map.notes().iter().filter(|n| n.need() == Need::Overbend);
    assert_eq!(joined(overbends.map(|n| n.note.midi())), "63 75 78 82 85 92 97");
}

#[test]
fn octaves_begin_and_end_on_the_tonic() {
    let map = map(&harp("C"), "blues", 2);
    let octaves = map.octaves();
    let said = joined(octaves.iter().map(|o| {
        let (low, high) = o.range().unwrap();
        format!("{low}-{high}{}", if o.whole { "" } else { "…" })
    }));
    assert_eq!(said, "C4-G4… G4-G5 G5-G6 G6-D♭7…");
}

#[test]
fn a_scale_that_falls_otherwise_runs_down_by_its_falling_notes() {
    let harp = harp("C");
    let map = ScaleMap::new(&harp, &crate::in_key("melodic minor", "C"));
    assert_eq!(joined(map.run_up(note(60), note(72)).iter().map(|n| n.name())), "C4 D4 E♭4 F4 G4 A4 B4 C5");
    assert_eq!(
        joined(map.run_down(note(72), note(60)).iter().map(|n| n.name())),
        "C5 B♭4 A♭4 G4 F4 E♭4 D4 C4"
    );
}

/// The melodic minor has the ♭6 and ♭7 on its way down only (any theory primer).
#[test]
fn a_map_of_either_way_has_the_notes_of_both() {
    let harp = harp("C");
    let map = ScaleMap::new(&harp, &crate::in_key("melodic minor", "C"));
    let octave = map.notes_either_way().iter().filter(|n| (60..72).contains(&n.note.midi()));
    let said = joined(octave.map(|n| format!("{}{:?}", n.is.step.degree, n.direction)));
    assert_eq!(said, "1Both 2Both ♭3Both 4Both 5Both ♭6Down 6Up ♭7Down 7Up");
    let blues = ScaleMap::new(&harp, &crate::in_key("blues", "G"));
    assert_eq!(blues.notes_either_way(), blues.notes());
}
