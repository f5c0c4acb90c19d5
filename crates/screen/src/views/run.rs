//! A run in time: the notes of the bars ahead, where we are, and what came of those before. Pitch runs from left to right,
//! time runs downwards.

use crate::desk::Desk;
use crate::keys::Command;
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::views::Page;
use crate::{Action, parts, words};
use practice::run::{RunPhase, Running};
use practice::{Exercise, Order};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use scoring::timed::AskedNote;

const KEYS: [(Command, &str); 5] = [
    (Command::Help, "keys"),
    (Command::Pause, "pause"),
    (Command::Again, "again"),
    (Command::Next, "next run"),
    (Command::Leave, "leave"),
];
/// Columns of the beat before the notes, and of the verdict behind them.
const BEAT: i32 = 5;
const VERDICT: i32 = 26;

/// The view of a run.
pub(super) struct Run;

impl Page for Run {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(running) = scene.exercise.running() {
            render(scene, running, &mut Pen::new(buf, area));
        }
    }

    fn act(&self, _desk: &mut Desk, _exercise: &Exercise, command: Command) -> Option<Action> {
        match command {
            Command::Pause => Some(Action::Order(Order::Pause)),
            Command::Again => Some(Action::Order(Order::Again)),
            Command::Next => Some(Action::Order(Order::Next)),
            _ => None,
        }
    }
}

fn render(scene: &Scene<'_>, running: &Running, pen: &mut Pen<'_>) {
    let look = scene.look;
    let plan = running.plan();
    let rhythm = plan.material.rhythm.at(running.tempo());
    let who = scene.world.source_words();
    let right = format!("{who}  run {} of {}", running.number(), plan.runs);
    let left = format!("{} {} {} harp", plan.material.title, look.glyphs.dot, scene.harp().key());
    parts::header(pen, 0, look, &[(&left, &right)]);
    pen.text(1, 1, &rhythm.words(), look.theme.faint);
    let state = state(running);
    pen.text(pen.width() - width(&state) - 1, 1, &state, look.theme.strong);
    let foot = pen.height() - 1;
    if let (RunPhase::Shown | RunPhase::Done | RunPhase::Left, Some(last)) =
        (running.phase(), running.results().last())
    {
        let whole = last.verdict.whole;
        let tab = |way| look.tab(way);
        let spread = whole.spread_s.map_or(String::new(), |s| format!(", spread {:.0} ms", s * 1000.0));
        let text = format!(
            "{} of {} right, {} in pitch, {} in time{spread}",
            whole.right, whole.asked, whole.in_pitch, whole.in_time
        );
        pen.text(1, foot - 3, &text, look.theme.strong);
        pen.text(1, foot - 2, &last.verdict.advice(tab), look.theme.plain);
    }
    notes(scene, running, pen, (3, foot - 4));
    super::warning(scene, pen, foot - 1);
    parts::key_line(pen, foot, (look, scene.keys), &KEYS);
}

/// Where the run stands, in words.
fn state(running: &Running) -> String {
    let beat = |now: f64| (now / running.tempo().beat_s()).floor();
    match (running.phase(), running.now()) {
        (RunPhase::Waiting, _) => "play when you like".to_owned(),
        (RunPhase::CountIn, Some(now)) if now > -running.count_in_s() => {
            format!("count-in {}", beat(now + running.count_in_s()) as i64 + 1)
        }
        (RunPhase::CountIn, _) => "get ready".to_owned(),
        (RunPhase::Playing, Some(now)) => {
            let beats = running.plan().material.rhythm.metre.beats();
            let beat = beat(now) as i64;
            format!("bar {}, beat {}", beat / i64::from(beats) + 1, beat % i64::from(beats) + 1)
        }
        (RunPhase::Paused, _) => "paused".to_owned(),
        (RunPhase::Shown, _) => "the next run comes by itself".to_owned(),
        (RunPhase::Done, _) => "done".to_owned(),
        _ => String::new(),
    }
}

/// The notes around the present one, a row each.
fn notes(scene: &Scene<'_>, running: &Running, pen: &mut Pen<'_>, (top, below): (i32, i32)) {
    let (asked, look) = (running.asked(), scene.look);
    let now = running.now().unwrap_or(0.0);
    let present = asked.iter().rposition(|note| note.onset_s <= now).unwrap_or(0);
    let rows = (below - top).max(0) as usize;
    // A third of the rows shows what is over.
    let first = present.saturating_sub(rows / 3).min(asked.len().saturating_sub(rows));
    let lowest = asked.iter().map(|note| note.note).min();
    let highest = asked.iter().map(|note| note.note).max();
    let (Some(lowest), Some(highest)) = (lowest, highest) else { return };
    let span = f64::from(highest.midi() - lowest.midi()).max(1.0);
    let room = f64::from(pen.width() - BEAT - VERDICT - 6);
    let (path, played) = (running.path(), running.played());
    for (y, index) in (top..below).zip(first..asked.len()) {
        let note = &asked[index];
        let here = index == present && now >= 0.0 && running.phase() == RunPhase::Playing;
        if here {
            pen.glyph(0, y, look.glyphs.chosen, look.theme.voice);
        }
        pen.text(1, y, &beat_words(running, note), look.theme.faint);
        let x = BEAT + (f64::from(note.note.midi() - lowest.midi()) / span * room).round() as i32;
        let style = if here { look.theme.target } else { look.theme.strong };
        pen.text(x, y, &look.tab(note.way), style);
        if let Some(answer) = path[index].and_then(|i| played.get(i)) {
            let late = answer.onset_s - note.onset_s;
            let ms = (late * 1000.0).round();
            let text = if answer.note == note.note {
                format!("{ms:+} ms")
            } else {
                format!("{ms:+} ms, {}", words::note(scene.harp(), answer.note))
            };
            pen.text(pen.width() - VERDICT, y, &text, look.theme.plain);
        }
    }
    let left = count(asked.len()) - count(first) - (below - top);
    if left > 0 {
        pen.text(1, below, &format!("… {left} more below"), look.theme.faint);
    }
}

/// The beat of a note, where it begins one: "1", "2".
fn beat_words(running: &Running, note: &AskedNote) -> String {
    let beats = note.onset_s / running.tempo().beat_s();
    let per_bar = f64::from(running.plan().material.rhythm.metre.beats());
    if (beats - beats.round()).abs() < 1e-6 {
        format!("{}", beats.round() % per_bar + 1.0)
    } else {
        String::new()
    }
}
