//! The map: the harp with a scale on it, what it costs this player, and its chords.

use crate::chart::Chart;
use crate::desk::Desk;
use crate::keys::{Command, Dial};
use crate::mapping::{ChordLine, Mapping};
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::views::Page;
use crate::{Action, parts, words};
use layout::Technique;
use practice::Exercise;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::widgets::Widget;
use theory::{Direction, PlayerNote};

const KEYS: [(Command, &str); 12] = [
    (Command::Help, "keys"),
    (Command::Leave, "leave"),
    (Command::Turn(Dial::Scale, true), "scale"),
    (Command::Turn(Dial::Position, true), "position"),
    (Command::Higher, "harp"),
    (Command::Turn(Dial::Ability, true), "ability"),
    (Command::Turn(Dial::Tuning, true), "tuning"),
    (Command::Chord, "chord"),
    (Command::Up, "note"),
    (Command::Hear, "hear"),
    (Command::Turn(Dial::Temperament, true), "temperament"),
    (Command::Run, "hear scale"),
];
/// Columns of one chord in the panel.
const CHORD: i32 = 40;

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
            Command::Up | Command::Down => map.step_note(command == Command::Up),
            Command::Turn(dial, forward) => {
                let other = map.turn(dial, forward, harp);
                desk.position = map.position();
                desk.scale = Some(map.key().scale().name().to_owned());
                return other.map(|harp| Action::SetReeds(Box::new(harp)));
            }
            Command::Chord => map.step_chord(),
            Command::HearChord => return Some(Action::HearRun(vec![map.chord()?.hz(harp)])),
            Command::Run => return Some(Action::HearRun(map.run(harp))),
            Command::Hear => {
                let way = map.note()?.note.simplest()?;
                return Some(Action::Hear(harp.hz(way)?));
            }
            _ => {}
        }
        None
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
    // Two rows above the chart; below it the note and the keys, and where there is room the chords.
    let rows = chart.rows(area.width).min(area.height.saturating_sub(4));
    chart.render(Rect { y: area.y + 2, height: rows, ..area }, buf);
    let mut pen = Pen::new(buf, area);
    header(scene, map, &mut pen);
    let foot = pen.height() - 1;
    let roomy = i32::from(rows) + 8 <= foot;
    let below = 2 + i32::from(rows) + i32::from(roomy);
    note(scene, map, &mut pen, below);
    let listed = below + 2 + i32::from(purpose(scene, map, &mut pen, (below + 2, foot - 1)));
    chords(scene, map, &mut pen, (listed, foot - 1));
    super::warning(scene, &mut pen, foot - 1);
    parts::key_line(&mut pen, foot, (look, scene.keys), &KEYS);
}

fn header(scene: &Scene<'_>, map: &Mapping, pen: &mut Pen<'_>) {
    let (look, harp) = (scene.look, scene.harp());
    let dot = look.glyphs.dot;
    let customary = map.position().customary_name().map(|name| format!(" ({name})")).unwrap_or_default();
    let title = map.key().title();
    let left = format!("{title} {dot} {}{customary} {dot} {} harp", map.position(), harp.key());
    let brief = format!("{title} {dot} {} {dot} {}", map.position(), harp.key());
    let temperament = map.temperament(harp).map_or("own", |temperament| temperament.name());
    let reeds = format!("{} tuning, {temperament} temperament", harp.tuning().name());
    let brief_reeds = format!("{}, {temperament}", harp.tuning().name());
    let wordings = [(&left, &reeds), (&left, &brief_reeds), (&brief, &brief_reeds)];
    parts::header(pen, 0, look, &wordings.map(|(left, right)| (left.as_str(), right.as_str())));
    let reached = map.notes().iter().filter(|note| note.reachable()).count();
    let x = pen.text(1, 1, &map.ability_words(), look.theme.faint);
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
        .map(|other| {
            format!(
                "{} ({})",
                map.key().name_of(other.note.pitch_class()).with_octave(other.note),
                look.tab(other.way)
            )
        })
        .collect();
    if instead.is_empty() { cannot } else { format!("{cannot}; instead {}", instead.join(" or ")) }
}

/// What the position is for, in a line, where all chords of the harp still have room below it. True if it has.
fn purpose(scene: &Scene<'_>, map: &Mapping, pen: &mut Pen<'_>, (y, below): (i32, i32)) -> bool {
    let columns = (pen.width() / CHORD).max(1);
    if (below - y - 1) * columns < count(map.chords().len()) {
        return false;
    }
    let words = parts::joined(&map.purpose_words(), scene.look, pen.width() - 2);
    pen.text(1, y, &words, scene.look.theme.faint);
    true
}

/// The chords between two rows, in as many columns as fit; the one looked at stays in sight.
fn chords(scene: &Scene<'_>, map: &Mapping, pen: &mut Pen<'_>, (top, below): (i32, i32)) {
    let (rows, columns) = (below - top, (pen.width() / CHORD).max(1));
    if rows < 1 {
        return;
    }
    let page = rows * columns;
    let looked_at = map.chord_index().map_or(0, count);
    let first = looked_at / page * page;
    for (i, chord) in (0..page).zip(map.chords().iter().skip(first as usize)) {
        let place = (i / rows * CHORD, top + i % rows);
        line(scene, pen, place, (chord, map.chord_index() == Some((first + i) as usize)));
    }
}

/// One chord: its function, its name, its holes.
fn line(scene: &Scene<'_>, pen: &mut Pen<'_>, (x, y): (i32, i32), (chord, chosen): (&ChordLine, bool)) {
    let look = scene.look;
    let style = if chosen { look.theme.voice } else { look.theme.plain };
    let sign = if chosen { look.glyphs.chosen } else { ' ' };
    pen.glyph(x, y, sign, style);
    let strong = if chosen { style } else { look.theme.strong };
    let name = |text: &str| if look.glyphs.ascii() { text.replace("ø7", "m7b5") } else { text.to_owned() };
    pen.within((x + 2, y), 9).text(0, 0, &name(&chord.function), strong);
    pen.within((x + 12, y), 9).text(0, 0, &name(&chord.symbol), style);
    pen.within((x + 22, y), CHORD - 22).text(0, 0, &chord.holes, style);
}
