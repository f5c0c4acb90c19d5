//! The map: the harp with a scale on it, how much of it this player reaches, and its chords.

mod chords;

use crate::chart::Chart;
use crate::desk::Desk;
use crate::keys::{Command, Dial};
use crate::mapping::Mapping;
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::views::Page;
use crate::window::Window;
use crate::{Action, View, parts, words};
use layout::{ConcertPitch, Harp, Technique};
use practice::{Exercise, Order};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use theory::{Direction, PlayerNote, ScaleMap};

const KEYS: [(Command, &str); 17] = [
    (Command::Help, "keys"),
    (Command::Leave, "leave"),
    (Command::Turn(Dial::Scale, true), "scale"),
    (Command::Turn(Dial::Position, true), "position"),
    (Command::Start, "practise it"),
    (Command::InTime, "in time"),
    (Command::Jam, "over a form"),
    (Command::ByEar, "by ear"),
    (Command::Higher, "harp"),
    (Command::Turn(Dial::Ability, true), "ability"),
    (Command::Turn(Dial::Tuning, true), "tuning"),
    (Command::Chord, "chord"),
    (Command::WriteSheet, "write sheet"),
    (Command::Up, "note"),
    (Command::Hear, "hear"),
    (Command::Turn(Dial::Temperament, true), "temperament"),
    (Command::Run, "hear scale"),
];
/// Columns of the chords where they stand in a panel beside the chart, and the columns that an unbroken chart needs.
const PANEL: u16 = 42;
const WIDE: u16 = 120;
/// Rows besides the chart that a screen needs for the tab to stand below the marks.
const ROOM: u16 = 14;
/// Positions side by side, and the columns of one.
const POSITIONS_ACROSS: usize = 3;
const REACH: i32 = 38;

/// The view of the map.
pub(super) struct Map;

impl Page for Map {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(map) = &scene.desk.map {
            render(scene, map, area, buf);
        }
    }

    fn act(&self, desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
        let (map, harp) = (desk.map.as_mut()?, exercise.harp());
        match command {
            Command::Start => {
                let drill = map.drill()?;
                desk.below = Some(View::Map);
                return Some(Action::Order(Order::Drill(Box::new(drill))));
            }
            Command::InTime => {
                let plan = map.plan(harp, desk.tempo)?;
                desk.below = Some(View::Map);
                return Some(Action::Order(Order::Run(Box::new(plan))));
            }
            Command::Jam => {
                let (position, key) = (map.position(), map.key().clone());
                let plan = super::jam::usual(desk, harp, (position, Some(&key)))?;
                desk.below = Some(View::Map);
                return Some(Action::Order(Order::Jam(Box::new(plan))));
            }
            Command::ByEar => {
                let key = map.key().clone();
                return super::ear::begin(desk, harp, (View::Map, Some(key)));
            }
            Command::Turn(dial, forward) => {
                let other = map.turn(dial, forward, harp);
                desk.position = map.position();
                desk.scale = Some(map.key().scale().name().to_owned());
                return other.map(|harp| Action::SetReeds(Box::new(harp)));
            }
            Command::Chord => map.step_chord(),
            Command::HearChord => return Some(Action::HearRun(vec![map.chord()?.hz(harp)])),
            Command::WriteSheet => {
                let (key, ability) = (map.key().clone(), map.ability().clone());
                return Some(Action::WriteSheet(map.position(), Box::new(key), Box::new(ability)));
            }
            Command::Run => return Some(Action::HearRun(map.run(harp))),
            Command::Hear => {
                let way = map.note()?.note.simplest()?;
                return Some(Action::Hear(harp.hz(way)?));
            }
            _ => map.step_note(command),
        }
        None
    }

    fn leave(&self, desk: &mut Desk, _exercise: &Exercise) -> Action {
        desk.view = desk.opened_from;
        Action::Order(Order::Rest)
    }
}

fn render(scene: &Scene<'_>, map: &Mapping, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    let chart = Chart {
        look,
        harp: scene.harp(),
        key: map.key(),
        ability: map.ability(),
        note: map.note().map(|note| note.note.note),
        chord: map.chord().map(|chord| &chord.grip),
    };
    // The chart is unbroken beside a panel of chords, or without one, or broken into flights.
    let panel = if area.width >= PANEL + WIDE { PANEL } else { 0 };
    let columns = area.width - panel;
    // Two rows above the chart; below it the note, the warning and the keys, and where there is room more.
    let with_tab = panel > 0 || area.width >= WIDE;
    let with_tab = with_tab && chart.rows_with_tab(columns) + ROOM <= area.height;
    let rows = if with_tab { chart.rows_with_tab(columns) } else { chart.rows(columns) };
    let rows = rows.min(area.height.saturating_sub(4));
    chart.draw(Rect { y: area.y + 2, height: rows, width: columns, ..area }, buf, with_tab);
    let mut pen = Pen::new(buf, area);
    header(scene, map, &mut pen);
    let foot = pen.height() - 1;
    let roomy = i32::from(rows) + 8 <= foot;
    let below = 2 + i32::from(rows) + i32::from(roomy);
    note(scene, map, &mut pen, below);
    let runs = runs(map, &chart, scene.harp());
    let mut places = if panel > 0 {
        chords::column(i32::from(columns) + 2, (2, foot - 1))
    } else {
        chords::beside(&chart, area.width, if with_tab { 2 } else { 1 })
    };
    // Below the note: the chords that have no place beside the chart, then the tab of the octaves, then the
    // other positions.
    let has_purpose = purpose(scene, map, &mut pen, (below + 2, foot - 1), places.len());
    let mut y = below + 2 + i32::from(has_purpose);
    let left = count(map.chords().len().saturating_sub(places.len()));
    if left > 0 {
        let rows = (left + (pen.width() / chords::CHORD).max(1) - 1) / (pen.width() / chords::CHORD).max(1);
        let end = (y + rows).min(foot - 1);
        places.extend(chords::columns(pen.width(), (y, end)));
        y = end + 1;
    }
    chords::render(scene, map, &mut pen, &places);
    if y + count(runs.len()) < foot {
        octaves(scene, &mut pen, (y, i32::from(columns)), &runs);
        y += count(runs.len()) + 1;
        let y = positions(scene, map, &mut pen, (y, foot - 1));
        out_of_reach(scene, map, &mut pen, (y, foot - 1));
    }
    super::warning(scene, &mut pen, foot - 1);
    parts::key_line(&mut pen, foot, (look, scene.keys), &KEYS);
}

/// The tab of each octave, up and down.
fn octaves(scene: &Scene<'_>, pen: &mut Pen<'_>, (y, columns): (i32, i32), runs: &[[String; 3]]) {
    for (y, [ends, up, down]) in (y..).zip(runs) {
        let x = parts::label(pen, y, scene.look, ends).max(width(ends) + 3);
        let text = format!("up  {up}   down  {down}");
        pen.text(x, y, &parts::cut(&text, columns - x - 1), scene.look.theme.plain);
    }
}

/// How much of the scale the player reaches in each position, if there is room for all twelve; returns the
/// row after it.
fn positions(scene: &Scene<'_>, map: &Mapping, pen: &mut Pen<'_>, (top, below): (i32, i32)) -> i32 {
    let theme = &scene.look.theme;
    let reach = map.reach();
    let rows = count(reach.len().div_ceil(POSITIONS_ACROSS));
    if top + rows + 1 > below {
        return top;
    }
    pen.text(1, top, &format!("{} in every position", map.key().scale().name()), theme.faint);
    for (i, (position, tonic, reached, all)) in (0..).zip(reach) {
        let here = *position == map.position();
        let (x, y) = (1 + i / rows * REACH, top + 1 + i % rows);
        let text = format!("{:<14}{tonic:<3} {reached:>2} of {all} notes", position.to_string());
        if here {
            pen.glyph(x, y, scene.look.glyphs.chosen, theme.voice);
        }
        pen.text(x + 2, y, &text, if here { theme.strong } else { theme.plain });
    }
    top + rows + 2
}

/// The notes out of reach, and what can stand in for each, as many as there is room for.
fn out_of_reach(scene: &Scene<'_>, map: &Mapping, pen: &mut Pen<'_>, (top, below): (i32, i32)) {
    let gaps: Vec<&PlayerNote> = map.notes().iter().filter(|note| !note.reachable()).collect();
    let window = Window::scrolled(0, gaps.len(), below - top - 1);
    let theme = &scene.look.theme;
    if gaps.is_empty() || below - top < 2 {
        return;
    }
    pen.text(1, top, "out of reach", theme.faint);
    for (y, note) in window.seen().filter_map(|(y, index)| Some((top + 1 + y, *gaps.get(index)?))) {
        let x = pen.text(3, y, &note.note.name(), theme.strong) + 1;
        let how = how(scene, map, note);
        // The heading says already that it is out of reach.
        let how = how.strip_prefix("out of reach: ").unwrap_or(&how);
        let text = format!("{} of {}: {how}", note.note.is.step.degree, map.key().tonic());
        parts::paragraph(pen, (x.max(8), y), &text, (1, theme.plain));
    }
    window.ends(pen, (3, top + 1), scene.look);
}

/// The tab of each octave of the scale.
fn runs(map: &Mapping, chart: &Chart<'_>, harp: &Harp) -> Vec<[String; 3]> {
    chart.runs(&ScaleMap::new(harp, map.key()), map.notes())
}

fn header(scene: &Scene<'_>, map: &Mapping, pen: &mut Pen<'_>) {
    let (look, harp) = (scene.look, scene.harp());
    let dot = look.glyphs.dot;
    let customary = map.position().customary_name().map(|name| format!(" ({name})")).unwrap_or_default();
    let title = map.key().title();
    let left = format!("{title} {dot} {}{customary} {dot} {} harp", map.position(), harp.key());
    let brief = format!("{title} {dot} {} {dot} {}", map.position(), harp.key());
    let temperament = map.temperament(harp).map_or("own", |temperament| temperament.name());
    let a4 = harp.concert();
    let a4 = if a4 == ConcertPitch::ISO { String::new() } else { format!(", A4 = {} Hz", a4.a4_hz()) };
    let reeds = format!("{} tuning, {temperament} temperament{a4}", harp.tuning().name());
    let brief_reeds = format!("{}, {temperament}{a4}", harp.tuning().name());
    let wordings = [(&left, &reeds), (&left, &brief_reeds), (&brief, &brief_reeds)];
    parts::header(pen, 0, look, &wordings.map(|(left, right)| (left.as_str(), right.as_str())));
    let reached = map.notes().iter().filter(|note| note.reachable()).count();
    let x = pen.text(1, 1, &parts::cut(&map.ability_words(), pen.width() - 2), look.theme.faint);
    let right = format!("{reached} of {} notes", map.notes().len());
    if x + 2 + width(&right) < pen.width() {
        pen.text(pen.width() - width(&right) - 1, 1, &right, look.theme.faint);
    }
}

/// The note looked at: what it is, how it is played, or what can stand in for it.
fn note(scene: &Scene<'_>, map: &Mapping, pen: &mut Pen<'_>, y: i32) {
    let Some(note) = map.note() else { return };
    let theme = &scene.look.theme;
    let degree = note.note.is.step.degree;
    let x = pen.text(1, y, &format!(" {} ", note.note.name()), theme.strong.patch(theme.chosen)) + 1;
    let way = match note.note.direction {
        Direction::Both => "",
        Direction::Up => ", on the way up",
        Direction::Down => ", on the way down",
    };
    let text = format!("{degree} of {}{way}: {}", map.key().tonic(), how(scene, map, note));
    parts::paragraph(pen, (x, y), &text, (2, theme.plain));
}

fn how(scene: &Scene<'_>, map: &Mapping, note: &PlayerNote) -> String {
    let look = scene.look;
    if let Some(way) = note.way {
        let others = note.note.ways.iter().filter(|other| **other != way && map.ability().reaches(**other));
        let others: Vec<String> = others.map(|other| format!(", or {}", look.tab(*other))).collect();
        let cents = scene.harp().reed_cents(way.hole, way.breath);
        let tempered = if way.technique == Technique::Natural && cents.abs() >= 0.5 {
            let side = if cents < 0.0 { "below" } else { "above" };
            format!("; the reed is {} {side} equal temperament", words::cents(cents))
        } else {
            String::new()
        };
        return format!("{}, {way}{}{tempered}", look.tab(way), others.concat());
    }
    let cannot = match note.note.simplest() {
        Some(way) => format!("out of reach: {}", look.tab(way)),
        None => "this harp does not have it".to_owned(),
    };
    let instead: Vec<String> = note
        .substitutes
        .iter()
        .map(|other| format!("{} ({})", map.key().written(other.note), look.tab(other.way)))
        .collect();
    if instead.is_empty() { cannot } else { format!("{cannot}; instead {}", instead.join(" or ")) }
}

/// What the position is for, in a line, if all chords of the harp still have room below it or in the places beside the
/// chart. True if the line was written.
fn purpose(
    scene: &Scene<'_>,
    map: &Mapping,
    pen: &mut Pen<'_>,
    (y, below): (i32, i32),
    places: usize,
) -> bool {
    let columns = (pen.width() / chords::CHORD).max(1);
    if (below - y - 1).max(0) * columns < count(map.chords().len().saturating_sub(places)) || y >= below {
        return false;
    }
    let words = parts::joined(&map.purpose_words(), scene.look, pen.width() - 2);
    pen.text(1, y, &words, scene.look.theme.faint);
    true
}
