//! The drawn font: each sign is a small outline, and a table tells readers and searches which character it stands for.

use super::object;
use crate::draw::signs::{SIGNS, Sign, Step};
use pdf_writer::types::{SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Str};

/// The code of the first sign in the font; the others follow.
pub(super) const FIRST_CODE: u8 = 33;

/// The box that holds every outline, in thousandths of the type size.
const BOX: [f32; 4] = [0.0, -120.0, 560.0, 820.0];

/// Writes the font as object `id` and what it needs as the objects after it; gives the number after the last one.
pub(super) fn write(pdf: &mut Pdf, id: usize) -> usize {
    let cmap_id = object(id + 1);
    let glyph_id = |index: usize| object(id + 2 + index);
    let [left, bottom, right, top] = BOX;
    let last_code = FIRST_CODE + (SIGNS.len() - 1) as u8;
    let mut font = pdf.type3_font(object(id));
    font.bbox(Rect::new(left, bottom, right, top)).matrix([0.001, 0.0, 0.0, 0.001, 0.0, 0.0]);
    font.first_char(FIRST_CODE).last_char(last_code);
    font.widths(SIGNS.iter().map(|sign| f32::from(sign.width)));
    let mut glyphs = font.char_procs();
    for (index, sign) in SIGNS.iter().enumerate() {
        glyphs.pair(Name(sign.name.as_bytes()), glyph_id(index));
    }
    glyphs.finish();
    let names = SIGNS.iter().map(|sign| Name(sign.name.as_bytes()));
    font.encoding_custom().differences().consecutive(FIRST_CODE, names);
    font.resources();
    font.to_unicode(cmap_id);
    font.finish();
    pdf.cmap(cmap_id, &characters());
    for (index, sign) in SIGNS.iter().enumerate() {
        pdf.stream(glyph_id(index), &outline(sign));
    }
    id + 2 + SIGNS.len()
}

/// Which character each code stands for.
fn characters() -> Vec<u8> {
    let system = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"UCS"), supplement: 0 };
    let mut map = UnicodeCmap::<u8>::new(Name(b"Signs"), system);
    for (code, sign) in (FIRST_CODE..).zip(&SIGNS) {
        map.pair(code, sign.character);
    }
    map.finish().into_vec()
}

fn outline(sign: &Sign) -> Vec<u8> {
    let mut content = Content::new();
    let [left, bottom, right, top] = BOX;
    content.start_shape_glyph(f32::from(sign.width), left, bottom, right, top);
    for step in sign.outline {
        match *step {
            Step::Move(x, y) => content.move_to(f32::from(x), f32::from(y)),
            Step::Line(x, y) => content.line_to(f32::from(x), f32::from(y)),
            Step::Curve(points) => {
                let [x1, y1, x2, y2, x3, y3] = points.map(f32::from);
                content.cubic_to(x1, y1, x2, y2, x3, y3)
            }
            Step::Close => content.close_path(),
        };
    }
    content.fill_even_odd();
    content.finish().into_vec()
}
