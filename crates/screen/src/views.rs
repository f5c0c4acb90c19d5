//! The views. Each is a file of its own: what it draws of a [`Scene`], and what its keys do.

mod chords;
mod drill;
mod ear;
pub(crate) mod help;
mod home;
mod jam;
mod listen;
mod map;
mod progress;
mod run;
mod summary;
mod today;

use crate::desk::Desk;
use crate::keys::Command;
use crate::notice::Source;
use crate::pen::{Pen, width};
use crate::prompt::Prompt;
use crate::scene::Scene;
use crate::{Action, Look, View, big, parts};
use big::Size;
use course::Task;
use practice::run::Plan;
use practice::{Exercise, Order};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// What a view is to the screen.
pub(crate) trait Page {
    /// Draws it.
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer);

    /// Does what a key asks for in this view; gives back what only the program around the screen can do.
    fn act(&self, desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action>;

    /// Goes one level up: to where the player came from, or out where the program began here.
    fn leave(&self, desk: &mut Desk, _exercise: &Exercise) -> Action {
        leave(desk)
    }
}

/// Leaves what is practised for the view where it was begun, or leaves the program if that began with it.
fn leave(desk: &mut Desk) -> Action {
    let Some(below) = desk.below else { return Action::Quit };
    desk.day.interrupt();
    desk.view = below;
    Action::Order(Order::Rest)
}

impl View {
    /// The file behind each view.
    pub(crate) fn page(self) -> &'static dyn Page {
        match self {
            Self::Today => &today::TodayPage,
            Self::Home => &home::Home,
            Self::Drill => &drill::DrillPage,
            Self::Run => &run::Run,
            Self::Jam => &jam::JamPage,
            Self::Ear => &ear::EarPage,
            Self::Listen => &listen::Listen,
            Self::Summary => &summary::Summary,
            Self::Map => &map::Map,
            Self::Progress => &progress::ProgressPage,
        }
    }
}

/// Below this size a view says so instead of drawing a picture that nobody could read.
const LEAST: (u16, u16) = (40, 12);

/// Draws the view on the screen, or the help page that lies over it, into `area`.
pub(crate) fn render(scene: &Scene<'_>, help: Option<&help::Help<'_>>, area: Rect, buf: &mut Buffer) {
    if area.width < LEAST.0 || area.height < LEAST.1 {
        return too_small(scene, area, buf);
    }
    match help {
        Some(page) => page.render(area, buf),
        None => scene.view().page().render(scene, area, buf),
    }
}

/// One sentence, in the middle, for as much of it as there is room.
fn too_small(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    let mut pen = Pen::new(buf, area);
    let text = format!("Make this window at least {} columns wide and {} rows high.", LEAST.0, LEAST.1);
    let y = (pen.height() - width(&text) / pen.width().max(1) - 1).max(0) / 2;
    let rows = pen.height();
    parts::paragraph(&mut pen, (0, y), &text, (rows, look.theme.plain));
}

/// The distance from the pitch asked for, drawn large at the right edge from row `y`, with its word; returns the column
/// at which it begins.
fn distance(
    look: &Look,
    pen: &mut Pen<'_>,
    (y, size): (i32, Size),
    ((off, word), style): ((f64, &str), Style),
) -> i32 {
    let number = look.signed(off);
    let word_x = pen.width() - width(word).max(width("cents")) - 1;
    let foot = y + i32::from(size.rows()) - 1;
    pen.text(word_x, foot - 1, word, look.theme.strong);
    pen.text(word_x, foot, "cents", look.theme.faint);
    let x = word_x - 2 - big::width(&number, size);
    big::draw(pen, (x, y), &number, (size, style));
    x
}

/// Tab drawn large from row `y`, or as it is where figures cannot be large; returns the column for what stands beside.
fn tab(look: &Look, pen: &mut Pen<'_>, (y, size): (i32, Size), (tab, style): (&str, Style)) -> i32 {
    let end = if big::can(tab) {
        big::draw(pen, (3, y), tab, (size, style)) + 2
    } else {
        pen.text(3, y, tab, look.theme.strong) + 3
    };
    end.max(20)
}

/// Begins the block of today's practice at this place: gives the order that the exercise needs for it.
pub(crate) fn begin_block(desk: &mut Desk, exercise: &Exercise, index: usize) -> Option<Action> {
    let harp = exercise.harp();
    let task = desk.day.blocks().get(index)?.task.clone();
    let order = match task {
        Task::Drill(drill) => Order::Drill(drill),
        Task::InTime(name, runs) => {
            let mut lines = (0..desk.lines()).filter_map(|index| desk.line(index));
            let line = lines.find(|line| line.kept_as(harp).as_ref() == Some(&name))?;
            Order::Run(Box::new(Plan { runs, ..line.plan(harp)? }))
        }
    };
    desk.day.play(index);
    desk.below = Some(View::Today);
    Some(Action::Order(order))
}

/// Goes on to the next block, or back to the day if there is none.
pub(crate) fn next_block(desk: &mut Desk, exercise: &Exercise) -> Option<Action> {
    let next = desk.day.next();
    next.and_then(|index| begin_block(desk, exercise, index)).or_else(|| {
        desk.day.interrupt();
        desk.view = View::Today;
        Some(Action::Order(Order::Rest))
    })
}

/// Says at the end of a block what comes next, and when.
fn coming(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32) -> bool {
    let day = &scene.desk.day;
    if !day.is_under_way() {
        return false;
    }
    let next = day.next().and_then(|index| day.blocks().get(index));
    let what = next.map_or("that was the last block: back to today".to_owned(), |block| {
        format!("next: {}", today::what(block, scene.look))
    });
    let key = scene
        .keys
        .presses(Command::Start)
        .first()
        .map(|press| parts::key_name(&press.to_string(), scene.look));
    let when = match (day.comes_in_s, key) {
        (Some(seconds), Some(key)) => format!(", in {} s ({key}: now, another key: wait)", seconds.ceil()),
        (Some(seconds), None) => format!(", in {} s", seconds.ceil()),
        (None, Some(key)) => format!("; {key} goes on"),
        (None, None) => String::new(),
    };
    let text = parts::cut(&what, pen.width() - 2 - width(&when)) + &when;
    pen.text(1, y, &text, scene.look.theme.strong);
    true
}

/// The usual cautions, short.
fn cautions(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32) {
    let text = "Dizzy or tingling? Stop and breathe normally. Be gentle: force harms reeds and lips. \
                Keep the volume moderate.";
    parts::paragraph(pen, (2, y), text, (2, scene.look.theme.faint));
}

/// The warning line of a view: the most urgent sentence, with a sign before it. True if there is one.
fn warning(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32) -> bool {
    if let Some(prompt) = &scene.desk.prompt {
        prompt_line(scene, pen, y, prompt);
        return true;
    }
    let Some(text) = warning_words(scene, pen.width() - 3) else { return false };
    let style = scene.look.theme.warning;
    let x = pen.text(1, y, "! ", style);
    parts::paragraph(pen, (x, y), &text, (1, style));
    true
}

/// The line that is being typed; of a long one its end.
fn prompt_line(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32, prompt: &Prompt) {
    let (asks, typed) = prompt.words();
    let x = pen.text(1, y, &parts::cut(asks, pen.width() - 20), scene.look.theme.strong);
    let mut shown = typed.to_owned();
    while width(&shown) + 1 >= pen.width() - x && !shown.is_empty() {
        shown.remove(0);
    }
    let end = pen.text(x, y, &shown, scene.look.theme.plain);
    pen.glyph(end, y, ' ', scene.look.theme.chosen);
}

/// What to warn of, if possible in `room` columns. A missing microphone is told only where a key chooses who plays.
fn warning_words(scene: &Scene<'_>, room: i32) -> Option<String> {
    if let Some((command, does)) = &scene.desk.asks {
        let press = scene.keys.presses(*command).first()?;
        return Some(format!("{} again: {does}", parts::key_name(&press.to_string(), scene.look)));
    }
    if scene.world.source != Source::None {
        return scene.world.warning();
    }
    let played = Command::Player.row().is_some_and(|row| row.views.contains(&scene.view()));
    let key = scene.keys.presses(Command::Player).first().filter(|_| played)?;
    let long = format!("No microphone found. Press {key} and the built-in player plays for you.");
    let brief = format!("No microphone: press {key} for the built-in player.");
    Some(if width(&long) < room { long } else { brief })
}
