//! The views. Each is a function of the state; the root chooses one and lays the help over it.

mod drill;
mod help;
mod home;
mod listen;
mod summary;

use crate::app::{App, View};
use crate::pen::{Pen, width};
use crate::{big, parts};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;

/// Below this size a view says so instead of drawing a picture that nobody could read.
const LEAST: (u16, u16) = (40, 12);

/// Draws the view of `app` into `area`.
pub(crate) fn render(app: &App, area: Rect, buf: &mut Buffer) {
    if area.width < LEAST.0 || area.height < LEAST.1 {
        return too_small(app, area, buf);
    }
    if app.help {
        return help::Help { look: &app.setup.look, keys: &app.setup.keys, place: app.place() }
            .render(area, buf);
    }
    match &app.view {
        View::Home => home::render(app, area, buf),
        View::Drill(session) => drill::render(app, session, area, buf),
        View::Listen(listening) => listen::render(app, listening, area, buf),
        View::Summary(session) => summary::render(app, session, area, buf),
    }
}

/// One sentence, in the middle, for as much of it as there is room.
fn too_small(app: &App, area: Rect, buf: &mut Buffer) {
    let look = &app.setup.look;
    let mut pen = Pen::new(buf, area);
    let text = format!("Make this window at least {} columns wide and {} rows high.", LEAST.0, LEAST.1);
    let y = (pen.height() - width(&text) / pen.width().max(1) - 1).max(0) / 2;
    let rows = pen.height();
    parts::paragraph(&mut pen, (0, y), &text, (rows, look.theme.plain));
}

/// The distance from the pitch asked for, drawn large at the right edge from row `y`, with its word.
fn distance(app: &App, pen: &mut Pen<'_>, y: i32, (off, word): (f64, &str)) {
    let look = &app.setup.look;
    let number = look.signed(off);
    let word_x = pen.width() - 9;
    pen.text(word_x, y + 1, word, look.theme.voice);
    pen.text(word_x, y + 2, "cents", look.theme.faint);
    if look.glyphs.big && big::can(&number) {
        big::draw(pen, (word_x - 2 - big::width(&number), y), &number, look.theme.voice);
    } else {
        pen.text(word_x - 2 - width(&number), y + 1, &number, look.theme.voice);
    }
}

/// The warning line of a view: the most urgent sentence, with a sign and a word before it.
fn warning(app: &App, pen: &mut Pen<'_>, y: i32) {
    if let Some(text) = app.world.warning() {
        pen.text(1, y, &format!("! {text}"), app.setup.look.theme.warning);
    }
}
