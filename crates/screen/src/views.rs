//! The views. Each is a function of the state; the root chooses one and lays the help over it.

mod drill;
pub(crate) mod help;
mod home;
mod listen;
mod map;
mod summary;

use crate::app::{App, View};
use crate::keys::Command;
use crate::notice::Source;
use crate::pen::{Pen, width};
use crate::{Look, big, parts};
use big::Size;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// Below this size a view says so instead of drawing a picture that nobody could read.
const LEAST: (u16, u16) = (40, 12);

/// Draws the view of `app` into `area`.
pub(crate) fn render(app: &App, area: Rect, buf: &mut Buffer) {
    if area.width < LEAST.0 || area.height < LEAST.1 {
        return too_small(app, area, buf);
    }
    if let Some(page) = app.help_page() {
        return page.render(area, buf);
    }
    match &app.view {
        View::Home => home::render(app, area, buf),
        View::Drill(session) => drill::render(app, session, area, buf),
        View::Listen(listening) => listen::render(app, listening, area, buf),
        View::Summary(session) => summary::render(app, session, area, buf),
        View::Map(map) => map::render(app, map, area, buf),
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

/// The distance from the pitch asked for, drawn large at the right edge from row `y`, with its word; returns the column
/// at which it begins.
fn distance(look: &Look, pen: &mut Pen<'_>, (y, size): (i32, Size), (off, word): (f64, &str)) -> i32 {
    let number = look.signed(off);
    let word_x = pen.width() - 9;
    let foot = y + i32::from(size.rows()) - 1;
    pen.text(word_x, foot - 1, word, look.theme.voice);
    pen.text(word_x, foot, "cents", look.theme.faint);
    if look.glyphs.big && big::can(&number) {
        let x = word_x - 2 - big::width(&number, size);
        big::draw(pen, (x, y), &number, (size, look.theme.voice));
        x
    } else {
        let x = word_x - 2 - width(&number);
        pen.text(x, foot - 1, &number, look.theme.voice);
        x
    }
}

/// Tab drawn large from row `y`, or as it is where figures cannot be large; returns the column for what stands beside.
fn tab(look: &Look, pen: &mut Pen<'_>, (y, size): (i32, Size), (tab, style): (&str, Style)) -> i32 {
    let end = if look.glyphs.big && big::can(tab) {
        big::draw(pen, (3, y), tab, (size, style)) + 2
    } else {
        pen.text(3, y, tab, style) + 3
    };
    end.max(20)
}

/// The warning line of a view: the most urgent sentence, with a sign before it. True if there is one.
fn warning(app: &App, pen: &mut Pen<'_>, y: i32) -> bool {
    let Some(text) = warning_words(app, pen.width() - 3) else { return false };
    let style = app.setup.look.theme.warning;
    let x = pen.text(1, y, "! ", style);
    parts::paragraph(pen, (x, y), &text, (1, style));
    true
}

/// What to warn of, if possible in `room` columns. The missing microphone is told where one would play.
fn warning_words(app: &App, room: i32) -> Option<String> {
    if app.world.source != Source::None {
        return app.world.warning();
    }
    let played = Command::Player.row().is_some_and(|row| row.places.contains(&app.place()));
    let key = app.setup.keys.presses(Command::Player).first().filter(|_| played)?;
    let long = format!("No microphone found. Press {key} and the built-in player plays for you.");
    let brief = format!("No microphone: press {key} for the built-in player.");
    Some(if width(&long) < room { long } else { brief })
}
