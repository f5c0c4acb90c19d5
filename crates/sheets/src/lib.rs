//! Sheets to print: a scale in a position of a harp, on one page or as a booklet.
//!
//! [`Sheet::new`] gathers what a page says; [`to_text`], [`to_svg`], [`to_html`] and [`to_pdf`] write it down. The same
//! content goes into every form. This crate does no I/O and reads no clock: the same request gives the same bytes.
//!
//! ```
//! use layout::{Harp, TabStyle};
//! use sheets::{Letters, Request, Sheet, to_text};
//! use theory::{Position, Scales};
//!
//! let harp = Harp::richter("C".parse().unwrap());
//! let scales = Scales::ours();
//! let (position, scale) = (Position::new(2).unwrap(), scales.find("blues").unwrap());
//! let tab = TabStyle::default();
//! let sheet = Sheet::new(&Request { harp: &harp, position, scale, ability: None, tab: &tab });
//! assert!(to_text(&[sheet], Letters::Unicode).contains("♭3  B♭4  -3'"));
//! ```

mod booklet;
mod content;
mod draw;
mod html;
mod page;
mod pdf;
mod svg;
mod text;

pub use booklet::{every_key, every_mode, every_position};
pub use content::{
    CAUTIONS, ChordRow, Column, Grid, GridCell, GridRow, IntervalRow, LOG_COLUMNS, Mark, MarkKind,
    OctaveNote, OctaveTable, PlaceRow, Request, Sheet, Stair, StairRow,
};
pub use page::Paper;
pub use text::{Letters, wrap};

pub use svg::escape;

use pdf::Bookmark;
use svg::About;

/// Sheets as plain text, 80 columns wide; a form feed stands between two of them.
pub fn to_text(sheets: &[Sheet], letters: Letters) -> String {
    sheets.iter().map(|sheet| text::write(sheet, letters)).collect::<Vec<_>>().join("\u{c}")
}

/// The picture of a sheet as lines of text, at most 80 columns wide.
pub fn stair_lines(stair: &Stair, letters: Letters) -> Vec<String> {
    text::stair(stair, letters)
}

/// A sheet as one SVG picture, its pages below one another.
pub fn to_svg(sheet: &Sheet, paper: Paper) -> String {
    let description = sheet.stair.in_words();
    let about = About { title: &sheet.title, description: &description, number: 1, view: None };
    svg::write(&page::lay_out(sheet, paper), &about)
}

/// Sheets as one HTML document that needs no other file; the title stands over them if there are several.
pub fn to_html(title: &str, sheets: &[Sheet], paper: Paper) -> String {
    html::write(title, sheets, paper)
}

/// Sheets as one PDF document, each on its own pages, with bookmarks if there are several.
///
/// Text is set in the standard fonts, which hold the letters of Western Europe; accidentals and arrows are drawn. A
/// character beyond those, as a player's own scale name may have, prints as an empty box.
pub fn to_pdf(title: &str, sheets: &[Sheet], paper: Paper) -> Vec<u8> {
    let mut pages = Vec::new();
    let mut bookmarks = Vec::new();
    for sheet in sheets {
        bookmarks.push(Bookmark { title: &sheet.title, page: pages.len() });
        pages.append(&mut page::lay_out(sheet, paper));
    }
    if sheets.len() < 2 {
        bookmarks.clear();
    }
    pdf::write(title, &pages, &bookmarks)
}
