//! The first screen: which harp, which drill, or free playing.

use crate::app::App;
use crate::keys::Command;
use crate::notice::Source;
use crate::pen::{Pen, count};
use crate::{parts, words};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

const KEYS: [(Command, &str); 5] = [
    (Command::Start, "start"),
    (Command::Listen, "play freely"),
    (Command::Player, "built-in player"),
    (Command::Help, "keys"),
    (Command::Leave, "leave"),
];

/// Draws the first screen.
pub(super) fn render(app: &App, area: Rect, buf: &mut Buffer) {
    let mut pen = Pen::new(buf, area);
    let look = &app.setup.look;
    let foot = pen.height() - 1;
    parts::header(&mut pen, 0, look, ("Bendwright", &app.world.source_words()));
    parts::rule(&mut pen, 1, look);
    let roomy = pen.height() >= 20;
    let y = harp(app, &mut pen, 2 + i32::from(roomy));
    let below = if roomy { foot - 8 } else { foot - 4 };
    let y = drills(app, &mut pen, (y + i32::from(roomy), below));
    let about = app.setup.drills.get(app.chosen).map_or("", |drill| &drill.about);
    parts::paragraph(&mut pen, (3, y + i32::from(roomy)), about, (2, look.theme.plain));
    if roomy {
        cautions(app, &mut pen, foot - 4);
        parts::rule(&mut pen, foot - 2, look);
    }
    input(app, &mut pen, foot - 1);
    parts::key_line(&mut pen, foot, (look, &app.setup.keys), &KEYS);
}

/// The harp, and how to take another.
fn harp(app: &App, pen: &mut Pen<'_>, y: i32) -> i32 {
    let (look, harp) = (&app.setup.look, app.harp());
    let x = pen.text(2, y, "Your harp  ", look.theme.plain);
    let x = pen.text(x, y, &format!("{} ", look.glyphs.flat), look.theme.faint);
    let x = pen.text(x, y, &format!(" {} ", harp.key()), look.theme.chosen.patch(look.theme.strong));
    let x = pen.text(x, y, &format!(" {}  ", look.glyphs.sharp), look.theme.faint);
    let low = words::note(harp.key().blow_1());
    let hint = format!("left and right change it; hole 1 blow sounds {low}");
    pen.text(x, y, &hint, look.theme.faint);
    y + 1
}

/// The list of drills between two rows; returns the row after it.
fn drills(app: &App, pen: &mut Pen<'_>, (y, below): (i32, i32)) -> i32 {
    let look = &app.setup.look;
    let rows = (below - y).max(1);
    let first = (count(app.chosen) - rows + 1).max(0);
    let shown = app.setup.drills.iter().enumerate().skip(first as usize).take(rows as usize);
    let mut row = y;
    for (i, drill) in shown {
        let (sign, style) =
            if i == app.chosen { (look.glyphs.chosen, look.theme.strong) } else { (' ', look.theme.plain) };
        pen.text(2, row, &format!("{sign} {}", drill.title), style);
        row += 1;
    }
    row
}

/// The usual cautions, short.
fn cautions(app: &App, pen: &mut Pen<'_>, y: i32) {
    let faint = app.setup.look.theme.faint;
    pen.text(2, y, "Dizzy or tingling? Stop and breathe normally. A gentle breath bends best; force", faint);
    pen.text(2, y + 1, "harms reeds and lips. Keep loudspeaker and headphones at a moderate volume.", faint);
}

/// Whether there is something to listen to, in one sentence.
fn input(app: &App, pen: &mut Pen<'_>, y: i32) {
    if app.world.source == Source::None {
        let text = "! No microphone found: the built-in player can play for you.";
        pen.text(1, y, text, app.setup.look.theme.warning);
    } else {
        super::warning(app, pen, y);
    }
}
