//! Where every try lay: flat left, sharp right. Each in rows of its own with its line and its figures where there is
//! room; else one row an item.

use crate::ghosts::STEP_S;
use crate::pen::{Pen, count, width};
use crate::plumb::Plumb;
use crate::scale::Scale;
use crate::scene::Scene;
use crate::trace::Swing;
use crate::window::Window;
use crate::{Look, parts, words};
use practice::{Session, Tried};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;
use scoring::{Outcome, Tolerance};

/// What the picture shows either side of the target, cents.
const SHOWN_CENTS: f64 = 100.0;
/// Columns right of the picture: for how many landed, and for the figures of one try.
const LANDED: i32 = 16;
const FIGURES: i32 = 56;
/// From this width on there is room for the figures of a try.
const WIDE: i32 = 110;

/// The most rows of one try: more would tear its line from that of the next.
const MOST_ROWS: i32 = 4;
/// Parts of a row of the line (see [`Plumb::rows`]).
const PARTS: usize = 4;

/// A row of the picture, or several for the line of one try.
struct Row<'a> {
    /// What was played, where that is not said by the row above.
    tab: String,
    tries: Vec<&'a Tried>,
    /// The place of a try among all, counted from the newest.
    line: Option<usize>,
}

/// Draws the rows, scrolled as the player wants, and below them the edges of the band.
pub(super) fn render(scene: &Scene<'_>, session: &Session, area: Rect, buf: &mut Buffer) {
    let pen = Pen::new(buf, area);
    let each = each_try(scene, session);
    let wide = pen.width() >= WIDE;
    let rows = if count(each.len()) < pen.height() { each } else { each_item(scene, session) };
    let right = if wide { FIGURES } else { LANDED };
    let columns = (pen.width() - parts::LABEL - right).max(1);
    let (all, room) = (count(rows.len()).max(1), pen.height() - 1);
    let each = if wide { (room / all).clamp(1, MOST_ROWS) } else { 1 };
    let window = Window::scrolled(scene.desk.scrolled, rows.len(), room.min(all));
    for (y, index) in window.seen() {
        let place = Rect { y: area.y + (y * each) as u16, height: each as u16, ..area };
        Picture { scene, columns, row: &rows[index] }.render(place, buf);
    }
    let mut pen = Pen::new(buf, area);
    window.ends(&mut pen, (1, 0), scene.look);
    edges(scene, session, &mut pen, ((each * all).min(room), columns));
}

/// One row a try.
fn each_try<'a>(scene: &Scene<'_>, session: &'a Session) -> Vec<Row<'a>> {
    let mut before = None;
    let row = |(index, tried): (usize, &'a Tried)| {
        let asked = (tried.asked.item, tried.asked.note);
        let again = before.replace(asked) == Some(asked);
        let tab = if again { String::new() } else { scene.look.tab(tried.way()) };
        Row { tab, tries: vec![tried], line: Some(session.results().len() - 1 - index) }
    };
    session.results().iter().enumerate().map(row).collect()
}

/// One row an item that was tried.
fn each_item<'a>(scene: &Scene<'_>, session: &'a Session) -> Vec<Row<'a>> {
    let items = session.order().iter().filter_map(|index| Some((*index, session.drill().items.get(*index)?)));
    let row = |(index, item): (usize, &practice::Item)| {
        let tab: Vec<String> = item.ways().map(|way| scene.look.tab(way)).collect();
        let of_item = |tried: &&Tried| tried.asked.item == index;
        Row { tab: tab.join(" "), tries: session.results().iter().filter(of_item).collect(), line: None }
    };
    items.map(row).filter(|row| !row.tries.is_empty()).collect()
}

/// The column of a distance from the target in a picture of `columns`, or `None` beyond it.
fn column(off: f64, columns: i32) -> Option<i32> {
    let middle = f64::from(columns - 1) / 2.0;
    let x = (middle + off / SHOWN_CENTS * middle).round() as i32;
    (0..columns).contains(&x).then_some(x)
}

/// A row with its band, its marks and what is said of it.
struct Picture<'a> {
    scene: &'a Scene<'a>,
    columns: i32,
    row: &'a Row<'a>,
}

impl Picture<'_> {
    fn band(&self, pen: &mut Pen<'_>, tolerance: Tolerance) {
        let (look, in_tune) = (self.scene.look, tolerance.in_tune_cents);
        let marks = [(-in_tune, look.glyphs.edge), (0.0, look.glyphs.centre), (in_tune, look.glyphs.edge)];
        for (off, sign) in marks {
            for y in 0..pen.height() {
                if let Some(x) = column(off, self.columns) {
                    pen.glyph(parts::LABEL + x, y, sign, look.theme.target);
                }
            }
        }
    }

    /// A try where it lay; beyond the picture, at its edge.
    fn mark(&self, pen: &mut Pen<'_>, tried: &Tried) {
        let Some(off) = tried.verdict.figures.map(|figures| figures.cents_off) else { return };
        let look = self.scene.look;
        let (x, sign) = match column(off, self.columns) {
            Some(x) => (x, words::verdict_sign(&tried.verdict, tried.tolerance, look)),
            None if off < 0.0 => (0, look.glyphs.flat),
            None => (self.columns - 1, look.glyphs.sharp),
        };
        pen.glyph(parts::LABEL + x, 0, sign, look.theme.voice);
    }

    /// The line of a try from its verdict backwards, as long as it sounded.
    fn line(&self, tried: &Tried, area: Rect, buf: &mut Buffer) {
        let (Some(index), Some(figures)) = (self.row.line, tried.verdict.figures) else { return };
        let harp = self.scene.harp();
        let Some(target) = tried.asked.target.hz(harp).map(|hz| harp.concert().key_number(hz)) else {
            return;
        };
        let steps = ((figures.reach_s + figures.held_s) / STEP_S).ceil() as usize;
        let points = self.scene.ghosts.line(index);
        let points = &points[..steps.min(points.len())];
        let parts = usize::from(area.height) * if self.scene.look.glyphs.fine { PARTS } else { 1 };
        let swings = points.chunks(points.len().div_ceil(parts.max(2) - 1).max(1)).map(Swing::of);
        // Nothing sounds now, so the newest part of the line has no mark of its own.
        let rows: Vec<Option<Swing>> = std::iter::once(None).chain(swings).collect();
        let per_semitone = f64::from(self.columns - 1) / 2.0 / (SHOWN_CENTS / 100.0);
        let plumb = Plumb {
            look: self.scene.look,
            scale: Scale::new(target - SHOWN_CENTS / 100.0, per_semitone),
            harp,
            target: None,
            in_tune: tried.tolerance.in_tune_cents,
            held: 0.0,
            earlier: &[],
            rows: &rows,
        };
        let left = parts::LABEL as u16;
        plumb.render(Rect { x: area.x + left, width: self.columns as u16, ..area }, buf);
    }

    fn said(&self, pen: &Pen<'_>) -> String {
        let (look, wide) = (self.scene.look, pen.width() >= WIDE);
        match self.row.tries.as_slice() {
            [tried] if self.row.line.is_some() => figures(look, tried, wide),
            tries => {
                let landed = tries.iter().filter(|tried| tried.verdict.outcome == Outcome::Landed).count();
                let offs: Vec<String> = tries.iter().map(|tried| short(look, tried)).collect();
                let offs = if wide { offs.join("  ") } else { String::new() };
                format!("{landed} of {} landed  {offs}", tries.len())
            }
        }
    }
}

impl Widget for &Picture<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let theme = &self.scene.look.theme;
        let last = self.row.tries.last();
        let mut pen = Pen::new(buf, area);
        if let Some(tried) = last {
            self.band(&mut pen, tried.tolerance);
            if area.height > 1 {
                self.line(tried, area, buf);
            }
        }
        let mut pen = Pen::new(buf, area);
        pen.text(1, 0, &parts::cut(&self.row.tab, parts::LABEL - 2), theme.strong);
        for tried in &self.row.tries {
            self.mark(&mut pen, tried);
        }
        let x = parts::LABEL + self.columns + 1;
        let said = parts::cut(self.said(&pen).trim_end(), pen.width() - x);
        pen.text(x, 0, &said, theme.plain);
    }
}

/// Sign and cents of a try.
fn short(look: &Look, tried: &Tried) -> String {
    let sign = words::verdict_sign(&tried.verdict, tried.tolerance, look);
    let off = tried.verdict.figures.map(|figures| words::whole(figures.cents_off, tried.tolerance));
    let off = off.map(|off| look.signed(off)).unwrap_or_default();
    format!("{sign}{off}")
}

/// The verdict of one try in a line, and its figures where there is room.
fn figures(look: &Look, tried: &Tried, wide: bool) -> String {
    let sign = words::verdict_sign(&tried.verdict, tried.tolerance, look);
    let verdict = words::verdict_short(&tried.verdict, &tried.harp, tried.tolerance, look);
    // How soon another note was reached says nothing.
    let asked = !matches!(tried.verdict.outcome, Outcome::AnotherNote(..));
    let measured = tried.verdict.figures.filter(|_| wide && asked).map(|figures| {
        format!(
            "reached {:>4.2} s  held {:>3.1} s  {}{}",
            figures.reach_s,
            figures.held_s,
            look.glyphs.spread,
            words::cents(figures.spread_cents)
        )
    });
    format!("{sign} {verdict:<14} {}", measured.unwrap_or_default())
}

/// The names of the band's edges below the picture, where all tries had one tolerance.
fn edges(scene: &Scene<'_>, session: &Session, pen: &mut Pen<'_>, (y, columns): (i32, i32)) {
    let mut tolerances = session.results().iter().map(|tried| tried.tolerance);
    let Some(tolerance) = tolerances.next() else { return };
    let in_tune = tolerance.in_tune_cents;
    let (Some(left), Some(right)) = (column(-in_tune, columns), column(in_tune, columns)) else { return };
    if tolerances.any(|other| other.in_tune_cents != in_tune) {
        return;
    }
    let (flat, faint) = (format!("{in_tune} flat"), scene.look.theme.faint);
    pen.text(parts::LABEL + left + 1 - width(&flat), y, &flat, faint);
    pen.text(parts::LABEL + right, y, &format!("{in_tune} sharp"), faint);
}
