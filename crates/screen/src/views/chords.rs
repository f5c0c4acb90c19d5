//! A drill of chords: what to play, the whole harp with the holes that are asked for and those that sound, and
//! the verdict.

mod summary;

use crate::big::{self, Size};
use crate::keys::Command;
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::stair::Stair;
use crate::{chord_words, parts};
use layout::Way;
use practice::{ChordTried, Chords, Phase, ReedSet};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;
use scoring::reeds::ReedsTarget;
pub(super) use summary::{act as act_on_summary, render as render_summary};

const KEYS: [(Command, &str); 6] = [
    (Command::Help, "keys"),
    (Command::Pause, "pause"),
    (Command::Next, "next"),
    (Command::Again, "again"),
    (Command::Leave, "leave"),
    (Command::Player, "built-in player"),
];

/// The least rows of a picture: a hole and a row above it.
const LEAST_PICTURE: i32 = 2;
/// Below this height, rules and the row of tries are left out.
const ROOMY: u16 = 16;

/// Draws the drill.
pub(super) fn render(scene: &Scene<'_>, chords: &Chords, area: Rect, buf: &mut Buffer) {
    let Some(asked) = chords.target() else { return };
    let released = matches!(chords.phase(), Phase::Released | Phase::Judged);
    let judged = chords.results().last().filter(|_| released);
    let shown = judged.map_or(asked, |tried| tried.asked.target);
    let look = scene.look;
    let roomy = area.height >= ROOMY;
    let size = Size::of(area.width, area.height, &look.glyphs);
    let mut pen = Pen::new(buf, area);
    header(scene, chords, &mut pen);
    let mut top = 1;
    if roomy {
        parts::harp_rule(&mut pen, 1, scene);
        progress(scene, chords, &mut pen, 2);
        top = 3;
    }
    top = head(scene, (chords, shown), (&mut pen, top, size));
    let foot = pen.height() - 1;
    let said = said_rows(chords, (&pen, foot - top), roomy);
    // The rule, what is said, the warning, the keys.
    let below = said + if roomy { 3 } else { 2 };
    let rows = (foot + 1 - below - top).max(0) as u16;
    parts::key_line(&mut pen, foot, (look, scene.keys), &KEYS);
    super::warning(scene, &mut pen, foot - 1);
    if roomy {
        parts::rule(&mut pen, foot + 1 - below, look);
    }
    report(scene, chords, &mut pen, (foot - 1 - said, said));
    let place = Rect { y: area.y + top as u16, height: rows, ..area };
    let wanted: Vec<Way> = shown.ways().collect();
    let sounds = chords.together().map(ReedSet::ways).unwrap_or_default();
    let stair = Stair {
        look,
        harp: scene.harp(),
        tonic: scene.desk.position.tonic(scene.harp()),
        wanted: &wanted,
        pitch: None,
        sounds: &sounds,
        still: scene.still,
        key: None,
        named: false,
    };
    stair.render(place, buf);
}

/// Rows for the verdict and what to do about it; before the first one for the whole caution, if there is so much room.
fn said_rows(chords: &Chords, (pen, room): (&Pen<'_>, i32), roomy: bool) -> i32 {
    let usual = if roomy { 2 } else { 1 };
    let caution = chords.drill().caution.as_deref().filter(|_| chords.results().is_empty());
    let wanted = caution.map_or(0, |text| count(parts::broken(text, pen.width() - 2).len()));
    wanted.min(room - LEAST_PICTURE - 3).max(usual)
}

fn header(scene: &Scene<'_>, chords: &Chords, pen: &mut Pen<'_>) {
    let (drill, dot) = (chords.drill(), scene.look.glyphs.dot);
    let left = format!("{} harp {dot} {}", scene.harp().key(), drill.title);
    let who = scene.world.source_words();
    let place = format!("{} of {}", chords.place() + 1, drill.items.len());
    let wordings = [(&left, &who), (&left, &place), (&drill.title, &place)];
    parts::header(pen, 0, scene.look, &wordings.map(|(left, right)| (left.as_str(), right.as_str())));
}

/// The tries at each chord, and which try this is.
fn progress(scene: &Scene<'_>, chords: &Chords, pen: &mut Pen<'_>, y: i32) {
    let look = scene.look;
    let item = chords.drill().items.get(chords.item());
    let tries = item.map_or(1, |item| item.tries).max(chords.attempt());
    let (place, all) = (chords.place() + 1, chords.order().len());
    let right = chords.in_a_row().map_or_else(
        || format!("chord {place} of {all}, try {} of {tries}", chords.attempt()),
        |(right, wanted)| format!("right {right} of {wanted} in a row"),
    );
    let end = pen.width() - width(&right) - 1;
    pen.text(end, y, &right, look.theme.faint);
    let marks: Vec<String> = chords
        .order()
        .iter()
        .enumerate()
        .map(|(at, item)| {
            let of_item = |tried: &&ChordTried| tried.asked.item == *item && !tried.verdict.asks_again();
            let signs: String = chords
                .results()
                .iter()
                .filter(of_item)
                .map(|tried| chord_words::sign(&tried.verdict, look))
                .collect();
            let signs = if signs.is_empty() { look.glyphs.coming.to_string() } else { signs };
            if at == chords.place() { format!("[{signs}]") } else { signs }
        })
        .collect();
    let mut x = 1;
    for (at, text) in marks.iter().enumerate() {
        if x + width(text) >= end - 1 {
            break;
        }
        let style = if at == chords.place() { look.theme.strong } else { look.theme.plain };
        x = pen.text(x, y, text, style) + 1;
    }
}

/// What to do now, the chord large where there is room, and how long it has been held; returns the row after it.
fn head(
    scene: &Scene<'_>,
    (chords, shown): (&Chords, ReedsTarget),
    (pen, y, size): (&mut Pen<'_>, i32, Option<Size>),
) -> i32 {
    let theme = &scene.look.theme;
    let tab = chord_words::tab_of(shown, scene.look);
    let held = match chords.phase() {
        Phase::Playing => format!("{:.1} s of {} s", chords.held_s(), shown.hold_s),
        Phase::Paused => String::new(),
        _ => format!("hold {} s", shown.hold_s),
    };
    let held_x = pen.width() - width(&held) - 1;
    let large = size.filter(|size| {
        tab.chars().all(|sign| sign == ' ' || big::can(&sign.to_string())) && {
            let columns: i32 = shown.ways().map(|way| big::width(&scene.look.tab(way), *size) + 3).sum();
            columns + 3 < held_x
        }
    });
    let Some(size) = large else {
        let x = pen.text(1, y, &tab, theme.target.patch(theme.strong)) + 2;
        pen.text(x, y, &parts::cut(&ask(scene, chords), held_x - x - 1), theme.strong);
        pen.text(held_x, y, &held, theme.plain);
        return y + 1;
    };
    pen.text(3, y, &parts::cut(&ask(scene, chords), pen.width() - 4), theme.strong);
    let mut x = 3;
    for way in shown.ways() {
        let style = theme.target.patch(theme.strong);
        x = big::draw(pen, (x, y + 1), &scene.look.tab(way), (size, style)) + 3;
    }
    pen.text(held_x, y + i32::from(size.rows()), &held, theme.plain);
    y + 1 + i32::from(size.rows())
}

/// What to do now, in one sentence.
fn ask(scene: &Scene<'_>, chords: &Chords) -> String {
    let Some(asked) = chords.target() else { return String::new() };
    match chords.phase() {
        Phase::Paused => "paused: nothing is judged".to_owned(),
        Phase::Judged => "let go: that was the last chord".to_owned(),
        Phase::Released => format!("let go; next {}", chord_words::tab_of(asked, scene.look)),
        _ => chord_words::ask(asked),
    }
}

/// The verdict on the last try and what to do about it; before the first one the caution of the drill.
fn report(scene: &Scene<'_>, chords: &Chords, pen: &mut Pen<'_>, (y, rows): (i32, i32)) {
    let (look, theme) = (scene.look, &scene.look.theme);
    let Some(tried) = chords.results().last() else {
        let caution = chords.drill().caution.as_deref().unwrap_or_default();
        parts::paragraph(pen, (1, y), caution, (rows, theme.faint));
        return;
    };
    let present = matches!(chords.phase(), Phase::Released | Phase::Judged);
    let style = if present { theme.strong } else { theme.plain };
    let x = parts::label(pen, y, look, if present { "verdict" } else { "last try" });
    let target = tried.asked.target;
    let sign = chord_words::sign(&tried.verdict, look);
    let x = pen.text(x, y, &format!("{sign} {}  ", chord_words::tab_of(target, look)), style);
    parts::paragraph(pen, (x, y), &chord_words::verdict(&tried.verdict, target), (1, style));
    if rows > 1
        && let Some(hint) = chord_words::hint(&tried.verdict, target)
    {
        pen.text(parts::LABEL, y + 1, &parts::cut(hint, pen.width() - parts::LABEL - 1), theme.plain);
    }
}
