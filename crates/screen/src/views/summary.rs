//! The end of a drill: how much landed, what the tries have in common, what to work on, and where every try lay.

mod rows;

use crate::big::{self, Size};
use crate::desk::Desk;
use crate::keys::Command;
use crate::pen::Pen;
use crate::scene::Scene;
use crate::views::Page;
use crate::{Action, chord_words, parts, words};
use practice::{Exercise, Lean, Order, Phase, Session};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// From this height on there is a row for what came before.
const ROOMY: i32 = 16;

/// The view of a drill's end.
pub(super) struct Summary;

impl Page for Summary {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(session) = scene.exercise.session() {
            render(scene, session, area, buf);
        } else if let Some(chords) = scene.exercise.chords() {
            super::chords::render_summary(scene, chords, area, buf);
        }
    }

    fn act(&self, desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
        let Some(session) = exercise.session() else {
            return super::chords::act_on_summary(desk, exercise, command);
        };
        let drill = match command {
            Command::Start if desk.day.is_under_way() => return super::next_block(desk, exercise),
            Command::Start => session.drill().clone(),
            Command::Missed => session.missed()?,
            Command::Weakest => session.weakest()?,
            Command::NextDrill => {
                let next = desk.choose_after(&session.drill().name, exercise.harp())?;
                return Some(Action::StartDrill(next.name.clone()));
            }
            _ => {
                desk.scroll(command, session.results().len());
                return None;
            }
        };
        desk.scrolled = 0;
        Some(Action::Order(Order::Drill(Box::new(drill))))
    }
}

fn render(scene: &Scene<'_>, session: &Session, area: Rect, buf: &mut Buffer) {
    let mut pen = Pen::new(buf, area);
    let foot = pen.height() - 1;
    header(scene, session, &mut pen);
    parts::harp_rule(&mut pen, 1, scene);
    let top = score(scene, session, &mut pen, 2);
    if !super::warning(scene, &mut pen, foot - 1) {
        super::coming(scene, &mut pen, foot - 1);
    }
    parts::key_line(&mut pen, foot, (scene.look, scene.keys), &keys(scene, session));
    let place = Rect { y: area.y + top as u16, height: (foot - 1 - top).max(0) as u16, ..area };
    rows::render(scene, session, place, buf);
}

/// The keys that do something now, the most useful first.
fn keys(scene: &Scene<'_>, session: &Session) -> Vec<(Command, &'static str)> {
    let next = scene.desk.after(&session.drill().name, scene.harp());
    let planned = scene.desk.day.is_under_way();
    let keys = [
        (Command::Start, if scene.desk.day.next().is_some() { "next block" } else { "today" }, planned),
        (Command::Start, "again", !planned),
        (Command::Missed, "only what did not land", session.missed().is_some()),
        (Command::Weakest, "work on it", session.weakest().is_some()),
        (Command::NextDrill, "next drill", next.is_some() && !planned),
        (Command::Leave, "back", true),
        (Command::Help, "keys", true),
        (Command::Remark, "remark", true),
    ];
    keys.into_iter().filter(|(.., works)| *works).map(|(command, words, _)| (command, words)).collect()
}

/// The harp and the drill, and how it ended and who played it.
fn header(scene: &Scene<'_>, session: &Session, pen: &mut Pen<'_>) {
    let (look, title) = (scene.look, &session.drill().title);
    let full = format!("{} harp {} {title}", scene.harp().key(), look.glyphs.dot);
    let ending = if session.phase() == Phase::Done { "done" } else { "left early" };
    let at = match session.order().len() {
        items if session.phase() == Phase::Left && items > 1 => {
            format!("{ending}, at note {} of {items}", session.place() + 1)
        }
        _ => ending.to_owned(),
    };
    let who = scene.world.who_plays();
    let by =
        |ending: &str| who.as_ref().map_or(ending.to_owned(), |who| format!("{ending}, played by {who}"));
    let (long, brief) = (by(&at), by(ending));
    parts::header(pen, 0, look, &[(&full, &long), (&full, &brief), (title, &brief), (title, ending)]);
}

/// How much landed, in large figures, and what it comes to in words; returns the row after it.
fn score(scene: &Scene<'_>, session: &Session, pen: &mut Pen<'_>, y: i32) -> i32 {
    let (look, summary) = (scene.look, session.summary());
    let theme = &look.theme;
    let landed = summary.landed.to_string();
    let size = Size::of(pen.width() as u16, pen.height() as u16, &look.glyphs);
    let (x, rows) = match size {
        Some(size) => (big::draw(pen, (3, y), &landed, (size, theme.voice)) + 2, i32::from(size.rows())),
        None => (pen.text(1, y, &landed, theme.strong) + 1, 3),
    };
    let lines = sentences(scene, session);
    for (row, line) in (y..y + rows).zip(&lines) {
        parts::paragraph(pen, (x, row), line, (1, if row == y { theme.strong } else { theme.plain }));
    }
    last(scene, session, pen, y + rows);
    let before = words::before(&scene.desk.before, scene.desk.day.today).filter(|_| pen.height() >= ROOMY);
    if let Some(before) = before {
        let x = parts::label(pen, y + rows + 1, look, "before");
        pen.text(x, y + rows + 1, &parts::cut(&before, pen.width() - x - 1), theme.plain);
    }
    y + rows + 1 + i32::from(pen.height() >= ROOMY)
}

/// What the session comes to, the most important first.
fn sentences(scene: &Scene<'_>, session: &Session) -> Vec<String> {
    let summary = session.summary();
    let centred = match summary.landed {
        0 => String::new(),
        _ => format!(
            ", {} of them centred (within {})",
            summary.centred,
            words::width(session.tolerance().centred_cents)
        ),
    };
    let mut lines = vec![format!("of {} landed{centred}", summary.tries)];
    if let Some(off) = summary.median_cents_off {
        let habit = summary.lean.map(|lean| format!("; {}", habit(lean))).unwrap_or_default();
        lines.push(format!("usually {} off{habit}", words::cents(off)));
    }
    lines.push(match summary.weakest {
        Some(way) => format!("work next on {} ({way})", scene.look.tab(way)),
        None if summary.tries > 0 => "every note was centred".to_owned(),
        None => "nothing was judged".to_owned(),
    });
    lines
}

/// On which side of the pitch the tries lay.
fn habit(lean: Lean) -> String {
    let side = match () {
        () if lean.is_flat() => Some(("flat", lean.flat)),
        () if lean.is_sharp() => Some(("sharp", lean.sharp)),
        () => None,
    };
    match side {
        Some((side, tries)) => format!("mostly {side}, {tries} of {} tries", lean.tries()),
        None => format!("{} flat and {} sharp: no habit", lean.flat, lean.sharp),
    }
}

/// The verdict on the last try: there was no next one beside which it could be read.
fn last(scene: &Scene<'_>, session: &Session, pen: &mut Pen<'_>, y: i32) {
    let Some(tried) = session.results().last() else { return };
    let (look, way) = (scene.look, tried.way());
    let x = parts::label(pen, y, look, "last try");
    let sign = words::verdict_sign(&tried.verdict, tried.tolerance, look);
    let verdict = chord_words::with_clean(
        words::verdict(&tried.verdict, &tried.harp, way, tried.tolerance),
        tried.clean,
    );
    let x = pen.text(x, y, &format!("{sign} {}  ", look.tab(way)), look.theme.plain);
    parts::paragraph(pen, (x, y), &verdict, (1, look.theme.plain));
}
