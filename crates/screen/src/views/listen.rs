//! Free playing: what sounds now, where it lies on the stair, and the tab of the last while.

use crate::app::App;
use crate::keys::Command;
use crate::listening::{Listening, Sounding};
use crate::pen::{Pen, width};
use crate::{parts, words};
use layout::PitchClass;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

const KEYS: [(Command, &str); 5] = [
    (Command::Help, "keys"),
    (Command::Position, "position"),
    (Command::Lower, "harp lower"),
    (Command::Higher, "harp higher"),
    (Command::Leave, "leave"),
];

/// Draws free playing.
pub(super) fn render(app: &App, listening: &Listening, area: Rect, buf: &mut Buffer) {
    let mut pen = Pen::new(buf, area);
    let look = &app.setup.look;
    let foot = pen.height() - 1;
    let tonic = tonic(app);
    let left = format!("{} harp {} position {} ({tonic})", app.harp().key(), look.glyphs.dot, app.position);
    parts::header(&mut pen, 0, look, (&left, &app.world.source_words()));
    parts::rule(&mut pen, 1, look);
    if let Some(now) = listening.now() {
        sounding(app, &mut pen, 2, now);
    } else {
        pen.text(2, 2, "play anything", look.theme.faint);
    }
    lately(app, &mut pen, foot - 2, listening);
    super::warning(app, &mut pen, foot - 1);
    parts::key_line(&mut pen, foot, (look, &app.setup.keys), &KEYS);
}

/// The home note of the position.
fn tonic(app: &App) -> PitchClass {
    let fifths = i32::from(app.position) - 1;
    PitchClass::new(i32::from(app.harp().key().pitch_class().semitones()) + 7 * fifths)
}

fn sounding(app: &App, pen: &mut Pen<'_>, y: i32, now: &Sounding) {
    let theme = &app.setup.look.theme;
    let tab = now.ways.first().map_or("not on this harp".to_owned(), |way| app.setup.look.tab(*way));
    let x = pen.text(2, y, &tab, theme.strong) + 2;
    let x = pen.text(x, y, &words::note(now.note), theme.plain) + 2;
    pen.text(x, y, &words::off(now.cents), theme.voice);
}

fn lately(app: &App, pen: &mut Pen<'_>, y: i32, listening: &Listening) {
    let look = &app.setup.look;
    parts::label(pen, y, look, "lately");
    let mut x = pen.width() - 1;
    for played in listening.played() {
        let tab = played.way.map_or_else(|| words::note(played.note), |way| look.tab(way));
        x -= width(&tab);
        if x < parts::LABEL {
            break;
        }
        pen.text(x, y, &tab, look.theme.plain);
        x -= 1;
    }
}
