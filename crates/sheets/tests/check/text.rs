//! Plain text.

use crate::{sheet, tabs};
use layout::{ConcertPitch, Harp, TabStyle, Tuning, Tunings};
use sheets::{Letters, Request, Sheet, stair_lines, to_text};
use theory::{Level, Position, Scales};

#[test]
fn a_sheet_for_one_player() {
    insta::assert_snapshot!(to_text(&[sheet("C", 2, "blues", Some(Level::DrawBends))], Letters::Unicode));
}

#[test]
fn a_stair_in_plain_letters() {
    let lines = stair_lines(&sheet("D♭", 12, "Lydian", Some(Level::Plain)).stair, Letters::Ascii);
    insta::assert_snapshot!(lines.join("\n"));
}

#[test]
fn every_tab_is_in_the_text() {
    let sheet = sheet("A♭", 3, "natural minor", None);
    let text = to_text(std::slice::from_ref(&sheet), Letters::Unicode);
    for tab in tabs(&sheet) {
        assert!(text.contains(&format!("  {tab}  ")), "{tab}");
    }
}

#[test]
fn a_stair_too_wide_for_the_page_comes_in_banks_that_fit() {
    let mut wide = 0;
    for tuning in &Tunings::ours() {
        let harp = Harp::new("low F".parse().unwrap(), tuning.tuning.clone(), ConcertPitch::ISO);
        let (scales, tab) = (Scales::ours(), TabStyle::default());
        let scale = scales.find("chromatic").unwrap();
        let sheet =
            Sheet::new(&Request { harp: &harp, position: Position::FIRST, scale, ability: None, tab: &tab });
        let lines = stair_lines(&sheet.stair, Letters::Unicode);
        assert!(lines.iter().all(|line| line.chars().count() <= 80), "{}", tuning.tuning.name());
        // Two columns to the semitone beside the numbers of the holes.
        wide += usize::from(sheet.stair.semitones() > 38);
        for row in &sheet.stair.rows {
            let own: Vec<&String> =
                lines.iter().filter(|line| line.starts_with(&format!("{:>2} ", row.hole))).collect();
            assert_eq!(own.len(), 1, "hole {} of {}", row.hole, tuning.tuning.name());
            let glyphs = own[0].chars().filter(|c| "▲▼┼○".contains(*c)).count();
            // Reeds of the same pitch share a mark.
            let mut notes: Vec<_> = row.marks.iter().map(|mark| mark.note).collect();
            notes.dedup();
            assert_eq!(glyphs, notes.len(), "hole {} of {}: {}", row.hole, tuning.tuning.name(), own[0]);
        }
    }
    assert!(wide > 0, "no tuning is too wide for one bank");
}

#[test]
fn a_grid_too_wide_for_the_page_comes_in_banks_that_fit() {
    let reeds = |from: i8| (0..16).map(|hole| from + 3 * hole).collect::<Vec<i8>>();
    let tuning = Tuning::new("wide", &reeds(0), &reeds(2)).unwrap();
    let harp = Harp::new("low C".parse().unwrap(), tuning, ConcertPitch::ISO);
    let (scales, tab) = (Scales::ours(), TabStyle::default());
    let scale = scales.find("chromatic").unwrap();
    let sheet =
        Sheet::new(&Request { harp: &harp, position: Position::FIRST, scale, ability: None, tab: &tab });
    let text = to_text(&[sheet], Letters::Unicode);
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let numbers: Vec<&str> =
        text.lines().filter_map(|line| line.strip_prefix("hole ")).flat_map(str::split_whitespace).collect();
    assert_eq!(numbers.join(" "), "1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16");
}

#[test]
fn there_are_lines_to_write_on() {
    let text = to_text(&[sheet("C", 2, "blues", None)], Letters::Ascii);
    let (_, practice) = text.split_once("Practice\n--------\n").unwrap();
    let head: Vec<&str> =
        practice.lines().next().unwrap().split("  ").filter(|word| !word.is_empty()).collect();
    assert_eq!(head[..2].iter().map(|word| word.trim()).collect::<Vec<_>>(), ["date", "tempo"]);
    let ruled =
        practice.lines().filter(|line| line.starts_with("____") && line.split("  ").count() == 3).count();
    assert_eq!(ruled, 8);
}

#[test]
fn a_form_feed_stands_between_two_sheets() {
    let two = [sheet("C", 1, "major", None), sheet("C", 2, "blues", None)];
    assert_eq!(to_text(&two, Letters::Unicode).split('\u{c}').count(), 2);
}
