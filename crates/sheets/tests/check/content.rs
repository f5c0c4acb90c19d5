//! What a sheet says, against rows computed from the Richter layout (OEIS A291810) and the bend and overbend rules.

use crate::{sheet, tabs};
use layout::{Harp, TabStyle, Tunings};
use sheets::{MarkKind, Request, Sheet, every_key, every_mode, every_position};
use theory::{Level, Position, Scales};

#[test]
fn the_low_octave_of_second_position_blues_is_the_check_row() {
    let sheet = sheet("C", 2, "blues", None);
    let low = &sheet.octaves[1];
    assert_eq!(low.name, "G4 to G5");
    let row: Vec<&str> = low.notes.iter().map(|note| note.tab.split(' ').next().unwrap()).collect();
    assert_eq!(row.join(" "), "-2 -3' 4 -4' -4 -5 6");
    let degrees: Vec<&str> = low.notes.iter().map(|note| note.degree.as_str()).collect();
    assert_eq!(degrees.join(" "), "1 ♭3 4 ♭5 5 ♭7 1");
}

#[test]
fn what_is_out_of_reach_stands_in_brackets() {
    let own = sheet("C", 2, "blues", Some(Level::DrawBends));
    let far: Vec<&str> =
        own.octaves.iter().flat_map(|o| &o.notes).filter(|n| !n.reachable).map(|n| n.tab.as_str()).collect();
    assert_eq!(far, ["[6o]", "[-7o]", "[10'']", "[-10o]"]);
    let everybodys = sheet("C", 2, "blues", None);
    assert!(tabs(&everybodys).iter().all(|tab| !tab.contains('[')));
    assert!(own.stair.has_gaps() && !everybodys.stair.has_gaps());
}

#[test]
fn a_note_that_the_harp_cannot_sound_is_said_to_be_missing() {
    // The harmonic minor tuning cannot sound 22 half steps above hole 1 by any technique (facts of the trade, computed).
    let tuning = Tunings::ours().find("harmonic minor").unwrap().tuning;
    let harp = Harp::new("C".parse().unwrap(), tuning, layout::ConcertPitch::ISO);
    let scales = Scales::ours();
    let scale = scales.find("chromatic").unwrap();
    let tab = TabStyle::default();
    let request = Request { harp: &harp, position: Position::FIRST, scale, ability: None, tab: &tab };
    let sheet = Sheet::new(&request);
    let missing = sheet.octaves.iter().flat_map(|o| &o.notes).find(|note| note.name == "B♭5").unwrap();
    assert_eq!((missing.tab.as_str(), missing.technique.as_str()), ("–", "not there"));
    assert_eq!(missing.words, "not on this harp");
}

#[test]
fn the_stair_stands_on_the_reeds_with_the_bends_between_and_the_overbend_beyond() {
    let sheet = sheet("C", 1, "major", None);
    let third = &sheet.stair.rows[2];
    let marks: Vec<(u8, MarkKind)> = third.marks.iter().map(|mark| (mark.note.midi(), mark.kind)).collect();
    assert_eq!(
        marks,
        [
            (67, MarkKind::Blow),
            (68, MarkKind::Bend),
            (69, MarkKind::Bend),
            (70, MarkKind::Bend),
            (71, MarkKind::Draw),
            (72, MarkKind::Overbend),
        ]
    );
    assert_eq!(sheet.stair.semitones(), 38);
    let degrees: Vec<&str> = third.marks.iter().filter_map(|mark| mark.degree.as_deref()).collect();
    assert_eq!(degrees, ["5", "6", "7", "1"]);
}

#[test]
fn the_main_chords_take_the_third_and_the_seventh_of_the_scale() {
    let functions =
        |sheet: &Sheet| sheet.places.iter().map(|place| place.function.clone()).collect::<Vec<_>>().join(" ");
    assert_eq!(functions(&sheet("C", 2, "blues", None)), "I7 IV7 V7");
    assert_eq!(functions(&sheet("C", 1, "major", None)), "I IV V");
    assert_eq!(functions(&sheet("C", 3, "Dorian", None)), "i7 iv7 v7");
    assert_eq!(functions(&sheet("C", 2, "major pentatonic", None)), "I IV V");
}

#[test]
fn booklets_hold_the_sheets_that_they_promise() {
    let harp = Harp::richter("C".parse().unwrap());
    let scales = Scales::ours();
    let scale = scales.find("blues").unwrap();
    let tab = TabStyle::default();
    let request =
        Request { harp: &harp, position: Position::new(2).unwrap(), scale, ability: None, tab: &tab };
    let titles = |sheets: Vec<Sheet>| sheets.into_iter().map(|sheet| sheet.title).collect::<Vec<_>>();
    let positions = titles(every_position(&request));
    assert_eq!(positions.len(), 12);
    assert_eq!(positions[2], "C harp, 3rd position: D blues");
    let keys = titles(every_key(&request));
    assert_eq!(keys.len(), 12);
    assert!(
        keys.contains(&"F♯ harp, 2nd position: C♯ blues".to_owned())
            || keys.contains(&"F♯ harp, 2nd position: D♭ blues".to_owned()),
        "{keys:?}"
    );
    // Modes of the plain notes: harmonica list archive, March 2012, message 00904.
    let modes = titles(every_mode(&request, &scales));
    assert_eq!(
        modes,
        [
            "C harp, 1st position: C major",
            "C harp, 2nd position: G Mixolydian",
            "C harp, 3rd position: D Dorian",
            "C harp, 4th position: A natural minor",
            "C harp, 5th position: E Phrygian",
            "C harp, 6th position: B Locrian",
            "C harp, 12th position: F Lydian",
        ]
    );
}
