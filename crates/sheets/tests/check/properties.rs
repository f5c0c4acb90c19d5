//! What holds for any sheet.

use layout::{ConcertPitch, Harp, HarpKey, TabStyle, Tunings};
use proptest::prelude::*;
use proptest::sample::select;
use sheets::{Letters, Paper, Request, Sheet, to_html, to_pdf, to_svg, to_text};
use theory::{Ability, Level, Position, Scale, Scales};

fn any_sheet() -> impl Strategy<Value = Sheet> {
    let scales: Vec<Scale> = Scales::ours().iter().cloned().collect();
    let tunings: Vec<_> = Tunings::ours().iter().map(|known| known.tuning.clone()).collect();
    let keys: Vec<HarpKey> = HarpKey::all().collect();
    let levels: Vec<Option<Level>> = std::iter::once(None).chain(Level::ALL.map(Some)).collect();
    (
        select(scales),
        select(tunings),
        select(keys),
        select(levels),
        1..=12_u8,
        select(TabStyle::NAMES.to_vec()),
    )
        .prop_map(|(scale, tuning, key, level, position, style)| {
            let harp = Harp::new(key, tuning, ConcertPitch::ISO);
            let ability = level.map(Ability::new);
            let position = Position::new(position).unwrap();
            let tab = TabStyle::named(style).unwrap();
            Sheet::new(&Request {
                harp: &harp,
                position,
                scale: &scale,
                ability: ability.as_ref(),
                tab: &tab,
            })
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn no_line_of_text_is_wider_than_eighty_columns(sheet in any_sheet()) {
        for letters in [Letters::Unicode, Letters::Ascii] {
            let text = to_text(std::slice::from_ref(&sheet), letters);
            for line in text.lines() {
                prop_assert!(line.chars().count() <= 80, "{line}");
                prop_assert_eq!(line.trim_end(), line);
            }
            prop_assert!(letters == Letters::Unicode || text.is_ascii(), "{}", text);
            prop_assert!(letters == Letters::Unicode || !text.contains('?'), "{}", text);
        }
    }

    #[test]
    fn the_same_sheet_gives_the_same_bytes(sheet in any_sheet()) {
        let one = std::slice::from_ref(&sheet);
        prop_assert_eq!(to_pdf("x", one, Paper::A4), to_pdf("x", one, Paper::A4));
        prop_assert_eq!(to_html("x", one, Paper::A4), to_html("x", one, Paper::A4));
    }

    #[test]
    fn every_form_can_be_read(sheet in any_sheet()) {
        prop_assert!(roxmltree::Document::parse(&to_svg(&sheet, Paper::A4)).is_ok());
        let html = to_html("x", std::slice::from_ref(&sheet), Paper::Letter);
        let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
        prop_assert!(roxmltree::Document::parse_with_options(&html, options).is_ok());
    }

    #[test]
    fn any_name_of_a_scale_is_survived(name in "\\PC{1,40}") {
        let scale = Scale::new(&name, "1 b3 5").unwrap();
        let harp = Harp::richter("C".parse().unwrap());
        let tab = TabStyle::default();
        let request = Request { harp: &harp, position: Position::FIRST, scale: &scale, ability: None, tab: &tab };
        let sheet = [Sheet::new(&request)];
        prop_assert!(to_pdf(&name, &sheet, Paper::A4).starts_with(b"%PDF"));
        prop_assert!(to_text(&sheet, Letters::Ascii).is_ascii());
        let html = to_html(&name, &sheet, Paper::A4);
        let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
        prop_assert!(roxmltree::Document::parse_with_options(&html, options).is_ok(), "{}", html);
    }
}
