//! SVG, read by an XML parser.

use crate::sheet;
use sheets::{Paper, to_svg};
use theory::Level;

#[test]
fn a_page_is_well_formed_and_says_what_it_shows() {
    let sheet = sheet("B♭", 2, "major pentatonic", Some(Level::Plain));
    let picture = to_svg(&sheet, Paper::Letter);
    let document = roxmltree::Document::parse(&picture).unwrap();
    let root = document.root_element();
    assert_eq!(root.tag_name().name(), "svg");
    assert_eq!(root.attribute("viewBox"), Some("0 0 612 1584"), "front and back, 792 points each");
    assert_eq!(root.attribute("role"), Some("img"));
    let title = root.children().find(|node| node.has_tag_name((SVG, "title"))).unwrap();
    assert_eq!(title.text(), Some(sheet.title.as_str()));
    let texts: Vec<&str> =
        document.descendants().filter(|n| n.has_tag_name((SVG, "text"))).filter_map(|n| n.text()).collect();
    for tab in crate::tabs(&sheet) {
        assert!(texts.contains(&tab), "{tab}");
    }
}

const SVG: &str = "http://www.w3.org/2000/svg";

#[test]
fn there_is_no_colour_that_a_black_printer_would_lose() {
    let page = to_svg(&sheet("C", 2, "blues", Some(Level::Plain)), Paper::A4);
    let colours: Vec<usize> = page.match_indices('#').map(|(at, _)| at).collect();
    assert!(colours.len() > 100, "the check found only {}", colours.len());
    for at in colours {
        if &page[at + 1..at + 4] == "fff" {
            continue;
        }
        let [r, g, b] = [1, 3, 5].map(|from| &page[at + from..at + from + 2]);
        assert!(r == g && g == b, "#{r}{g}{b}");
    }
}
