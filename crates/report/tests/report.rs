//! The pages: what they say, that they are whole, and that no name or remark gets out of its place.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod scenario;

use course::Past;
use report::Class;
use scenario::{TODAY, fullest, past, remarks, report};

/// What could be taken for a sign of HTML or of Markdown.
const HOSTILE: &str = "<script>alert(\"x\")</script> & 'y' | *z* `w` [v](u) \u{1b}[2J\n# h";

#[test]
fn one_page() {
    let report = report("Ida", &past(75, 1), &remarks("the blue third sits a little high"));
    insta::assert_snapshot!("one.md", report.to_markdown());
    insta::assert_snapshot!("one.html", report.to_html());
}

#[test]
fn several_side_by_side() {
    let rows = [("Ida", 75, 1), ("Jo", 40, 2), ("Kim", 0, 3)]
        .map(|(name, days, seed)| report(name, &past(days, seed), &[]).row().clone());
    let class = Class::new(rows.to_vec(), TODAY, 30);
    insta::assert_snapshot!("class.md", class.to_markdown());
    insta::assert_snapshot!("class.html", class.to_html());
}

#[test]
fn without_practice_there_is_a_page_that_says_so() {
    let report = report("Kim", &Past::default(), &[]);
    let html = report.to_html();
    assert!(html.contains("Nothing was practised in 30 days."), "{html}");
    assert!(!html.contains("<svg") && !html.contains("<table"), "{html}");
    assert!(report.to_markdown().contains("Nothing was practised in 30 days."));
}

#[test]
fn the_figures_are_those_of_what_was_practised() {
    let past = past(75, 1);
    let html = report("Ida", &past, &[]).to_html();
    let way = layout::TabStyle::default().read("-3'").unwrap();
    let lately = past.notes.iter().filter(|it| it.way == way && TODAY.since(it.day) < 30);
    let (landed, of) = lately.fold((0, 0), |(landed, of), it| (landed + it.landed, of + it.tries));
    let share = 100.0 * f64::from(landed) / f64::from(of);
    assert!(
        of > 30 && html.contains(&format!("<td>{landed} of {of}, {share:.0}\u{a0}%</td>")),
        "{landed} of {of}"
    );
    let seconds: u32 = past.played.iter().filter(|it| TODAY.since(it.day) < 30).map(|it| it.seconds).sum();
    assert!(html.contains(&format!("<p>{} minutes of practice on ", seconds / 60)));
}

/// Every element of the page, of the pictures and outside them, is closed where it should be: what a browser mends
/// silently is found here. HTML has elements without an end; they are closed before it is read as XML.
fn read_through(html: &str) -> Vec<(String, String)> {
    let closed = html.replace("<!DOCTYPE html>\n", "");
    let (head, body) = closed.split_once("</style>").unwrap();
    let head: String = head
        .lines()
        .map(|line| if line.starts_with("<meta ") { line.replace('>', "/>") } else { line.to_owned() } + "\n")
        .collect();
    let text = format!("{head}</style>{body}");
    let document = roxmltree::Document::parse(&text).unwrap_or_else(|error| panic!("{error}"));
    let texts = document.descendants().filter(roxmltree::Node::is_text);
    texts
        .map(|node| {
            (node.parent().unwrap().tag_name().name().to_owned(), node.text().unwrap_or_default().to_owned())
        })
        .collect()
}

#[test]
fn a_name_and_a_remark_stay_words() {
    let report = report(HOSTILE, &past(75, 1), &remarks(HOSTILE));
    let class = Class::new(vec![report.row().clone()], TODAY, 30);
    for html in [report.to_html(), class.to_html()] {
        let texts = read_through(&html);
        assert!(!texts.iter().any(|(element, _)| element == "script"), "{html}");
        let whole =
            texts.iter().filter(|(_, text)| text.contains("<script>alert(\"x\")</script> & 'y' | *z*"));
        assert!(whole.count() >= 1, "the words are there as they were written");
        assert!(!html.contains(|c: char| c.is_control() && c != '\n'));
    }
    for markdown in [report.to_markdown(), class.to_markdown()] {
        assert!(!markdown.contains("<script") && !markdown.contains("| *z*") && !markdown.contains("[v]("));
        assert!(!markdown.contains('\u{1b}') && !markdown.contains("\n# h"));
        // A row of a table has as many cells as its head.
        let mut columns = 0;
        for line in markdown.lines() {
            let cells = line.replace("\\|", "").matches('|').count();
            assert!(cells == 0 || columns == 0 || cells == columns, "{line}");
            columns = cells;
        }
    }
}

#[test]
fn every_page_is_well_formed() {
    for (past, name) in [(past(75, 1), "Ida"), (fullest(), "Lou"), (past(3, 4), "Max"), (past(1, 9), "Nil")] {
        let html = report(name, &past, &remarks("x")).to_html();
        let texts = read_through(&html);
        assert!(
            texts.iter().any(|(element, text)| element == "h1" && text == &format!("Practice of {name}"))
        );
    }
}

#[test]
fn a_class_keeps_of_each_player_a_few_words() {
    let row = report("Ida", &past(365, 1), &remarks(&"long ".repeat(1000))).row().clone();
    let kept = format!("{row:?}").len();
    assert!(kept < 500, "{kept} bytes: {row:?}");
}
