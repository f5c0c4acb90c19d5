//! Today's practice: the first screen. A block is a line, and below it why it is there.

use crate::day_plan::{self, State};
use crate::desk::Desk;
use crate::keys::Command;
use crate::notice::Source;
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::views::Page;
use crate::window::Window;
use crate::{Action, Look, View, parts};
use course::{Block, Reason};
use practice::{Exercise, Order};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

const KEYS: [(Command, &str); 14] = [
    (Command::Start, "start"),
    (Command::LeaveOut, "leave out"),
    (Command::List, "list"),
    (Command::Progress, "progress"),
    (Command::MoreTime, "more"),
    (Command::LessTime, "less"),
    (Command::Help, "keys"),
    (Command::Leave, "leave"),
    (Command::Listen, "play freely"),
    (Command::Jam, "over a form"),
    (Command::ByEar, "by ear"),
    (Command::Player, "built-in player"),
    (Command::Remark, "remark"),
    (Command::HandOver, "hand over"),
];

/// Columns before the words of a block: its sign, what it is for.
const PART: i32 = 4;
const TITLE: i32 = 14;
/// Rows of the cautions at the foot, and from this height on there is room for them.
const CAUTIONS: (i32, i32) = (2, 20);

/// The view of today's practice.
pub(super) struct TodayPage;

impl Page for TodayPage {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        render(scene, area, buf);
    }

    fn act(&self, desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
        match command {
            Command::Start => return super::begin_block(desk, exercise, desk.day.chosen),
            Command::Listen => {
                desk.below = Some(View::Today);
                return Some(Action::Order(Order::PlayFreely));
            }
            Command::Jam => return super::jam::begin(desk, exercise.harp(), View::Today),
            Command::ByEar => return super::ear::begin(desk, exercise.harp(), (View::Today, None)),
            Command::Map => desk.open_map(exercise.harp()),
            Command::List => desk.view = View::Home,
            Command::Progress => desk.open_progress(),
            Command::LeaveOut => desk.day.leave_out(),
            Command::Sooner | Command::Later => desk.day.shift(command == Command::Later),
            Command::MoreTime | Command::LessTime => {
                desk.day.take_time(command == Command::MoreTime);
                desk.replan(exercise.harp());
            }
            _ => {
                let blocks = desk.day.blocks().len();
                desk.day.chosen = crate::desk::step(command, desk.day.chosen, blocks, desk.page());
            }
        }
        None
    }

    fn leave(&self, _desk: &mut Desk, _exercise: &Exercise) -> Action {
        Action::Quit
    }
}

fn render(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
    let (look, day) = (scene.look, &scene.desk.day);
    let mut pen = Pen::new(buf, area);
    let foot = pen.height() - 1;
    let gap = i32::from(pen.height() >= CAUTIONS.1);
    parts::header(&mut pen, 0, look, &[("Bendwright", &scene.world.source_words())]);
    parts::harp_rule(&mut pen, 1, scene);
    head(scene, &mut pen, 2 + gap);
    super::warning(scene, &mut pen, foot - 1);
    parts::key_line(&mut pen, foot, (look, scene.keys), &KEYS);
    let mut top = 3 + 2 * gap;
    if programme(scene, &mut pen, top - gap) {
        top += 1;
    }
    if scene.world.source == Source::Player && pen.height() >= CAUTIONS.1 {
        let text = "The built-in player shows how it goes; what it plays is not counted as yours.";
        pen.text(2, top - gap, &parts::cut(text, pen.width() - 3), look.theme.plain);
        top += 1;
    }
    let mut end = foot - 1;
    if gap > 0 {
        end -= CAUTIONS.0;
        super::cautions(scene, &mut pen, end);
        end -= 1;
    }
    if day.blocks().is_empty() {
        parts::paragraph(
            &mut pen,
            (2, top),
            "Nothing to practise on this harp: choose another.",
            (2, look.theme.plain),
        );
        return;
    }
    let place = Rect { y: area.y + top as u16, height: (end - top).max(0) as u16, ..area };
    blocks(scene, &mut Pen::new(buf, place));
}

/// The day, how long there is, and the harp.
fn head(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32) {
    let (look, day) = (scene.look, &scene.desk.day);
    let (left, minutes) = (day.minutes_left().max(1), day.minutes);
    let about = format!("about {left} minute{}", if left == 1 { "" } else { "s" });
    let rest = match day.next() {
        None => "done for today".to_owned(),
        Some(0) => format!("{about}; you have {minutes}"),
        Some(_) => format!("{about} left; you have {minutes}"),
    };
    let x = pen.text(2, y, "Today", look.theme.strong);
    let who = if scene.desk.who_is_told { format!(" for {}", scene.desk.who) } else { String::new() };
    let x = pen.text(x, y, &format!(", {}{who}: {rest}", day.today.weekday()), look.theme.plain);
    let row = match day.past.days_in_a_row(day.today) {
        0 | 1 => String::new(),
        days => format!("  {days} days in a row"),
    };
    let harp = format!("{} {} harp {}", look.glyphs.flat, scene.harp().key(), look.glyphs.sharp);
    let at = pen.width() - width(&harp) - 1;
    if x + width(&row) < at {
        pen.text(x, y, &row, look.theme.faint);
    }
    if x < at {
        pen.text(at, y, &harp, look.theme.strong);
    }
}

/// The programme that is followed, where the player stands in it, and what is open; true if there is one.
fn programme(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32) -> bool {
    let (look, day) = (scene.look, &scene.desk.day);
    let Some((programme, standing)) = day.standing() else { return false };
    let place = if programme.suits(scene.harp()) {
        programme.place(&standing)
    } else {
        format!("for harps in {} tuning", programme.tuning)
    };
    let mut parts = vec![format!("{}: {place}", programme.title)];
    if let Some(goal) = standing.open().next() {
        parts.push(format!("{}: {}", goal.goal.item, goal.words(day.today)));
    }
    pen.text(
        2,
        y,
        &parts::cut(&parts.join(&format!(" {} ", look.glyphs.dot)), pen.width() - 3),
        look.theme.plain,
    );
    true
}

/// The blocks. Below the chosen one stand its reasons, and below the others their first ones, as far as there is room.
fn blocks(scene: &Scene<'_>, pen: &mut Pen<'_>) {
    let day = &scene.desk.day;
    let (blocks, room) = (day.blocks(), pen.height());
    let lines = count(blocks.len());
    let own = count(blocks.get(day.chosen).map_or(0, |block| block.reasons.len()));
    let (chosen_only, every) = (lines + own <= room, 2 * lines + own <= room + 1);
    let apart = i32::from(3 * lines + own <= room + 1);
    let shown = |index: usize| {
        if index == day.chosen && chosen_only { usize::MAX } else { usize::from(every) }
    };
    let window = Window::around(day.chosen, blocks.len(), if chosen_only { lines } else { room });
    let mut y = 0;
    for (row, index) in window.seen() {
        let block = &blocks[index];
        y = if chosen_only { y } else { row };
        line(scene, pen, y, (block, index == day.chosen));
        for reason in block.reasons.iter().take(shown(index)) {
            y += 1;
            why(scene, pen, y, reason);
        }
        y += 1 + apart;
    }
    window.ends(pen, (PART, 0), scene.look);
}

/// A block: where it stands, what it is for, what it is, how long it takes.
fn line(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32, (block, chosen): (&Block, bool)) {
    let (look, state) = (scene.look, scene.desk.day.state(block));
    let theme = &look.theme;
    let style = match state {
        _ if chosen => theme.strong,
        State::Coming => theme.plain,
        State::Done | State::LeftOut => theme.faint,
    };
    if chosen {
        pen.glyph(1, y, look.glyphs.chosen, style);
    }
    pen.text(PART, y, day_plan::part(block.part), style);
    let minutes = (block.about_s / 60.0).round().max(1.0);
    let end = match state {
        State::Coming => format!("{minutes} min"),
        State::Done => "done".to_owned(),
        State::LeftOut => "left out".to_owned(),
    };
    let at = pen.width() - width(&end) - 1;
    pen.text(at, y, &end, style);
    pen.text(TITLE, y, &parts::cut(&what(block, look), at - TITLE - 1), style);
}

/// Why: the bend in the player's tab, and the reason.
fn why(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32, reason: &Reason) {
    let look = scene.look;
    let text = match reason.way {
        Some(way) => format!("{}  {}", look.tab(way), reason.why),
        None => reason.why.clone(),
    };
    pen.text(TITLE, y, &parts::cut(&text, pen.width() - TITLE - 1), look.theme.faint);
}

/// What is played in a block: bends in the player's tab, or its title.
pub(super) fn what(block: &Block, look: &Look) -> String {
    let bends = block.bends();
    match day_plan::runs(block) {
        None if !bends.is_empty() && block.part != course::Part::WarmUp => {
            let tab: Vec<String> = bends.iter().map(|way| look.tab(*way)).collect();
            format!("{}: {}", if bends.len() == 1 { "bend" } else { "bends" }, tab.join("  "))
        }
        _ => block.title.clone(),
    }
}
