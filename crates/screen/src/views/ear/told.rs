//! What was asked and what was played, once it is answered.

use crate::ear_words as words;
use crate::parts;
use crate::pen::{Pen, width};
use crate::plumb::{self, Plumb};
use crate::scale::{self, Scale};
use crate::scene::Scene;
use crate::window::Window;
use practice::ear::{Answer, Answered, Asks, ByEar, HeldAnswer, NoteAnswer};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;

/// Columns that a note of a call takes at least, with the blank behind it.
const NOTE: i32 = 6;
/// Columns left and right of the line of a pitch, the same on both sides so that the target stands in the middle.
const BESIDE: u16 = 8;
/// The least rows in which a line of pitch tells anything.
const LINE_ROWS: u16 = 4;
/// The least and the most time of one row, seconds.
const ROW_S: (f64, f64) = (0.05, 0.25);

/// One question.
pub(super) fn one(scene: &Scene<'_>, answered: &Answered, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    let mut pen = Pen::new(buf, area);
    let sign = words::sign(answered, look);
    let verdict = format!("{sign} {}", words::verdict(answered, &look.tab));
    let y = parts::paragraph(&mut pen, (1, 0), &verdict, (3, look.theme.strong));
    match &answered.answer {
        Answer::Notes(notes) => table(scene, notes, &mut pen, y + 1),
        Answer::Held(held) => {
            let figures = words::figures(answered, look);
            let room = pen.width() - 2;
            pen.text(1, y, &parts::joined(&figures, look, room), look.theme.plain);
            let taken = (y + 2) as u16;
            let rest = Rect { y: area.y + taken, height: area.height.saturating_sub(taken), ..area };
            // Where a note is asked by its name, which note was played matters more than its pitch.
            if matches!(answered.question.asks, Asks::Drone(_) | Asks::Depth(_)) && rest.height >= LINE_ROWS {
                line(scene, (answered, held), rest, buf);
            }
        }
        Answer::Nothing => {}
    }
}

/// What was wanted and what was played, note below note.
fn table(scene: &Scene<'_>, notes: &[NoteAnswer], pen: &mut Pen<'_>, y: i32) {
    let theme = &scene.look.theme;
    let pairs: Vec<_> = notes.iter().map(|note| words::pair(note, scene.look)).collect();
    parts::label(pen, y, scene.look, "asked");
    parts::label(pen, y + 1, scene.look, "played");
    let mut x = parts::LABEL;
    for (wanted, played, sign) in &pairs {
        pen.text(x, y, wanted, theme.strong);
        pen.text(x, y + 1, played, theme.plain);
        pen.glyph(x, y + 2, *sign, theme.strong);
        x += NOTE.max(width(wanted) + 2).max(width(played) + 2);
    }
}

/// How the pitch went, newest on top, beside the pitch that was asked for.
fn line(scene: &Scene<'_>, (answered, held): (&Answered, &HeldAnswer), area: Rect, buf: &mut Buffer) {
    let (look, harp) = (scene.look, &answered.harp);
    let Some(hz) = held.target.hz(harp) else { return };
    let Some(number) = scale::number_of(harp, held.target.way) else { return };
    let columns = area.width.saturating_sub(2 * BESIDE);
    let lasted_s = held.trace.tenths.len() as f64 * scoring::Trace::STEP_S;
    let row_s = (lasted_s / f64::from(area.height)).clamp(ROW_S.0, ROW_S.1);
    let rows = plumb::rows_of(&held.trace, look, (hz, (row_s, area.height)));
    let plumb = Plumb {
        look,
        scale: Scale::around(number, columns),
        harp,
        target: Some(number),
        in_tune: answered.tolerance.in_tune_cents,
        held: 0.0,
        earlier: &[],
        rows: &rows,
    };
    plumb.render(Rect { x: area.x + BESIDE, width: columns, ..area }, buf);
}

/// All questions, when they are over; where not all have room, the last ones.
pub(super) fn all(scene: &Scene<'_>, by_ear: &ByEar, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    let mut pen = Pen::new(buf, area);
    let results = by_ear.results();
    if let Some(why) = by_ear.plan().cannot_ask(scene.harp()).filter(|_| results.is_empty()) {
        parts::paragraph(&mut pen, (1, 0), &why, (3, look.theme.strong));
        return;
    }
    let score = words::line(by_ear.plan(), by_ear.score());
    pen.text(1, 0, &parts::cut(&score, pen.width() - 2), look.theme.strong);
    let rows = pen.height() - 2;
    let window = Window::around(results.len().saturating_sub(1), results.len(), rows);
    for (row, index) in window.seen() {
        let Some(answered) = results.get(index) else { continue };
        let (sign, verdict) = (words::sign(answered, look), words::verdict(answered, &look.tab));
        let text = format!("{sign} {:>2}  {verdict}", answered.question.number);
        pen.text(1, 2 + row, &parts::cut(&text, pen.width() - 2), look.theme.plain);
    }
    window.ends(&mut pen, (1, 2), look);
}
