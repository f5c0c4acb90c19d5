//! Writes the pages of the scenario into a folder, for `tests/references/report_pages.mjs`, which looks at them in a browser.

#![allow(clippy::unwrap_used, clippy::print_stderr, reason = "it is run by hand, and ends by panicking")]

#[path = "../tests/scenario/mod.rs"]
mod scenario;

use report::Class;
use scenario::{TODAY, fullest, past, remarks, report};
use std::path::PathBuf;

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap());
    let put = |name: &str, html: String| std::fs::write(folder.join(name), html).unwrap();
    let ida = report("Ida", &past(75, 1), &remarks("the blue third sits a little high"));
    let lou = report("Lou & <Lo>", &fullest(), &remarks(&"A remark that is long. ".repeat(6)));
    let nobody = report("Nobody", &course::Past::default(), &[]);
    put("one.html", ida.to_html());
    put("fullest.html", lou.to_html());
    put("empty.html", nobody.to_html());
    let rows: Vec<_> = (0..30)
        .map(|number| report(&format!("Player {number}"), &past(365, number), &[]).row().clone())
        .collect();
    put("class.html", Class::new(rows, TODAY, 30).to_html());
    // Somebody who practised for ten years.
    let begun = std::time::Instant::now();
    let html = report("Old", &past(3650, 5), &[]).to_html();
    put("ten-years.html", html);
    eprintln!("ten years: {:?} with making them up", begun.elapsed());
}
