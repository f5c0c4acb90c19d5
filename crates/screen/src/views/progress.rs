//! What has changed in a month: the stair with the chance of landing on every bend, minutes, tempi, and one
//! bend in full.

use crate::desk::{Desk, step};
use crate::keys::Command;
use crate::pen::{Pen, count, width};
use crate::scale::number_of;
use crate::scene::Scene;
use crate::stair::{LEFT, Stair};
use crate::views::Page;
use crate::window::Window;
use crate::{Action, Look, parts, words};
use course::{Habit, NoteDay, NoteProgress, Progress, TempoProgress};
use practice::{Exercise, Order};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;
use theory::Mastery;

const KEYS: [(Command, &str); 4] = [
    (Command::Down, "next bend"),
    (Command::Up, "the one before"),
    (Command::Leave, "back"),
    (Command::Help, "keys"),
];

/// Rows above the picture: header, rule, minutes, habit, days.
const HEAD: u16 = 5;
/// Rows of the bend that is looked at.
const ONE: u16 = 3;
/// Rows below everything: warning and keys.
const FOOT: u16 = 2;
/// From this width on the tempi stand beside the picture.
const WIDE: u16 = 150;
/// Columns of the tempi beside it.
const TEMPI: u16 = 38;
/// Columns a semitone from which numbers of one figure have room on the stair, and from which numbers of two have.
const NUMBER: f64 = 2.0;
const APART: f64 = 3.0;
/// What the row of a try shows either side of its target, cents, and how many of them a column is.
const SHOWN_CENTS: f64 = 100.0;
const CENTS_A_COLUMN: f64 = 5.0;
/// The column of the target.
const MIDDLE: i32 = 36;
/// Fewer rows than this show no tries.
const LEAST_TRIES: i32 = 4;
/// Steps of the trace that are looked at before the verdict: a second.
const LAST_STEPS: usize = (1.0 / scoring::Trace::STEP_S) as usize;
/// So many of the last days with tries are told of a bend.
const LAST_DAYS: usize = 6;

/// The view of what has changed.
pub(super) struct ProgressPage;

impl Page for ProgressPage {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(progress) = scene.desk.progress.as_deref() {
            render(scene, progress, area, buf);
        }
    }

    fn act(&self, desk: &mut Desk, _exercise: &Exercise, command: Command) -> Option<Action> {
        let count = desk.progress.as_deref().map_or(0, |progress| bends(progress).len());
        desk.scrolled = step(command, desk.scrolled, count, desk.page());
        None
    }

    fn leave(&self, desk: &mut Desk, _exercise: &Exercise) -> Action {
        desk.view = desk.opened_from;
        Action::Order(Order::Rest)
    }
}

/// The bends and overbends that were tried.
fn bends(progress: &Progress) -> Vec<&NoteProgress> {
    progress.bends().collect()
}

fn render(scene: &Scene<'_>, progress: &Progress, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    let mut pen = Pen::new(buf, area);
    let until = format!("{} days up to {}", progress.days, progress.today);
    parts::header(&mut pen, 0, look, &[("What has changed", &until)]);
    parts::harp_rule(&mut pen, 1, scene);
    head(progress, look, &mut pen);
    let foot = pen.height() - 1;
    super::warning(scene, &mut pen, foot - 1);
    parts::key_line(&mut pen, foot, (look, scene.keys), &KEYS);
    let bends = bends(progress);
    if bends.is_empty() && progress.tempi.is_empty() {
        let text =
            "Nothing yet. What you play into a microphone in drills and runs is counted here, bend by bend.";
        parts::paragraph(&mut pen, (2, i32::from(HEAD)), text, (3, look.theme.plain));
        return;
    }
    let body = Rect { y: area.y + HEAD, height: area.height.saturating_sub(HEAD + FOOT), ..area };
    let wide = area.width >= WIDE;
    let picture = Rect { width: if wide { area.width - TEMPI } else { area.width }, ..body };
    let (rows, legend) = heat(scene, &bends, picture, buf);
    Pen::new(buf, area).text(1, 3, legend, look.theme.plain);
    let looked = bends.get(scene.desk.scrolled.min(bends.len().saturating_sub(1)));
    let below = Rect { y: body.y + rows, height: body.height.saturating_sub(rows), ..picture };
    if let Some(bend) = looked {
        one(scene, progress, bend, &mut Pen::new(buf, below));
    }
    let tempi = if wide {
        Rect { x: area.x + picture.width, width: TEMPI, ..body }
    } else {
        Rect { y: below.y + ONE, height: below.height.saturating_sub(ONE), ..below }
    };
    let told = tempo(scene, progress, &mut Pen::new(buf, tempi));
    if let Some(bend) = looked {
        let top = if wide { below.y + ONE } else { tempi.y + told };
        let end = area.y + area.height - FOOT;
        let place = Rect { y: top + 1, height: end.saturating_sub(top + 1), ..picture };
        tries_of(scene, bend, &mut Pen::new(buf, place));
    }
}

/// The last tries at a bend one by one, the newest first: how its pitch went in the last second, flat left and
/// sharp right.
fn tries_of(scene: &Scene<'_>, bend: &NoteProgress, pen: &mut Pen<'_>) {
    let look = scene.look;
    let tries: Vec<&[Option<f64>]> = scene.ghosts.older(bend.skill.way).collect();
    if tries.is_empty() || pen.height() < LEAST_TRIES {
        return;
    }
    let middle = (pen.width() / 2).min(MIDDLE);
    let column = |cents: f64| middle + (cents / CENTS_A_COLUMN).round() as i32;
    pen.text(1, 0, "last tries", look.theme.faint);
    pen.text(column(-SHOWN_CENTS), 0, &format!("{SHOWN_CENTS:.0} flat"), look.theme.faint);
    let sharp = format!("{SHOWN_CENTS:.0} sharp");
    pen.text(column(SHOWN_CENTS) + 1 - width(&sharp), 0, &sharp, look.theme.faint);
    for (y, cents) in (1..pen.height()).zip(tries) {
        pen.text(1, y, if y == 1 { "newest" } else { "" }, look.theme.faint);
        pen.glyph(middle, y, look.glyphs.centre, look.theme.target);
        let last: Vec<f64> = cents.iter().take(LAST_STEPS).flatten().copied().collect();
        let (low, high) =
            last.iter().fold((f64::MAX, f64::MIN), |(low, high), it| (low.min(*it), high.max(*it)));
        let shown = |cents: f64| column(cents.clamp(-SHOWN_CENTS, SHOWN_CENTS));
        if last.is_empty() {
            continue;
        }
        pen.line(shown(low)..shown(high) + 1, y, look.glyphs.before, look.theme.faint);
        let mean = last.iter().sum::<f64>() / last.len() as f64;
        pen.glyph(shown(mean), y, look.glyphs.now, look.theme.voice);
        pen.text(column(SHOWN_CENTS) + 3, y, &words::off(mean), look.theme.plain);
    }
}

/// Minutes, the days as a row of marks, and the habit.
fn head(progress: &Progress, look: &Look, pen: &mut Pen<'_>) {
    let theme = &look.theme;
    let (now, before) = progress.minutes;
    let x = pen.text(1, 2, &format!("{now} minutes"), theme.strong);
    let row = match progress.in_a_row {
        0 | 1 => String::new(),
        days => format!(", {days} days in a row"),
    };
    let text = format!(" in {} days, {before} in the {0} before{row}", progress.days);
    pen.text(x, 2, &parts::cut(&text, pen.width() - x - 1), theme.plain);
    let days = count(progress.played.len());
    let x = pen.text(1, 4, "day by day  ", theme.faint);
    if x + days < pen.width() {
        days_row(progress, look, &mut pen.within((x, 4), days));
    }
    if let Some(habit) = progress.habit {
        let x = x + days + 3;
        pen.text(x, 4, &parts::cut(&said(habit), pen.width() - x - 1), theme.strong);
    }
}

/// A mark for each day: the more minutes, the higher.
fn days_row(progress: &Progress, look: &Look, pen: &mut Pen<'_>) {
    let most = progress.played.iter().map(|day| day.seconds).max().unwrap_or(0).max(1);
    for (x, day) in progress.played.iter().enumerate() {
        let levels = look.glyphs.levels;
        let level = (f64::from(day.seconds) / f64::from(most) * levels.len() as f64).ceil() as usize;
        let sign = if level == 0 { look.glyphs.coming } else { levels[level.min(levels.len()) - 1] };
        pen.glyph(count(x), 0, sign, look.theme.voice);
    }
}

/// "8 of 8 bends stop 17 cents short".
fn said(habit: Habit) -> String {
    let (verb, side) = if habit.cents < 0.0 { ("go", "past") } else { ("stop", "short") };
    format!("{} of {} bends {verb} {} {side}", habit.bends, habit.of, words::cents(habit.cents.abs()))
}

/// The stair, each bend that was tried with its number; returns its rows, and what the numbers mean. Where there is no
/// room for numbers, the bends are listed.
fn heat(scene: &Scene<'_>, bends: &[&NoteProgress], area: Rect, buf: &mut Buffer) -> (u16, &'static str) {
    let (look, harp) = (scene.look, scene.harp());
    let scale = Stair::scale(harp, area.width.saturating_sub(LEFT));
    let stair = Stair {
        look,
        harp,
        tonic: scene.desk.position.tonic(harp),
        wanted: &[],
        pitch: None,
        sounds: &[],
        still: true,
        key: None,
        named: false,
    };
    let rows = stair.rows(area.width);
    if scale.per_semitone() < NUMBER || rows + ONE > area.height {
        return (list(scene, bends, area, buf), "reversed: dependable");
    }
    stair.render(Rect { height: rows, ..area }, buf);
    let looked = bends.get(scene.desk.scrolled.min(bends.len().saturating_sub(1)));
    let mut pen = Pen::new(buf, area);
    for bend in bends {
        let way = bend.skill.way;
        let Some(number) = number_of(harp, way) else { continue };
        let y = 1 + i32::from(way.hole) - 1;
        let x = i32::from(LEFT) + scale.column(number);
        let is_looked = looked.is_some_and(|it| it.skill.way == way);
        let style = if is_looked { shade(look, bend).patch(look.theme.warning) } else { shade(look, bend) };
        let chance = bend.skill.belief.chance();
        let number = if scale.per_semitone() < APART { tenth(chance) } else { percent(chance) };
        pen.text(x, y, &number, style);
    }
    let legend = if scale.per_semitone() < APART {
        "number: of ten tries so many land; reversed: dependable"
    } else {
        "number: of 100 tries so many land; reversed: dependable"
    };
    (rows, legend)
}

/// How dark a bend is: what is dependable stands out, what does not come yet recedes.
fn shade(look: &Look, bend: &NoteProgress) -> Style {
    let theme = &look.theme;
    match bend.skill.mastery() {
        Some(Mastery::Sure) => theme.strong.patch(theme.chosen),
        Some(Mastery::Learning) => theme.strong,
        None => theme.plain,
        Some(Mastery::NotYet) => theme.faint,
    }
}

/// A chance in one figure: of ten tries so many.
fn tenth(chance: f64) -> String {
    format!("{:.0}", (10.0 * chance).clamp(0.0, 9.0))
}

/// A chance in two figures.
fn percent(chance: f64) -> String {
    format!("{:2.0}", (100.0 * chance).clamp(1.0, 99.0))
}

/// The bends one below the other; returns the rows that they take.
fn list(scene: &Scene<'_>, bends: &[&NoteProgress], area: Rect, buf: &mut Buffer) -> u16 {
    let look = scene.look;
    let room = i32::from(area.height.saturating_sub(ONE)).min(count(bends.len()));
    let mut pen = Pen::new(buf, Rect { height: room.max(0) as u16, ..area });
    let window = Window::around(scene.desk.scrolled, bends.len(), room);
    for (y, index) in window.seen() {
        let bend = bends[index];
        let chosen = index == scene.desk.scrolled;
        let style = if chosen { look.theme.strong } else { look.theme.plain };
        pen.glyph(1, y, if chosen { look.glyphs.chosen } else { ' ' }, style);
        let x = pen.text(3, y, &format!("{:6}", look.tab(bend.skill.way)), style);
        pen.text(x, y, &format!("{} of 100", percent(bend.skill.belief.chance())), shade(look, bend));
    }
    window.ends(&mut pen, (3, 0), look);
    room.max(0) as u16
}

/// One bend in full.
fn one(scene: &Scene<'_>, progress: &Progress, bend: &NoteProgress, pen: &mut Pen<'_>) {
    let (look, skill) = (scene.look, &bend.skill);
    let theme = &look.theme;
    let (low, high) = skill.belief.interval();
    let was =
        bend.chance_then.map_or(String::new(), |then| format!(", {} a month ago", percent(then).trim()));
    let head = format!("{}  {}", look.tab(skill.way), skill.way);
    let x = pen.text(1, 0, &head, theme.strong);
    let would = format!(
        ": about {} of 100 land ({} to {}){was}",
        percent(skill.belief.chance()).trim(),
        percent(low).trim(),
        percent(high).trim()
    );
    pen.text(x, 0, &parts::cut(&would, pen.width() - x - 1), theme.plain);
    let cents = bend.now.map_or_else(|| "not tried this month".to_owned(), |now| tries(&now, bend.then));
    pen.text(1, 1, &parts::cut(&cents, pen.width() - 2), theme.plain);
    let last = skill.days.iter().rev().take(LAST_DAYS);
    let last: Vec<String> =
        last.map(|day| format!("{} {}/{}", day.day.spoken(progress.today), day.landed, day.tries)).collect();
    pen.text(1, 2, &parts::joined(&last, look, pen.width() - 2), theme.faint);
}

/// Tries of the month, and how far off they were.
fn tries(now: &NoteDay, then: Option<NoteDay>) -> String {
    let before = then.as_ref().and_then(mean).map_or(String::new(), |mean| format!(" (before: {mean})"));
    let spread =
        now.spread_cents().map_or(String::new(), |spread| format!(", spread {}", words::cents(spread)));
    let off = mean(now).map_or(String::new(), |mean| format!(", {mean}{before}{spread}"));
    format!("{} of {} landed this month{off}", now.landed, now.tries)
}

/// "8 cents short", on average.
fn mean(day: &NoteDay) -> Option<String> {
    let mean = day.mean_cents()?;
    let side = if mean.round() == 0.0 { "off" } else { course::side(day.way, mean) };
    Some(format!("{} {side}", words::cents(mean)))
}

/// The clean tempi, and below them the goals of the programme; returns their rows.
fn tempo(scene: &Scene<'_>, progress: &Progress, pen: &mut Pen<'_>) -> u16 {
    let look = scene.look;
    let mut rows: Vec<(String, String)> =
        progress.tempi.iter().map(|it| (it.title().to_owned(), clean(it))).collect();
    if let Some((_, standing)) = scene.desk.day.standing() {
        let begun = standing.week.unwrap_or(usize::MAX);
        let goals = standing.goals.iter().filter(|goal| goal.week <= begun);
        rows.extend(goals.map(|goal| (format!("goal: {}", goal.goal), goal.words(progress.today))));
    }
    if rows.is_empty() || pen.height() < 1 {
        return 0;
    }
    let room = pen.height().min(count(rows.len()));
    let window = Window::scrolled(0, rows.len(), room);
    for (y, index) in window.seen() {
        let (title, words) = &rows[index];
        let at = (pen.width() - width(words) - 1).max(pen.width() / 3);
        pen.text(1, y, &parts::cut(title, at - 2), look.theme.plain);
        pen.text(at, y, &parts::cut(words, pen.width() - at), look.theme.strong);
    }
    window.ends(pen, (1, 0), look);
    room as u16
}

fn clean(tempo: &TempoProgress) -> String {
    match (tempo.clean, tempo.clean_then) {
        (None, _) => "not clean yet".to_owned(),
        (Some(now), Some(then)) if now != then => format!("clean at {now:.0}, was {then:.0}"),
        (Some(now), _) => format!("clean at {now:.0}"),
    }
}
