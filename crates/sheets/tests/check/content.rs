//! What a sheet says, against rows computed from the Richter layout (OEIS A291810) and the bend and overbend rules.

use crate::{sheet, tabs};
use layout::{Harp, TabStyle, Tunings};
use sheets::{
    GridCell, GridRow, MarkKind, OctaveNote, Request, Sheet, every_key, every_mode, every_position,
};
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
    // The harmonic minor tuning cannot sound 22 half steps above hole 1 by any technique (facts of the trade,
    // computed).
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

/// The names in a row of the grid, `.` where the hole has none.
fn names(row: &GridRow) -> String {
    let names = row.cells.iter().map(|cell| cell.as_ref().map_or(".", |cell| &cell.name));
    names.collect::<Vec<_>>().join(" ")
}

#[test]
fn the_grid_has_the_reeds_at_the_numbers_and_what_the_mouth_makes_of_them_outwards() {
    // Reeds: OEIS A291810; bends and overbends follow from them by the rules at `layout::Harp::play`. A scale of C, so
    // that the black keys go by their usual names.
    let grid = sheet("C", 1, "chromatic", None).grid;
    let rows = |rows: &[GridRow]| -> Vec<(String, String)> {
        rows.iter().map(|row| (row.words.clone(), names(row))).collect()
    };
    let expected = |rows: &[(&str, &str)]| -> Vec<(String, String)> {
        rows.iter().map(|(words, names)| ((*words).to_owned(), (*names).to_owned())).collect()
    };
    assert_eq!(grid.holes, (1..=10).collect::<Vec<u8>>());
    assert_eq!(
        rows(&grid.blow),
        expected(&[
            ("overblow", "E♭ A♭ C E♭ F♯ B♭ . . . ."),
            ("blow, whole step", ". . . . . . . . . B♭"),
            ("blow, half step", ". . . . . . . E♭ F♯ B"),
            ("blow", "C E G C E G C E G C"),
        ])
    );
    assert_eq!(
        rows(&grid.draw),
        expected(&[
            ("draw", "D G B D F A B D F A"),
            ("draw, half step", "D♭ F♯ B♭ D♭ . A♭ . . . ."),
            ("draw, whole step", ". F A . . . . . . ."),
            ("draw, 1½ steps", ". . A♭ . . . . . . ."),
            ("overdraw", ". . . . . . D♭ F A♭ D♭"),
        ])
    );
}

#[test]
fn the_grid_marks_what_the_scale_has_the_tonic_and_what_is_out_of_reach() {
    let grid = sheet("C", 2, "blues", Some(Level::Plain)).grid;
    let degrees = |row: &GridRow| {
        let degree = |cell: &GridCell| {
            let degree = cell.degree.clone().unwrap_or_else(|| "-".to_owned());
            let tonic = if cell.tonic { "!" } else { "" };
            if cell.reachable { format!("{degree}{tonic}") } else { format!("[{degree}{tonic}]") }
        };
        let cells = row.cells.iter().map(|cell| cell.as_ref().map_or(".".to_owned(), degree));
        cells.collect::<Vec<_>>().join(" ")
    };
    // G blues is G B♭ C D♭ D F (common practice, no source).
    assert_eq!(degrees(&grid.blow[3]), "4 - 1! 4 - 1! 4 - 1! 4");
    assert_eq!(degrees(&grid.draw[0]), "5 1! - 5 ♭7 - - 5 ♭7 -");
    assert_eq!(degrees(&grid.draw[1]), "[♭5] [-] [♭3] [♭5] . [-] . . . .");
}

/// On the way down the melodic minor scale is the natural minor (music21 says the same: tests/references).
#[test]
fn what_a_scale_has_in_one_direction_only_stands_everywhere_with_an_arrow() {
    let sheet = sheet("C", 3, "melodic minor", None);
    let low = &sheet.octaves[1];
    assert_eq!(low.name, "D4 to D5");
    let said = |of: fn(&OctaveNote) -> &str| low.notes.iter().map(of).collect::<Vec<_>>().join(" ");
    assert_eq!(said(|note| &note.degree), "1 2 ♭3 4 5 ♭6↓ 6↑ ♭7↓ 7↑ 1");
    assert_eq!(said(|note| &note.name), "D4 E4 F4 G4 A4 B♭4 B4 C5 C♯5 D5");
    let marks = sheet.stair.rows[2].marks.iter().filter_map(|mark| mark.degree.as_deref());
    assert_eq!(marks.collect::<Vec<_>>(), ["4", "5", "♭6↓", "6↑", "♭7↓"]);
    assert!(sheet.stair.columns.iter().any(|column| column.name == "B♭"));
    let blow: Vec<&str> =
        sheet.grid.blow[3].cells.iter().flatten().filter_map(|cell| cell.degree.as_deref()).collect();
    assert_eq!(blow, ["♭7↓", "2", "4", "♭7↓", "2", "4", "♭7↓", "2", "4", "♭7↓"]);
    assert!(sheet.facts.iter().any(|fact| fact.contains("only on the way down (↓)")), "{:?}", sheet.facts);
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
fn a_sheet_has_a_name_for_its_file() {
    assert_eq!(sheet("C", 2, "blues", None).file_stem(), "c-harp-2nd-position-g-blues");
    assert_eq!(sheet("low F♯", 1, "major", None).file_stem(), "low-f-sharp-harp-1st-position-f-sharp-major");
    assert_eq!(sheet("B♭", 12, "Lydian", None).file_stem(), "b-flat-harp-12th-position-e-flat-lydian");
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
