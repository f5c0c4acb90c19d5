//! The end of a drill of chords: how many were right, what went wrong most often, and every chord with its tries.

use crate::big::{self, Size};
use crate::desk::Desk;
use crate::keys::Command;
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::window::Window;
use crate::{Action, chord_words, parts, words};
use practice::{ChordTried, Chords, Exercise, Order, Phase};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Draws it.
pub(in crate::views) fn render(scene: &Scene<'_>, chords: &Chords, area: Rect, buf: &mut Buffer) {
    let mut pen = Pen::new(buf, area);
    let foot = pen.height() - 1;
    header(scene, chords, &mut pen);
    parts::harp_rule(&mut pen, 1, scene);
    let top = score(scene, chords, &mut pen, 2);
    if !super::super::warning(scene, &mut pen, foot - 1) {
        super::super::coming(scene, &mut pen, foot - 1);
    }
    parts::key_line(&mut pen, foot, (scene.look, scene.keys), &keys(scene, chords));
    rows(scene, chords, &mut pen, (top, foot - 1 - top));
}

/// Does what a key asks for.
pub(in crate::views) fn act(desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
    let chords = exercise.chords()?;
    match command {
        Command::Start if desk.day.is_under_way() => super::super::next_block(desk, exercise),
        Command::Start => {
            desk.scrolled = 0;
            Some(Action::Order(Order::Drill(Box::new(chords.drill().clone()))))
        }
        Command::NextDrill => {
            let next = desk.choose_after(&chords.drill().name, exercise.harp())?;
            Some(Action::StartDrill(next.name.clone()))
        }
        _ => {
            desk.scroll(command, chords.order().len());
            None
        }
    }
}

fn keys(scene: &Scene<'_>, chords: &Chords) -> Vec<(Command, &'static str)> {
    let next = scene.desk.after(&chords.drill().name, scene.harp());
    let planned = scene.desk.day.is_under_way();
    let keys = [
        (Command::Start, if scene.desk.day.next().is_some() { "next block" } else { "today" }, planned),
        (Command::Start, "again", !planned),
        (Command::NextDrill, "next drill", next.is_some() && !planned),
        (Command::Leave, "back", true),
        (Command::Help, "keys", true),
        (Command::Remark, "remark", true),
    ];
    keys.into_iter().filter(|(.., works)| *works).map(|(command, words, _)| (command, words)).collect()
}

fn header(scene: &Scene<'_>, chords: &Chords, pen: &mut Pen<'_>) {
    let (look, title) = (scene.look, &chords.drill().title);
    let full = format!("{} harp {} {title}", scene.harp().key(), look.glyphs.dot);
    let ending = if chords.phase() == Phase::Done { "done" } else { "left early" };
    let by = scene.world.who_plays().map_or(ending.to_owned(), |who| format!("{ending}, played by {who}"));
    parts::header(pen, 0, look, &[(&full, &by), (title, &by), (title, ending)]);
}

/// How many were right, in large figures, and what to work on; returns the row after it.
fn score(scene: &Scene<'_>, chords: &Chords, pen: &mut Pen<'_>, y: i32) -> i32 {
    let (look, summary) = (scene.look, chords.summary());
    let theme = &look.theme;
    let right = summary.right.to_string();
    let size = Size::of(pen.width() as u16, pen.height() as u16, &look.glyphs);
    let (x, rows) = match size {
        Some(size) => (big::draw(pen, (3, y), &right, (size, theme.voice)) + 2, i32::from(size.rows())),
        None => (pen.text(1, y, &right, theme.strong) + 1, 3),
    };
    let mut lines = vec![format!("of {} right", summary.tries)];
    lines.extend(chord_words::next(&summary, |way| look.tab(way)));
    if lines.len() == 1 {
        lines.push(if summary.tries > 0 { "every chord was right" } else { "nothing was judged" }.to_owned());
    }
    for (row, line) in (y..y + rows).zip(&lines) {
        parts::paragraph(pen, (x, row), line, (1, if row == y { theme.strong } else { theme.plain }));
    }
    let before = words::before(&scene.desk.before, scene.desk.day.today);
    if let Some(before) = before {
        let x = parts::label(pen, y + rows, look, "before");
        pen.text(x, y + rows, &parts::cut(&before, pen.width() - x - 1), theme.plain);
    }
    y + rows + 1
}

/// A row for each chord that was tried: its tab, the signs of its tries, and the last verdict.
fn rows(scene: &Scene<'_>, chords: &Chords, pen: &mut Pen<'_>, (top, room): (i32, i32)) {
    let look = scene.look;
    let tried: Vec<(String, Vec<&ChordTried>)> = chords
        .order()
        .iter()
        .filter_map(|item| {
            let target = chords.drill().items.get(*item)?.chord()?;
            let own = chords.results().iter().filter(|tried| tried.asked.item == *item).collect();
            Some((chord_words::tab_of(target, look), own))
        })
        .filter(|(_, own): &(String, Vec<&ChordTried>)| !own.is_empty())
        .collect();
    let wide = tried.iter().map(|(tab, _)| width(tab)).max().unwrap_or(0);
    let window = Window::scrolled(scene.desk.scrolled, tried.len(), room.min(count(tried.len())));
    for (row, index) in window.seen() {
        let (tab, own) = &tried[index];
        let signs: String = own.iter().map(|tried| chord_words::sign(&tried.verdict, look)).collect();
        pen.text(1, top + row, tab, look.theme.strong);
        let x = pen.text(wide + 3, top + row, &signs, look.theme.plain) + 2;
        let last = own.last().map(|tried| chord_words::verdict(&tried.verdict, tried.asked.target));
        pen.text(x, top + row, &parts::cut(&last.unwrap_or_default(), pen.width() - x - 1), look.theme.plain);
    }
    window.ends(pen, (1, top), look);
}
