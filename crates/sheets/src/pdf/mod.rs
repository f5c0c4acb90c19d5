//! Pages as a PDF document with real text: the standard fonts for letters, a drawn font for the signs they lack.

mod content;
mod signs_font;

use crate::draw::Page;
use pdf_writer::{Finish, Name, Pdf, Rect, Ref, TextStr};

const REGULAR: Name<'static> = Name(b"F1");
const BOLD: Name<'static> = Name(b"F2");
const SIGNS: Name<'static> = Name(b"F3");

/// Numbers of the objects that every document has once. The character map and the outlines of the signs follow, then
/// two objects for each page, then one for each bookmark.
const CATALOG: usize = 1;
const PAGES: usize = 2;
const INFO: usize = 3;
const FONT_REGULAR: usize = 4;
const FONT_BOLD: usize = 5;
const BOOKMARKS: usize = 6;
const FONT_SIGNS: usize = 7;

/// A bookmark: its title and the page it leads to, counted from 0.
pub(crate) struct Bookmark<'a> {
    pub(crate) title: &'a str,
    pub(crate) page: usize,
}

/// Numbers of the objects of a document.
struct Numbers {
    first_page: usize,
    pages: usize,
}

impl Numbers {
    fn page(&self, index: usize) -> Ref {
        object(self.first_page + 2 * index)
    }

    fn content(&self, index: usize) -> Ref {
        object(self.first_page + 2 * index + 1)
    }

    fn bookmark(&self, index: usize) -> Ref {
        object(self.first_page + 2 * self.pages + index)
    }
}

/// A reference to the object of this number.
fn object(number: usize) -> Ref {
    Ref::new(count(number))
}

/// A number as PDF counts; a document of two thousand million pages is out of anybody's reach.
fn count(number: usize) -> i32 {
    i32::try_from(number).unwrap_or(i32::MAX)
}

/// The document as bytes, the same for the same pages.
pub(crate) fn write(title: &str, pages: &[Page], bookmarks: &[Bookmark<'_>]) -> Vec<u8> {
    let mut pdf = Pdf::new();
    let after_signs = signs_font::write(&mut pdf, FONT_SIGNS);
    let numbers = Numbers { first_page: after_signs, pages: pages.len() };
    write_catalog(&mut pdf, title, !bookmarks.is_empty());
    for (id, name) in [(FONT_REGULAR, b"Helvetica".as_slice()), (FONT_BOLD, b"Helvetica-Bold".as_slice())] {
        let mut font = pdf.type1_font(object(id));
        font.base_font(Name(name)).encoding_predefined(Name(b"WinAnsiEncoding"));
    }
    let kids = (0..pages.len()).map(|index| numbers.page(index));
    pdf.pages(object(PAGES)).kids(kids).count(count(pages.len()));
    for (index, page) in pages.iter().enumerate() {
        write_page(&mut pdf, page, &numbers, index);
    }
    write_bookmarks(&mut pdf, bookmarks, &numbers);
    pdf.finish()
}

fn write_catalog(pdf: &mut Pdf, title: &str, has_bookmarks: bool) {
    let mut catalog = pdf.catalog(object(CATALOG));
    catalog.pages(object(PAGES)).lang(TextStr("en"));
    catalog.viewer_preferences().display_doc_title(true);
    if has_bookmarks {
        catalog.outlines(object(BOOKMARKS));
    }
    catalog.finish();
    pdf.document_info(object(INFO)).title(TextStr(title)).creator(TextStr("Bendwright"));
}

fn write_page(pdf: &mut Pdf, page: &Page, numbers: &Numbers, index: usize) {
    let mut leaf = pdf.page(numbers.page(index));
    leaf.media_box(Rect::new(0.0, 0.0, page.width, page.height))
        .parent(object(PAGES))
        .contents(numbers.content(index));
    let mut resources = leaf.resources();
    let mut fonts = resources.fonts();
    for (name, id) in [(REGULAR, FONT_REGULAR), (BOLD, FONT_BOLD), (SIGNS, FONT_SIGNS)] {
        fonts.pair(name, object(id));
    }
    fonts.finish();
    resources.finish();
    leaf.finish();
    pdf.stream(numbers.content(index), &content::of(page));
}

fn write_bookmarks(pdf: &mut Pdf, bookmarks: &[Bookmark<'_>], numbers: &Numbers) {
    let Some(last) = bookmarks.len().checked_sub(1) else { return };
    let root = object(BOOKMARKS);
    let (first_id, last_id) = (numbers.bookmark(0), numbers.bookmark(last));
    pdf.outline(root).first(first_id).last(last_id).count(count(bookmarks.len()));
    for (index, bookmark) in bookmarks.iter().enumerate() {
        let mut item = pdf.outline_item(numbers.bookmark(index));
        item.parent(root).title(TextStr(bookmark.title));
        if index > 0 {
            item.prev(numbers.bookmark(index - 1));
        }
        if index < last {
            item.next(numbers.bookmark(index + 1));
        }
        item.dest().page(numbers.page(bookmark.page)).fit();
    }
}
