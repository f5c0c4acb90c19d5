//! A picture of a screen as SVG, for documents.
//!
//! The picture is a dark card that brings its own background, so that it reads on light and on dark pages. Signs that
//! must meet across cells (lines, blocks, dots) are drawn as shapes, since fonts leave gaps between them; everything
//! else is text, which can be selected, searched and read aloud.

mod shape;

use crate::Theme;
use ratatui::buffer::{Buffer, Cell};
use ratatui::style::Modifier;
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// Width and height of a cell and size of its font, pixels. Common monospaced fonts advance by 0.6 of their size.
const CELL: (f64, f64) = (9.0, 19.0);
const FONT: f64 = 15.0;
/// The baseline of text below the top of its cell, pixels.
const BASELINE: f64 = 14.0;
/// Room around the cells, pixels.
const MARGIN: f64 = 18.0;

const BACKGROUND: &str = "#15181e";
const FOREGROUND: &str = "#dde1e7";
const EDGE: &str = "#3a404b";
const BLUE: &str = "#6fb4ff";
const ORANGE: &str = "#f2a444";
/// How much of a dim sign shows.
const DIM: f64 = 0.55;

/// The picture of a buffer as a complete SVG document.
pub fn render(buffer: &Buffer) -> String {
    let area = buffer.area;
    let (width, height) =
        (f64::from(area.width) * CELL.0 + 2.0 * MARGIN, f64::from(area.height) * CELL.1 + 2.0 * MARGIN);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
         viewBox=\"0 0 {width} {height}\" role=\"img\">\n\
         <rect x=\"0.5\" y=\"0.5\" width=\"{}\" height=\"{}\" rx=\"10\" fill=\"{BACKGROUND}\" stroke=\"{EDGE}\"/>\n\
         <g font-family=\"DejaVu Sans Mono, Menlo, Liberation Mono, monospace\" font-size=\"{FONT}\" \
         xml:space=\"preserve\">\n",
        width - 1.0,
        height - 1.0,
    );
    for y in 0..area.height {
        row(&mut out, buffer, y);
    }
    out.push_str("</g>\n</svg>\n");
    out
}

/// How one cell is inked.
#[derive(Clone, PartialEq)]
struct Ink {
    fill: &'static str,
    modifier: Modifier,
}

impl Ink {
    fn of(cell: &Cell) -> Self {
        let fill = match cell.fg {
            colour if Some(colour) == Theme::COLOUR.target.fg => BLUE,
            colour if Some(colour) == Theme::COLOUR.voice.fg => ORANGE,
            _ => FOREGROUND,
        };
        Self { fill, modifier: cell.modifier }
    }

    fn is(&self, modifier: Modifier) -> bool {
        self.modifier.contains(modifier)
    }

    fn attributes(&self) -> String {
        let mut text =
            format!("fill=\"{}\"", if self.is(Modifier::REVERSED) { BACKGROUND } else { self.fill });
        if self.is(Modifier::DIM) {
            let _ = write!(text, " opacity=\"{DIM}\"");
        }
        text
    }
}

/// Draws a row: backgrounds of reversed cells, shapes cell by cell, text word by word.
fn row(out: &mut String, buffer: &Buffer, y: u16) {
    let mut word: Option<(u16, Ink, String)> = None;
    let top = MARGIN + f64::from(y) * CELL.1;
    for x in 0..buffer.area.width {
        let Some(cell) = buffer.cell((buffer.area.x + x, buffer.area.y + y)) else { continue };
        let (ink, symbol) = (Ink::of(cell), cell.symbol());
        let left = MARGIN + f64::from(x) * CELL.0;
        if ink.is(Modifier::REVERSED) {
            let (w, h) = CELL;
            let _ = writeln!(
                out,
                "<rect x=\"{left}\" y=\"{top}\" width=\"{w}\" height=\"{h}\" fill=\"{}\"/>",
                ink.fill
            );
        }
        let shape = symbol.chars().next().and_then(|sign| shape::of(sign, (left, top)));
        let blank = symbol.trim().is_empty();
        match (&mut word, shape, blank) {
            (Some((_, inked, text)), None, false) if *inked == ink => text.push_str(symbol),
            (_, shape, _) => {
                flush(out, word.take(), top);
                match shape {
                    Some(shape) => {
                        let _ = writeln!(out, "<g {}>{shape}</g>", ink.attributes());
                    }
                    None if !blank => word = Some((x, ink, symbol.to_owned())),
                    None => {}
                }
            }
        }
    }
    flush(out, word, top);
}

/// Writes a word.
fn flush(out: &mut String, word: Option<(u16, Ink, String)>, top: f64) {
    let Some((x, ink, text)) = word else { return };
    let left = MARGIN + f64::from(x) * CELL.0;
    let length = text.width() as f64 * CELL.0;
    let mut attributes = ink.attributes();
    if ink.is(Modifier::BOLD) {
        attributes.push_str(" font-weight=\"bold\"");
    }
    if ink.is(Modifier::UNDERLINED) {
        attributes.push_str(" text-decoration=\"underline\"");
    }
    let _ = writeln!(
        out,
        "<text x=\"{left}\" y=\"{}\" textLength=\"{length}\" {attributes}>{}</text>",
        top + BASELINE,
        escaped(&text)
    );
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::layout::Rect;
    use ratatui::style::Style;

    #[test]
    fn text_is_kept_as_text_and_escaped() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 20, 2));
        buf.set_string(1, 0, "a<b & c", Style::new().add_modifier(Modifier::BOLD));
        let svg = render(&buf);
        assert!(svg.contains(">a&lt;b</text>"), "{svg}");
        assert!(svg.contains(">&amp;</text>"));
        assert!(svg.contains("font-weight=\"bold\""));
    }

    #[test]
    fn lines_are_shapes() {
        let mut buf = Buffer::empty(Rect::new(0, 0, 3, 1));
        buf.set_string(0, 0, "─█⡇", Style::new());
        let svg = render(&buf);
        assert!(!svg.contains("<text"), "{svg}");
        assert_eq!(svg.matches("<circle").count(), 4, "one circle a dot");
    }

    #[test]
    fn an_empty_screen_is_still_a_picture() {
        let svg = render(&Buffer::empty(Rect::ZERO));
        assert!(svg.starts_with("<svg") && svg.ends_with("</svg>\n"));
    }
}
