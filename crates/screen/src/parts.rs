//! Small parts that several views share: header, rule, key line.

use crate::Look;
use crate::keys::{Command, KeyMap};
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use layout::{ConcertPitch, Temperament, Tuning};
use ratatui::style::Style;

/// The first line of a view: its title on the left, where the player stands in it on the right. The first of the
/// wordings that has room is written, the longest first; if none has room, the left part of the last is cut.
pub(crate) fn header(pen: &mut Pen<'_>, y: i32, look: &Look, wordings: &[(&str, &str)]) {
    let fits = |(left, right): &&(&str, &str)| width(left) + width(right) + 4 <= pen.width();
    let Some((left, right)) = wordings.iter().find(fits).or(wordings.last()) else { return };
    let room = pen.width() - 2 - if right.is_empty() { 0 } else { width(right) + 2 };
    // A title that would be cut to nothing matters more than what stands beside it.
    let (room, right) = if room < LEAST_TITLE { (pen.width() - 2, "") } else { (room, *right) };
    pen.text(1, y, &cut(left, room), look.theme.strong);
    pen.text(pen.width() - width(right) - 1, y, right, look.theme.faint);
}

/// Fewer columns of a title than this tell nothing.
const LEAST_TITLE: i32 = 12;

/// As much of a text as fits into `room` columns, with an ellipsis where it was cut.
pub(crate) fn cut(text: &str, room: i32) -> String {
    if width(text) <= room {
        return text.to_owned();
    }
    let mut cut = String::new();
    for c in text.chars() {
        if width(&cut) + width(c.encode_utf8(&mut [0; 4])) + 1 > room {
            break;
        }
        cut.push(c);
    }
    if room > 0 { cut.trim_end().to_owned() + "…" } else { String::new() }
}

/// Which tuning, temperament and reference pitch are in force, where they are not the usual ones. First in full:
/// "natural minor tuning · A4 = 442 Hz"; then in as few words as can be understood. Both are empty where all is usual.
fn in_force(scene: &Scene<'_>) -> [String; 2] {
    let harp = scene.harp();
    let tuning = Some(harp.tuning().name()).filter(|name| *name != Tuning::richter().name());
    let cents = harp.all_reed_cents();
    let tempered = cents.blow.iter().chain(&cents.draw).any(|cents| *cents != 0.0);
    let temperament = tempered.then(|| scene.desk.temperament_of(harp).map(Temperament::name));
    let a4_hz = (harp.concert() != ConcertPitch::ISO).then_some(harp.concert().a4_hz());
    let named = |name: &str| format!("{name} temperament");
    let long = [
        tuning.map(|name| format!("{name} tuning")),
        temperament.map(|name| name.map_or("own reed offsets".to_owned(), named)),
        a4_hz.map(|hz| format!("A4 = {hz} Hz")),
    ];
    // "just, first position" is told from other temperaments by its first word.
    let brief = [
        tuning.map(str::to_owned),
        temperament.map(|name| name.unwrap_or("own reeds").split(',').next().unwrap_or_default().to_owned()),
        a4_hz.map(|hz| format!("A4 {hz}")),
    ];
    let dot = format!(" {} ", scene.look.glyphs.dot);
    [long, brief].map(|parts| parts.into_iter().flatten().collect::<Vec<_>>().join(&dot))
}

/// A rule across the screen.
pub(crate) fn rule(pen: &mut Pen<'_>, y: i32, look: &Look) {
    pen.line(0..pen.width(), y, look.glyphs.rule, look.theme.faint);
}

/// The rule below the header. What is unusual about the harp stands in it, so that it is seen on every screen.
pub(crate) fn harp_rule(pen: &mut Pen<'_>, y: i32, scene: &Scene<'_>) {
    rule(pen, y, scene.look);
    let [long, brief] = in_force(scene);
    let text = if width(&long) + 4 <= pen.width() { long } else { brief };
    if !text.is_empty() {
        pen.text(1, y, &format!(" {text} "), scene.look.theme.strong);
    }
}

/// A label in the left margin and the column where its line goes on.
pub(crate) fn label(pen: &mut Pen<'_>, y: i32, look: &Look, text: &str) -> i32 {
    pen.text(1, y, text, look.theme.faint);
    LABEL
}

/// Columns that the labels in the left margin take.
pub(crate) const LABEL: i32 = 12;

/// The keys that every screen shows, however narrow: where all keys stand, and the way back.
const ALWAYS: [Command; 2] = [Command::Help, Command::Leave];
/// Columns between two keys.
const APART: i32 = 3;

/// The keys of a view, the most useful first, as many as fit beside those that always show.
pub(crate) fn key_line(
    pen: &mut Pen<'_>,
    y: i32,
    (look, keys): (&Look, &KeyMap),
    commands: &[(Command, &str)],
) {
    let named = commands.iter().filter_map(|(command, words)| {
        let press = keys.presses(*command).first()?;
        Some((ALWAYS.contains(command), key_name(&press.to_string(), look), *words))
    });
    let named: Vec<(bool, String, &str)> = named.collect();
    let columns = |key: &str, words: &str| width(key) + 1 + width(words) + APART;
    let kept: i32 =
        named.iter().filter(|(always, ..)| *always).map(|(_, key, words)| columns(key, words)).sum();
    let (mut x, mut room) = (1, pen.width() - 1 + APART - kept);
    for (always, key, words) in &named {
        if !always {
            room -= columns(key, words);
            if room < 0 {
                continue;
            }
        }
        x = pen.text(x, y, key, look.theme.key) + 1;
        x = pen.text(x, y, words, look.theme.faint) + APART;
    }
}

/// A key as the key line shows it: arrows as arrows.
pub(crate) fn key_name(name: &str, look: &Look) -> String {
    let arrow = match name {
        "up" => "↑",
        "down" => "↓",
        "left" => "←",
        "right" => "→",
        _ => return name.to_owned(),
    };
    if look.glyphs.ascii() { name.to_owned() } else { arrow.to_owned() }
}

/// Joins as many of `parts` as fit into `room` columns.
pub(crate) fn joined(parts: &[String], look: &Look, room: i32) -> String {
    let mut text = String::new();
    for part in parts {
        let more = if text.is_empty() { part.clone() } else { format!(" {} {part}", look.glyphs.dot) };
        if width(&text) + width(&more) > room {
            break;
        }
        text.push_str(&more);
    }
    text
}

/// Breaks text between words into lines of at most `room` columns; a word that is longer stands alone.
pub(crate) fn broken(text: &str, room: i32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(line) + 1 + width(word) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Writes text word by word into the columns from `x` and at most `rows` rows from `y`, with an ellipsis where it had
/// to end early; returns the row after it.
pub(crate) fn paragraph(
    pen: &mut Pen<'_>,
    (x, y): (i32, i32),
    text: &str,
    (rows, style): (i32, Style),
) -> i32 {
    let lines = broken(text, pen.width() - x - 1);
    for (row, line) in (y..y + rows).zip(&lines) {
        let end = pen.text(x, row, line, style);
        if row + 1 == y + rows && rows < count(lines.len()) {
            pen.text(end.min(pen.width() - 1), row, "…", style);
        }
    }
    y + rows.min(count(lines.len()))
}
