//! Pages as one SVG picture with real text.

use crate::draw::{Anchor, Gray, Page, Point, Shape, Type, Weight};
use std::fmt::Write;

/// Fonts of the same widths as Helvetica come first, then a narrow one that nearly every Linux system has.
const FONTS: &str = "Helvetica, Arial, 'Liberation Sans', 'Nimbus Sans', 'DejaVu Sans Condensed', sans-serif";

/// What the picture is, for those who cannot see it.
pub(crate) struct About<'a> {
    pub(crate) title: &'a str,
    pub(crate) description: &'a str,
    /// Keeps identifiers apart where several pictures stand in one document.
    pub(crate) number: usize,
    /// The part of the page that is shown: left, top, width, height; all of it if not given.
    pub(crate) view: Option<[f32; 4]>,
}

/// Pages as one SVG element, each below the one before, 1 unit to the point.
pub(crate) fn write(pages: &[Page], about: &About<'_>) -> String {
    let width = pages.iter().map(|page| page.width).fold(0.0, f32::max);
    let height = pages.iter().map(|page| page.height).sum();
    let [x, y, w, h] = about.view.unwrap_or([0.0, 0.0, width, height]).map(number);
    let (title, description) = (escape(about.title), escape(about.description));
    let n = about.number;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}pt\" height=\"{h}pt\" viewBox=\"{x} {y} {w} {h}\" \
         role=\"img\" aria-labelledby=\"t{n} d{n}\" font-family=\"{FONTS}\">\n\
         <title id=\"t{n}\">{title}</title>\n<desc id=\"d{n}\">{description}</desc>\n\
         <rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>\n"
    );
    let mut top = 0.0;
    for page in pages {
        let shapes: Vec<String> = page.shapes.iter().map(element).collect();
        // Writing to a string cannot fail.
        let _ = write!(svg, "<g transform=\"translate(0 {})\">\n{}\n</g>\n", number(top), shapes.join("\n"));
        top += page.height;
    }
    svg.push_str("</svg>\n");
    svg
}

fn element(shape: &Shape) -> String {
    match shape {
        Shape::Line { from, to, width, gray, dashed } => {
            let dashes = if *dashed { " stroke-dasharray=\"1.5 1.5\"" } else { "" };
            let [x1, y1, x2, y2] = [from.0, from.1, to.0, to.1].map(number);
            format!(
                "<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\" stroke=\"{}\" stroke-width=\"{}\"{dashes}/>",
                colour(*gray),
                number(*width)
            )
        }
        Shape::Polygon { points, fill, width, gray } => {
            let points: Vec<String> =
                points.iter().map(|(x, y)| format!("{},{}", number(*x), number(*y))).collect();
            format!("<polygon points=\"{}\" {}/>", points.join(" "), paint(*fill, *width, *gray))
        }
        Shape::Circle { centre, radius, fill, width, gray } => {
            let [x, y, r] = [centre.0, centre.1, *radius].map(number);
            format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" {}/>", paint(*fill, *width, *gray))
        }
        Shape::Text { at, anchor, look, text } => text_element(*at, *anchor, *look, text),
    }
}

/// A text flows by the widths of the font that the reader has: signs may come from another font than the letters.
fn text_element((x, y): Point, anchor: Anchor, look: Type, text: &str) -> String {
    let weight = match look.weight {
        Weight::Regular => "",
        Weight::Bold => " font-weight=\"bold\"",
    };
    format!(
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"{weight}{}>{}</text>",
        number(x),
        number(y),
        number(look.size),
        colour(look.gray),
        side(anchor),
        escape(text)
    )
}

fn side(anchor: Anchor) -> &'static str {
    match anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    }
}

fn paint(fill: Option<Gray>, width: f32, gray: Gray) -> String {
    let fill = fill.map_or("none".to_owned(), colour);
    format!("fill=\"{fill}\" stroke=\"{}\" stroke-width=\"{}\"", colour(gray), number(width))
}

fn colour(gray: Gray) -> String {
    let level = (gray.clamp(0.0, 1.0) * 255.0).round() as u8;
    format!("#{level:02x}{level:02x}{level:02x}")
}

/// A measure with two decimals at most: a hundredth of a point is finer than any printer.
fn number(value: f32) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Text as XML and HTML want it.
pub fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            // XML has no way to write most control characters.
            c if c.is_control() => escaped.push(' '),
            c => escaped.push(c),
        }
    }
    escaped
}
