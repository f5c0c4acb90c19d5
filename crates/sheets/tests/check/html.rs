//! HTML, read by an XML parser: it is written so that both kinds of reader take it.

use crate::{sheet, tabs};
use roxmltree::{Document, Node, ParsingOptions};
use sheets::{Paper, Sheet, to_html};
use theory::Level;

fn html(sheets: &[Sheet]) -> String {
    to_html("A booklet", sheets, Paper::A4)
}

fn parse(text: &str) -> Document<'_> {
    Document::parse_with_options(text, ParsingOptions { allow_dtd: true, ..ParsingOptions::default() })
        .unwrap()
}

fn all<'a>(document: &'a Document<'a>, name: &'static str) -> impl Iterator<Item = Node<'a, 'a>> {
    document.descendants().filter(move |node| node.tag_name().name() == name)
}

fn inner(node: Node<'_, '_>) -> String {
    node.descendants().filter(Node::is_text).filter_map(|text| text.text()).collect()
}

#[test]
fn it_needs_nothing_from_elsewhere_and_names_its_language() {
    let text = html(&[sheet("C", 2, "blues", None)]);
    assert!(text.starts_with("<!DOCTYPE html>"));
    let document = parse(&text);
    assert_eq!(document.root_element().attribute("lang"), Some("en"));
    for name in ["script", "link", "img", "iframe"] {
        assert_eq!(all(&document, name).count(), 0, "{name}");
    }
    assert!(!text.contains("url("));
    assert!(text.contains("@page { size: A4;"));
}

/// Every header cell says what it heads, every table has a caption (WCAG 2.2, technique H63 and H39).
#[test]
fn tables_are_readable_by_ear() {
    let sheet = sheet("C", 2, "blues", Some(Level::DrawBends));
    let text = html(std::slice::from_ref(&sheet));
    let document = parse(&text);
    assert!(all(&document, "table").count() >= sheet.octaves.len() + 4);
    for table in all(&document, "table") {
        let caption = table.children().find(|n| n.tag_name().name() == "caption").unwrap();
        assert!(!inner(caption).is_empty());
        let columns = table.descendants().filter(|n| n.attribute("scope") == Some("col")).count();
        for row in table.descendants().filter(|n| n.tag_name().name() == "tr") {
            let cells = row.children().filter(Node::is_element).count();
            assert_eq!(cells, columns);
        }
    }
    for header in all(&document, "th") {
        assert!(matches!(header.attribute("scope"), Some("row" | "col")));
    }
    let cells: Vec<String> = all(&document, "td").map(inner).collect();
    for tab in tabs(&sheet) {
        assert!(cells.iter().any(|cell| cell == tab), "{tab}");
    }
    assert!(cells.contains(&"6 overblow, out of reach".to_owned()));
}

#[test]
fn the_grid_says_what_its_frames_say() {
    let text = html(&[sheet("C", 2, "blues", Some(Level::DrawBends))]);
    let document = parse(&text);
    let row = |name: &str| -> Vec<(String, String)> {
        let head = all(&document, "th").find(|head| inner(*head) == name).unwrap();
        let cells = head.parent().unwrap().children().filter(|n| n.has_tag_name("td"));
        cells.map(|td| (td.attribute("class").unwrap_or_default().to_owned(), inner(td))).collect()
    };
    let blow = row("blow");
    assert_eq!(blow[0], ("own".to_owned(), "4 C".to_owned()));
    assert_eq!(blow[1], ("far".to_owned(), "E".to_owned()));
    assert_eq!(blow[2], ("own tonic".to_owned(), "1 G".to_owned()));
    assert_eq!(row("overblow")[5].1, "[♭3 B♭]");
    assert_eq!(row("draw, half step")[4].1, "");
}

#[test]
fn headings_go_down_one_level_at_a_time() {
    for (sheets, first) in [(1, "h1"), (2, "h1")] {
        let sheets: Vec<Sheet> = (1..=sheets).map(|position| sheet("C", position, "major", None)).collect();
        let text = html(&sheets);
        let document = parse(&text);
        let levels: Vec<&str> = document
            .descendants()
            .map(|node| node.tag_name().name())
            .filter(|name| matches!(*name, "h1" | "h2" | "h3"))
            .collect();
        assert_eq!(levels[0], first);
        assert_eq!(levels.iter().filter(|level| **level == "h1").count(), 1);
        for pair in levels.windows(2) {
            assert!(pair[1].as_bytes()[1] <= pair[0].as_bytes()[1] + 1, "{levels:?}");
        }
    }
}

#[test]
fn identifiers_and_links_of_a_booklet_fit_together() {
    let sheets: Vec<Sheet> = (1..=3).map(|position| sheet("C", position, "major", None)).collect();
    let text = html(&sheets);
    let document = parse(&text);
    let mut ids: Vec<&str> = document.descendants().filter_map(|node| node.attribute("id")).collect();
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count);
    let links: Vec<&str> = all(&document, "a").filter_map(|node| node.attribute("href")).collect();
    assert_eq!(links, ["#s1", "#s2", "#s3"]);
    for node in document.descendants().filter_map(|node| node.attribute("aria-labelledby")) {
        assert!(node.split(' ').all(|id| ids.contains(&id)), "{node}");
    }
}
