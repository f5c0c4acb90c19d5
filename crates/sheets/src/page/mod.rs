//! A sheet laid out on paper. Lengths are in points (1/72 inch) unless a comment says otherwise.

mod care;
mod chords;
mod grid;
mod head;
mod legend;
mod log;
mod marks;
mod octaves;
mod stair;
mod table;
#[cfg(test)]
mod tests;

use crate::Sheet;
use crate::draw::{Anchor, BLACK, DIM, Gray, Page, Point, Shape, Type};

/// The size of the paper, upright.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8½ × 11 inches.
    Letter,
}

/// White edge in points: 14 mm, more than any office printer needs.
const MARGIN: f32 = 40.0;

const HEADING: Type = Type::new(10.0).bold();
const BODY: Type = Type::new(8.5);
const SMALL: Type = Type::new(7.5);
const LABEL: Type = Type::new(7.0).gray(DIM);

impl Paper {
    /// Width and height in points.
    pub fn points(self) -> (f32, f32) {
        match self {
            // 210 mm and 297 mm at 72/25.4 points to the millimetre.
            Self::A4 => (595.28, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }

    /// The name that style sheets know it by.
    pub(crate) fn css(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "letter",
        }
    }
}

/// Pages that fill from the top.
struct Flow {
    paper: Paper,
    pages: Vec<Page>,
    /// Where the next part begins, from the upper edge.
    y: f32,
}

impl Flow {
    fn new(paper: Paper) -> Self {
        let mut flow = Self { paper, pages: Vec::new(), y: 0.0 };
        flow.turn();
        flow
    }

    /// Begins a new page.
    fn turn(&mut self) {
        let (width, height) = self.paper.points();
        self.pages.push(Page { width, height, shapes: Vec::new() });
        self.y = MARGIN;
    }

    /// Width between the margins.
    fn width(&self) -> f32 {
        self.paper.points().0 - 2.0 * MARGIN
    }

    fn bottom(&self) -> f32 {
        self.paper.points().1 - MARGIN
    }

    /// Takes `height` points, on a new page if this one has no room for them, and gives their upper edge.
    fn take(&mut self, height: f32) -> f32 {
        if self.y + height > self.bottom() && self.y > MARGIN {
            self.turn();
        }
        let top = self.y;
        self.y += height;
        top
    }

    fn put(&mut self, shape: Shape) {
        if let Some(page) = self.pages.last_mut() {
            page.shapes.push(shape);
        }
    }

    fn text(&mut self, at: Point, anchor: Anchor, look: Type, text: &str) {
        if !text.is_empty() {
            self.put(Shape::Text { at, anchor, look, text: text.to_owned() });
        }
    }

    fn rule(&mut self, from: Point, to: Point, width: f32, gray: Gray) {
        self.put(Shape::Line { from, to, width, gray, dashed: false });
    }

    /// A heading over a part. It stands on one page with the part's first piece, which is `first_piece` high.
    fn heading(&mut self, text: &str, first_piece: f32) {
        const HEIGHT: f32 = 21.0;
        if self.y + HEIGHT + first_piece > self.bottom() && self.y > MARGIN {
            self.turn();
        }
        let top = self.take(HEIGHT);
        self.text((MARGIN, top + 13.0), Anchor::Start, HEADING, text);
        let right = MARGIN + self.width();
        self.rule((MARGIN, top + 17.0), (right, top + 17.0), 0.8, BLACK);
    }
}

/// A sheet as pages, nearly always two: the front shows where the scale lies, the back has its chords and lines for
/// practice. The picture takes what height the other parts of the front leave.
pub(crate) fn lay_out(sheet: &Sheet, paper: Paper) -> Vec<Page> {
    let flow = front(sheet, paper, stair::LOWEST_ROW);
    // One point is kept back, so that rounding never turns the page.
    let spare = flow.bottom() - flow.y - 1.0;
    let row = stair::LOWEST_ROW + spare / sheet.stair.rows.len() as f32;
    // A front of two pages has its spare room on the second one, where the picture cannot use it.
    let mut flow =
        if flow.pages.len() == 1 { front(sheet, paper, row.min(stair::HIGHEST_ROW)) } else { flow };
    back(&mut flow, sheet);
    number_pages(&mut flow, &sheet.title);
    flow.pages
}

fn front(sheet: &Sheet, paper: Paper, stair_row: f32) -> Flow {
    let mut flow = Flow::new(paper);
    head::put(&mut flow, sheet);
    stair::put(&mut flow, &sheet.stair, stair_row);
    grid::put(&mut flow, &sheet.grid);
    octaves::put(&mut flow, &sheet.octaves);
    legend::put(&mut flow, sheet);
    flow
}

fn back(flow: &mut Flow, sheet: &Sheet) {
    // What the front had no room for stands on the back already.
    if flow.pages.len() == 1 {
        flow.turn();
    }
    chords::put(flow, sheet);
    let care = care::lines(flow);
    log::put(flow, care::height(&care));
    care::put(flow, &care);
}

/// The picture alone, and the part of the page that it fills: left, top, width, height.
pub(crate) fn picture(sheet: &Sheet) -> (Page, [f32; 4]) {
    const ROW: f32 = 20.0;
    let mut flow = Flow::new(Paper::A4);
    stair::put(&mut flow, &sheet.stair, ROW);
    let view = [MARGIN, MARGIN, flow.width(), flow.y - MARGIN];
    (flow.pages.swap_remove(0), view)
}

/// Says on pages after the first what they belong to.
fn number_pages(flow: &mut Flow, title: &str) {
    let pages = flow.pages.len();
    for (index, page) in flow.pages.iter_mut().enumerate().skip(1) {
        let text = format!("{title} – page {} of {pages}", index + 1);
        let at = (MARGIN, MARGIN - 12.0);
        page.shapes.push(Shape::Text { at, anchor: Anchor::Start, look: LABEL, text });
    }
}
