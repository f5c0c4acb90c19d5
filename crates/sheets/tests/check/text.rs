//! Plain text.

use crate::{sheet, tabs};
use layout::{ConcertPitch, Harp, TabStyle, Tunings};
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
    for tuning in &Tunings::ours() {
        let harp = Harp::new("low F".parse().unwrap(), tuning.tuning.clone(), ConcertPitch::ISO);
        let (scales, tab) = (Scales::ours(), TabStyle::default());
        let scale = scales.find("chromatic").unwrap();
        let sheet =
            Sheet::new(&Request { harp: &harp, position: Position::FIRST, scale, ability: None, tab: &tab });
        let lines = stair_lines(&sheet.stair, Letters::Unicode);
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
}

#[test]
fn a_form_feed_stands_between_two_sheets() {
    let two = [sheet("C", 1, "major", None), sheet("C", 2, "blues", None)];
    assert_eq!(to_text(&two, Letters::Unicode).split('\u{c}').count(), 2);
}
