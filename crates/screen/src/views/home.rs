//! The list of everything that can be practised: which harp, which drill, scale or phrase, or free playing.

mod score;

use crate::desk::{Desk, LastTime};
use crate::in_time::Listed;
use crate::keys::Command;
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::stair::{self, Stair};
use crate::views::Page;
use crate::window::Window;
use crate::{Action, Look, View, parts, words};
use layout::Way;
use practice::{Exercise, NotForHarp, Order};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;
use score::Score;
use std::cmp::Ordering;

const KEYS: [(Command, &str); 9] = [
    (Command::Start, "start"),
    (Command::Listen, "play freely"),
    (Command::Jam, "over a form"),
    (Command::ByEar, "by ear"),
    (Command::Map, "map"),
    (Command::Player, "built-in player"),
    (Command::Help, "keys"),
    (Command::Leave, "leave"),
    (Command::Narrower, "stricter"),
];

/// Columns of the list where something stands beside it.
const LIST: u16 = 36;
/// From this size on the drill is told in full beside the list, and the stair with its notes stands below both.
const WIDE: (u16, u16) = (100, 30);
/// Rows of the list on such a screen, at least, if there are so many drills.
const LIST_ROWS: u16 = 8;

/// The view of everything that can be practised.
pub(super) struct Home;

impl Page for Home {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        render(scene, area, buf);
    }

    fn act(&self, desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
        match command {
            Command::Start => {
                let harp = exercise.harp();
                let start = match desk.chosen_line().filter(|line| line.cannot_play(harp).is_none())? {
                    Listed::Drill(drill) => Action::StartDrill(drill.name.clone()),
                    in_time @ Listed::InTime(..) => Action::Order(Order::Run(Box::new(in_time.plan(harp)?))),
                };
                desk.below = Some(View::Home);
                return Some(start);
            }
            Command::Listen => {
                desk.below = Some(View::Home);
                return Some(Action::Order(Order::PlayFreely));
            }
            Command::Jam => return super::jam::begin(desk, exercise.harp(), View::Home),
            Command::ByEar => return super::ear::begin(desk, exercise.harp(), (View::Home, None)),
            Command::Map => desk.open_map(exercise.harp()),
            Command::Progress => desk.open_progress(),
            _ => desk.choose(command),
        }
        None
    }

    fn leave(&self, desk: &mut Desk, _exercise: &Exercise) -> Action {
        if desk.first == View::Home {
            return Action::Quit;
        }
        desk.view = desk.first;
        Action::Order(Order::Rest)
    }
}

fn render(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    // Rows that a screen of 24 has to spare.
    let gap = u16::from(area.height >= 22);
    let top = 3 + 2 * gap;
    let mut pen = Pen::new(buf, area);
    parts::header(&mut pen, 0, look, &[("Bendwright", &scene.world.source_words())]);
    parts::harp_rule(&mut pen, 1, scene);
    harp(scene, &mut pen, 2 + i32::from(gap));
    let foot = pen.height() - 1;
    super::warning(scene, &mut pen, foot - 1);
    parts::key_line(&mut pen, foot, (look, scene.keys), &KEYS);
    let rest = Rect { y: area.y + top, height: area.height.saturating_sub(top + 2), ..area };
    if area.width >= WIDE.0 && area.height >= WIDE.1 {
        wide(scene, rest, buf);
    } else {
        narrow(scene, rest, gap, buf);
    }
}

/// The list, beside it the stair if there is room, and below them what the drill is good for and the cautions.
fn narrow(scene: &Scene<'_>, area: Rect, gap: u16, buf: &mut Buffer) {
    // A screen of 12 rows can do without the cautions.
    let cautious = area.height >= 12;
    let below = if cautious { 4 + gap } else { 2 };
    let place = Rect { height: area.height.saturating_sub(below + gap), ..area };
    let beside = area.width >= LIST + stair::LEFT + 38;
    list(scene, &mut Pen::new(buf, Rect { width: if beside { LIST } else { area.width }, ..place }));
    if beside {
        let place = Rect { x: area.x + LIST, width: area.width - LIST, ..place };
        stair(scene, false, &wanted(scene)).render(place, buf);
    }
    let mut pen = Pen::new(buf, area);
    let y = pen.height() - i32::from(below);
    if let Some(line) = scene.desk.chosen_line() {
        let about = cannot(scene, line).unwrap_or_else(|| format!("{}. {}", size(scene, line), line.about()));
        parts::paragraph(&mut pen, (2, y), &about, (2 + i32::from(gap), scene.look.theme.plain));
    }
    if cautious {
        super::cautions(scene, &mut pen, y + 2 + i32::from(gap));
    }
}

/// The list and beside it everything about the chosen line; below them the stair, and below the stair the line's notes
/// in their order.
fn wide(scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
    let wanted = wanted(scene);
    let score = scene.desk.chosen_line().map(|line| Score { scene, rows: line.rows(scene.harp()) });
    let notes = score.as_ref().map_or(0, |score| score.rows.len() as u16);
    let bare = stair(scene, false, &wanted);
    let (list_all, cautions_rows) = (scene.desk.lines() as u16, 2);
    let spare = |stair: &Stair<'_>| {
        area.height.saturating_sub(stair.rows(area.width) + 2 + cautions_rows + LIST_ROWS.min(list_all))
    };
    // The names of the notes stand on the stair if the notes of the drill still have their room.
    let named = Stair::can_name(scene.harp(), area.width) && {
        spare(&stair(scene, true, &wanted)) >= notes.min(6) + 2
    };
    let stair = if named { stair(scene, true, &wanted) } else { bare };
    let spare = spare(&stair);
    let score_rows = notes.min(spare.saturating_sub(4)).max(spare.min(3));
    let list_rows = (LIST_ROWS + spare - score_rows).min(list_all.max(LIST_ROWS));
    let left = Rect { height: list_rows, width: LIST + 4, ..area };
    list(scene, &mut Pen::new(buf, left));
    about(scene, &mut Pen::new(buf, Rect { x: area.x + left.width, width: area.width - left.width, ..left }));
    let place = Rect { y: area.y + list_rows + 1, height: stair.rows(area.width), ..area };
    stair.render(place, buf);
    if let Some(score) = score {
        let y = place.y + place.height;
        let end = area.y + area.height - cautions_rows;
        score.render(Rect { y, height: end.saturating_sub(y), ..area }, buf);
    }
    let mut pen = Pen::new(buf, area);
    let y = pen.height() - i32::from(cautions_rows);
    super::cautions(scene, &mut pen, y);
}

/// The ways that the chosen line asks for.
fn wanted(scene: &Scene<'_>) -> Vec<Way> {
    let rows = scene.desk.chosen_line().map(|line| line.rows(scene.harp()));
    rows.into_iter().flatten().flat_map(|(ways, _)| ways).collect()
}

/// The stair of the harp with the notes of the chosen line.
fn stair<'a>(scene: &Scene<'a>, named: bool, wanted: &'a [Way]) -> Stair<'a> {
    let (look, harp, tonic) = (scene.look, scene.harp(), scene.harp().home());
    Stair { look, harp, tonic, wanted, pitch: None, sounds: &[], still: true, key: None, named }
}

/// Everything that is told about the chosen line.
fn about(scene: &Scene<'_>, pen: &mut Pen<'_>) {
    let Some(line) = scene.desk.chosen_line() else { return };
    let theme = &scene.look.theme;
    pen.text(2, 0, &parts::cut(&line.title(), pen.width() - 3), theme.strong);
    let mut y = parts::paragraph(pen, (2, 1), &size(scene, line), (2, theme.plain));
    if let Some(needs) = line.needs() {
        y = parts::paragraph(pen, (2, y), &needs, (2, theme.plain));
    }
    if let Some(why) = cannot(scene, line) {
        y = parts::paragraph(pen, (2, y), &why, (2, theme.strong));
    }
    let rows = pen.height() - y;
    y = parts::paragraph(pen, (2, y), line.about(), (rows.min(3), theme.plain));
    if let Some(caution) = line.caution() {
        let rows = pen.height() - y;
        parts::paragraph(pen, (2, y), caution, (rows, theme.faint));
    }
}

/// How much it is, and what came of it the last time.
fn size(scene: &Scene<'_>, line: Listed<'_>) -> String {
    let size = line.size(scene.harp());
    last(scene, line)
        .map_or(size.clone(), |last| format!("{size}; {}", words::last_time(last, scene.desk.day.today)))
}

/// What came of a line the last time.
fn last(scene: &Scene<'_>, line: Listed<'_>) -> Option<LastTime> {
    scene.desk.last.get(&line.kept_as(scene.harp())?).copied()
}

/// Why this harp cannot play what a line offers, if it cannot.
fn cannot(scene: &Scene<'_>, line: Listed<'_>) -> Option<String> {
    let harp = scene.harp();
    let why = match line.cannot_play(harp)? {
        NotForHarp::Tuning(tuning) if line.what() == "scale" => {
            let map = scene.keys.presses(Command::Map).first().map(ToString::to_string);
            format!(
                "the run is chosen for {tuning} reeds; {} leads to what this harp has",
                map.unwrap_or_default()
            )
        }
        NotForHarp::Tuning(tuning) => format!("the {} is for {tuning} tuning", line.what()),
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
    let presses = [Command::Lower, Command::Higher].map(|command| scene.keys.presses(command).first());
    let named = presses.into_iter().flatten().map(|press| parts::key_name(&press.to_string(), look));
    let another = format!("{}: another", named.collect::<Vec<_>>().join(" or "));
    let x = pen.text(x, y, &parts::cut(&another, pen.width() - x), look.theme.faint);
    let low = format!("1 blow is {}", words::note(harp, harp.key().blow_1()));
    let which = [harp.stamp_words(), Some(low)].into_iter().flatten();
    let which = which.map(|words| format!("; {words}")).find(|words| x + width(words) < pen.width());
    let x = pen.text(x, y, &which.unwrap_or_default(), look.theme.faint);
    let what = scene.desk.chosen_line().map_or("drill", Listed::what);
    let legend = format!("{} the notes of the {what}", look.glyphs.target);
    let tolerance = words::tolerance(scene.tolerance());
    let both = format!("{tolerance}   {legend}");
    for text in [both, legend] {
        if x + 2 + width(&text) < pen.width() && i32::from(LIST) < x {
            pen.text(pen.width() - width(&text) - 1, y, &text, look.theme.faint);
            return;
        }
    }
}

/// Better or worse than the days before; nothing where there is no difference.
fn trend_sign(look: &Look, trend: Ordering) -> String {
    match trend {
        Ordering::Less => format!(" {}", look.glyphs.falling),
        Ordering::Equal => String::new(),
        Ordering::Greater => format!(" {}", look.glyphs.rising),
    }
}

/// The list of drills and of what is played in time, scrolled so that the chosen line shows.
fn list(scene: &Scene<'_>, pen: &mut Pen<'_>) {
    let (look, desk) = (scene.look, scene.desk);
    let room = pen.height().min(count(desk.lines()));
    let window = Window::around(desk.chosen, desk.lines(), room);
    for (y, index) in window.seen() {
        let Some(line) = desk.line(index) else { continue };
        let beyond = line.cannot_play(scene.harp()).is_some();
        let (sign, style) = match (index == desk.chosen, beyond) {
            (true, _) => (look.glyphs.chosen, look.theme.strong),
            (false, true) => (look.glyphs.missed, look.theme.faint),
            (false, false) => (' ', look.theme.plain),
        };
        pen.glyph(2, y, sign, style);
        let x = pen.text(4, y, &parts::cut(&line.title(), pen.width() - 5), style);
        let last = last(scene, line);
        let trend = last.and_then(|last| last.trend).map_or(String::new(), |trend| trend_sign(look, trend));
        let words = match last {
            _ if beyond => "not on this harp".to_owned(),
            Some(LastTime { run: Some((_, Some(clean))), .. }) => format!("clean {clean}{trend}"),
            Some(last) => format!("{}/{}{trend}", last.good, last.of),
            None => continue,
        };
        if x + 2 + width(&words) <= pen.width() {
            let x = if beyond { x + 2 } else { pen.width() - width(&words) - 1 };
            pen.text(x, y, &words, look.theme.faint);
        }
    }
    window.ends(pen, (4, 0), look);
}
