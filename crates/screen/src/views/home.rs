//! The first screen: which harp, which drill, or free playing.

use crate::desk::Desk;
use crate::keys::Command;
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::stair::{self, Stair};
use crate::views::Page;
use crate::{Action, parts, words};
use layout::Way;
use practice::{Drill, Exercise, Item, NotForHarp, Order};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;

const KEYS: [(Command, &str); 6] = [
    (Command::Start, "start"),
    (Command::Listen, "play freely"),
    (Command::Map, "map"),
    (Command::Player, "built-in player"),
    (Command::Help, "keys"),
    (Command::Leave, "leave"),
];

/// Columns of the list where the stair stands beside it.
const LIST: u16 = 36;

/// The first screen.
pub(super) struct Home;

impl Page for Home {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        render(scene, area, buf);
    }

    fn act(&self, desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
        match command {
            Command::Up => desk.chosen = desk.chosen.saturating_sub(1),
            Command::Down => desk.chosen = (desk.chosen + 1).min(desk.drills.len().saturating_sub(1)),
            Command::Start => {
                let drill = desk.chosen_drill().filter(|drill| drill.cannot_play(exercise.harp()).is_none());
                return Some(Action::StartDrill(drill?.name.clone()));
            }
            Command::Listen => return Some(Action::Order(Order::PlayFreely)),
            Command::Map => desk.open_map(exercise.harp()),
            _ => {}
        }
        None
    }

    fn leave(&self, _desk: &mut Desk, _exercise: &Exercise) -> Action {
        Action::Quit
    }
}

fn render(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    let foot = i32::from(area.height) - 1;
    // Rows that a screen of 24 has to spare, and those that one of 12 can do without.
    let gap = u16::from(area.height >= 22);
    let cautious = area.height >= 18;
    let top = 2 + gap;
    // Below the list: the words about the drill, the cautions, a warning and the keys.
    let below = if cautious { 6 + 2 * gap } else { 4 };
    let list =
        Rect { y: area.y + top + 1 + gap, height: area.height.saturating_sub(top + 1 + gap + below), ..area };
    let wide = area.width >= LIST + stair::LEFT + 38;
    drills(scene, &mut Pen::new(buf, Rect { width: if wide { LIST } else { area.width }, ..list }));
    if wide {
        picture(scene, Rect { x: area.x + LIST, width: area.width - LIST, ..list }, buf);
    }
    let mut pen = Pen::new(buf, area);
    parts::header(&mut pen, 0, look, &[("Bendwright", &scene.world.source_words())]);
    parts::harp_rule(&mut pen, 1, scene);
    harp(scene, &mut pen, i32::from(top));
    let y = foot + 1 - i32::from(below) + i32::from(gap);
    about(scene, &mut pen, y);
    if cautious {
        cautions(scene, &mut pen, y + 2);
    }
    super::warning(scene, &mut pen, foot - 1);
    parts::key_line(&mut pen, foot, (look, scene.keys), &KEYS);
}

/// The stair of the harp with the notes of the chosen drill.
fn picture(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
    let drill = scene.desk.chosen_drill();
    let wanted: Vec<Way> = drill.iter().flat_map(|drill| drill.items.iter().flat_map(Item::ways)).collect();
    let tonic = scene.harp().home();
    Stair {
        look: scene.look,
        harp: scene.harp(),
        tonic,
        wanted: &wanted,
        pitch: None,
        sounds: &[],
        still: true,
    }
    .render(area, buf);
}

/// What the chosen drill is good for.
fn about(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32) {
    let Some(drill) = scene.desk.chosen_drill() else { return };
    let text = cannot(scene, drill).unwrap_or_else(|| drill.about.clone());
    parts::paragraph(pen, (2, y), &text, (2, scene.look.theme.plain));
}

/// Why this harp cannot play a drill, if it cannot.
fn cannot(scene: &Scene<'_>, drill: &Drill) -> Option<String> {
    let harp = scene.harp();
    let why = match drill.cannot_play(harp)? {
        NotForHarp::Tuning(tuning) => format!("the drill is for {tuning} tuning"),
        NotForHarp::Way(way, why) => format!("it cannot play {}; {why}", scene.look.tab(way)),
    };
    Some(format!("Not on this harp ({}, {} tuning): {why}.", harp.key(), harp.tuning().name()))
}

/// The harp, and how to take another.
fn harp(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32) {
    let (look, harp) = (scene.look, scene.harp());
    let x = pen.text(2, y, "Your harp  ", look.theme.plain);
    let x = pen.text(x, y, &format!("{} ", look.glyphs.flat), look.theme.faint);
    let x = pen.text(x, y, &format!(" {} ", harp.key()), look.theme.chosen.patch(look.theme.strong));
    let x = pen.text(x, y, &format!(" {}  ", look.glyphs.sharp), look.theme.faint);
    let x = pen.text(x, y, "left, right: another; ", look.theme.faint);
    let low = format!("1 blow is {}", words::note(harp, harp.key().blow_1()));
    let stamped = harp.stamp_words().filter(|words| x + width(words) < pen.width());
    let x = pen.text(x, y, &stamped.unwrap_or(low), look.theme.faint);
    let legend = format!("{} the notes of the drill", look.glyphs.target);
    if x + 2 + width(&legend) < pen.width() && i32::from(LIST) < x {
        pen.text(pen.width() - width(&legend) - 1, y, &legend, look.theme.faint);
    }
}

/// The list of drills, scrolled so that the chosen one shows.
fn drills(scene: &Scene<'_>, pen: &mut Pen<'_>) {
    let look = scene.look;
    let rows = pen.height().max(1);
    let first = (count(scene.desk.chosen) - rows + 1).max(0);
    let shown = scene.desk.drills.iter().enumerate().skip(first as usize).take(rows as usize);
    for (row, (i, drill)) in (0..).zip(shown) {
        let beyond = drill.cannot_play(scene.harp()).is_some();
        let (sign, style) = match (i == scene.desk.chosen, beyond) {
            (true, _) => (look.glyphs.chosen, look.theme.strong),
            (false, true) => (look.glyphs.missed, look.theme.faint),
            (false, false) => (' ', look.theme.plain),
        };
        let x = pen.text(2, row, &format!("{sign} {}", drill.title), style);
        let beyond_words = "not on this harp";
        if beyond && x + 2 + width(beyond_words) <= pen.width() {
            pen.text(x + 2, row, beyond_words, look.theme.faint);
        }
    }
}

/// The usual cautions, short.
fn cautions(scene: &Scene<'_>, pen: &mut Pen<'_>, y: i32) {
    let text = "Dizzy or tingling? Stop and breathe normally. Be gentle: force harms reeds and lips. \
                Keep the volume moderate.";
    parts::paragraph(pen, (2, y), text, (2, scene.look.theme.faint));
}
