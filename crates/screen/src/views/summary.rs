//! The end of a drill: what landed, note by note.

use crate::app::App;
use crate::keys::Command;
use crate::pen::{Pen, width};
use crate::{parts, words};
use practice::{Session, Tried};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use scoring::Outcome;

const KEYS: [(Command, &str); 3] =
    [(Command::Start, "do it again"), (Command::Leave, "back"), (Command::Help, "keys")];

/// Draws the end of a drill.
pub(super) fn render(app: &App, session: &Session, area: Rect, buf: &mut Buffer) {
    let mut pen = Pen::new(buf, area);
    let look = &app.setup.look;
    let foot = pen.height() - 1;
    let title = format!("{} harp {} {}", app.harp().key(), look.glyphs.dot, session.drill().title);
    parts::header(&mut pen, 0, look, (&title, "done"));
    parts::rule(&mut pen, 1, look);
    pen.text(1, 2, &score(session.results()), look.theme.strong);
    let mut y = 4;
    for (index, item) in session.drill().items.iter().enumerate() {
        let tries: Vec<&Tried> = session.results().iter().filter(|tried| tried.item == index).collect();
        if tries.is_empty() || y >= foot - 1 {
            continue;
        }
        pen.text(1, y, &look.tab(item.target.way), look.theme.target.patch(look.theme.strong));
        let mut x = parts::LABEL;
        for tried in tries {
            let sign = words::verdict_sign(&tried.verdict, look);
            let text = format!("{sign} {}", words::verdict_short(&tried.verdict, look));
            if x + width(&text) > pen.width() {
                break;
            }
            x = pen.text(x, y, &text, look.theme.plain) + 3;
        }
        y += 1;
    }
    super::warning(app, &mut pen, foot - 1);
    parts::key_line(&mut pen, foot, (look, &app.setup.keys), &KEYS);
}

/// How many tries landed, of those that count.
fn score(results: &[Tried]) -> String {
    let counted = results.iter().filter(|tried| tried.verdict.outcome != Outcome::NotScored);
    let landed = counted.clone().filter(|tried| tried.verdict.outcome == Outcome::Landed).count();
    format!("{landed} of {} tries landed", counted.count())
}
