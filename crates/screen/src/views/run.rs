//! Runs in time: the bars ahead with the present moment in them, and what came of a run when it is over. Pitch runs
//! from left to right, time runs downwards.

mod after;
mod ahead;
mod bars;
mod told;

use crate::desk::Desk;
use crate::keys::Command;
use crate::pen::{Pen, width};
use crate::scene::Scene;
use crate::views::Page;
use crate::{Action, Look, parts};
use practice::run::{Ladder, Plan, RunName, RunPhase, Running, Tempo};
use practice::{Exercise, Order, RunJudged};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use std::ops::Range;

/// Rows above the bars: header, rule, rhythm with the beat.
const HEAD: u16 = 3;
/// Rows below them: a sentence, the keys.
const FOOT: u16 = 2;
/// Columns of a beat in the row of beats: from a width of `ROOMY` columns on, and below it.
const BEAT: (i32, i32) = (5, 3);
const ROOMY: i32 = 56;

/// The view of a run.
pub(super) struct Run;

impl Page for Run {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(running) = scene.exercise.running() {
            render(scene, running, area, buf);
        }
    }

    fn act(&self, desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
        let running = exercise.running()?;
        if command == Command::Start {
            let over = matches!(running.phase(), RunPhase::Done | RunPhase::Left);
            return if over && desk.day.is_under_way() { super::next_block(desk, exercise) } else { None };
        }
        let order = match command {
            Command::Pause => Order::Pause,
            // A run that is over begins anew, and with it a recording that is at its end.
            Command::Again if matches!(running.phase(), RunPhase::Done | RunPhase::Left) => {
                Order::Run(Box::new(at(running, running.tempo())))
            }
            Command::Again => Order::Again,
            Command::Hear if !matches!(running.phase(), RunPhase::Done | RunPhase::Left) => Order::Model,
            Command::Next => Order::Next,
            Command::Slower => Order::Run(Box::new(at_another_tempo(running, -Ladder::STEP_BPM)?)),
            Command::Faster => Order::Run(Box::new(at_another_tempo(running, Ladder::STEP_BPM)?)),
            Command::WeakBars => {
                let weak = only_weak_bars(running)?;
                desk.whole.get_or_insert_with(|| Box::new(running.plan().clone()));
                Order::Run(Box::new(weak))
            }
            Command::AllBars => {
                let whole = desk.whole.take()?;
                let material = whole.material.clone().at(running.tempo());
                let sounds = running.plan().band().is_some();
                Order::Run(Box::new(Plan { material, ..*whole }.with_band(sounds)))
            }
            Command::Band => Order::Run(Box::new(with_or_without_band(running)?)),
            _ => {
                desk.scroll(command, shown(running)?.verdict.notes.len());
                return None;
            }
        };
        desk.scrolled = 0;
        Some(Action::Order(order))
    }
}

/// The run whose end is shown, if no other one goes on.
fn shown(running: &Running) -> Option<&RunJudged> {
    let over = matches!(running.phase(), RunPhase::Shown | RunPhase::Held | RunPhase::Done | RunPhase::Left);
    running.results().last().filter(|_| over)
}

/// The same runs so much faster; `None` at the end of the tempi, or where notes get too short to tell.
fn at_another_tempo(running: &Running, bpm: f64) -> Option<Plan> {
    let tempo = running.tempo().plus(bpm);
    let plan = (tempo != running.tempo()).then(|| at(running, tempo))?;
    (bpm < 0.0 || plan.material.too_fast().is_none()).then_some(plan)
}

/// The same runs at a tempo.
fn at(running: &Running, tempo: Tempo) -> Plan {
    let plan = running.plan();
    Plan { material: plan.material.clone().at(tempo), own_tempo_first: false, ..plan.clone() }
}

/// The same runs over the band, or without it; `None` where no band belongs to them.
fn with_or_without_band(running: &Running) -> Option<Plan> {
    let plan = at(running, running.tempo());
    let sounds = plan.band().is_some();
    plan.over.is_some().then(|| plan.with_band(!sounds))
}

/// Only the bars that went worst; `None` if nothing went wrong, or there is one bar.
fn only_weak_bars(running: &Running) -> Option<Plan> {
    let plan = running.plan();
    let bars = weak_bars(shown(running)?, plan.material.bars())?;
    let mut weak = at(running, running.tempo()).only_bars(bars.clone()).ok()?;
    let (first, last) = (bars.start + 1, bars.end);
    let which = if first == last { format!("bar {first}") } else { format!("bars {first} to {last}") };
    let RunName { title, kept_as } = &mut weak.material.name;
    for name in [title, kept_as] {
        *name = format!("{name}, {which}");
    }
    Some(weak)
}

/// The bar with the most wrong notes, with the bars beside it that have more than half as many wrong; the worst bar by
/// itself if those were all bars.
fn weak_bars(judged: &RunJudged, bars: usize) -> Option<Range<usize>> {
    let mut wrong = vec![0; bars];
    for note in judged.verdict.notes.iter().filter(|note| !note.is_right()) {
        if let Some(count) = wrong.get_mut(note.asked.bar) {
            *count += 1;
        }
    }
    let worst = (0..bars).rev().max_by_key(|bar| wrong[*bar]).filter(|bar| wrong[*bar] > 0)?;
    let weak = |bar: &usize| 2 * wrong[*bar] > wrong[worst];
    let first = (0..=worst).rev().take_while(weak).last()?;
    let last = (worst..bars).take_while(weak).last()?;
    let all = last - first + 1 == bars;
    (bars > 1).then_some(if all { worst..worst + 1 } else { first..last + 1 })
}

fn render(scene: &Scene<'_>, running: &Running, area: Rect, buf: &mut Buffer) {
    let mut pen = Pen::new(buf, area);
    header(scene, running, &mut pen);
    parts::harp_rule(&mut pen, 1, scene);
    pulse(scene, running, &mut pen, 2);
    let foot = pen.height() - 1;
    parts::key_line(&mut pen, foot, (scene.look, scene.keys), &keys(scene, running));
    let over = shown(running);
    let ended = matches!(running.phase(), RunPhase::Done | RunPhase::Left);
    let said = super::warning(scene, &mut pen, foot - 1) || ended && super::coming(scene, &mut pen, foot - 1);
    if !said && over.is_none() {
        let room = pen.width() - 2;
        let text = parts::joined(&told::meanwhile(running), scene.look, room);
        pen.text(1, foot - 1, &text, scene.look.theme.plain);
    }
    let body = Rect { y: area.y + HEAD, height: area.height.saturating_sub(HEAD + FOOT), ..area };
    match over {
        Some(judged) => after::render(scene, (running, judged), body, buf),
        None => ahead::render(scene, running, body, buf),
    }
}

/// The keys that do something now, the most useful first.
fn keys(scene: &Scene<'_>, running: &Running) -> Vec<(Command, &'static str)> {
    let (over, waits) =
        (shown(running).is_some(), matches!(running.phase(), RunPhase::Shown | RunPhase::Held));
    let sounds = running.phase() == RunPhase::Model;
    let goes = !over && running.phase() != RunPhase::Left;
    let back = if scene.desk.below.is_some() { "back" } else { "leave" };
    let plan = running.plan();
    let keys = [
        (Command::Next, "count-in", sounds),
        (Command::Pause, "pause", goes && running.phase() != RunPhase::Paused),
        (Command::Pause, "go on", matches!(running.phase(), RunPhase::Paused | RunPhase::Held)),
        (Command::Pause, "hold", running.phase() == RunPhase::Shown),
        (Command::Again, "again", true),
        (Command::Hear, "hear", goes),
        (Command::WeakBars, "only the weak bars", only_weak_bars(running).is_some()),
        (Command::AllBars, "all bars", scene.desk.whole.is_some()),
        (Command::Band, "band", plan.over.is_some() && plan.band().is_none()),
        (Command::Band, "click", plan.band().is_some()),
        (Command::Slower, "slower", at_another_tempo(running, -Ladder::STEP_BPM).is_some()),
        (Command::Faster, "faster", at_another_tempo(running, Ladder::STEP_BPM).is_some()),
        (Command::Next, "next", goes && !sounds || waits),
        (Command::Hear, "hear", waits),
        (Command::Leave, back, true),
        (Command::Help, "keys", true),
        (Command::Remark, "remark", over),
    ];
    keys.into_iter().filter(|(.., works)| *works).map(|(command, words, _)| (command, words)).collect()
}

/// What is played on which harp, by whom, and which run it is.
fn header(scene: &Scene<'_>, running: &Running, pen: &mut Pen<'_>) {
    let (look, plan) = (scene.look, running.plan());
    let title = &plan.material.name.title;
    let full = format!("{title} {} {} harp", look.glyphs.dot, scene.harp().key());
    let run = format!("run {} of {}", running.number(), plan.runs);
    let who = scene.world.source_words();
    let long = if who.is_empty() { run.clone() } else { format!("{who} {} {run}", look.glyphs.dot) };
    parts::header(pen, 0, look, &[(&full, &long), (title, &long), (&full, &run), (title, &run)]);
}

/// The rhythm, where the run stands, and the beats of the bar with the present one, for players without a loudspeaker.
fn pulse(scene: &Scene<'_>, running: &Running, pen: &mut Pen<'_>, y: i32) {
    let (look, rhythm) = (scene.look, running.rhythm());
    let shown = if running.is_silent() { None } else { Some(told::beat(running)) };
    let left = match shown {
        Some(now) => beats(look, pen, y, (rhythm.metre.beats(), now)),
        None => own_time(look, pen, y, rhythm.metre.beats()),
    };
    let (words, state) = (rhythm.words(), told::state(running));
    let both = 1 + width(&words) + 3 + width(&state) < left;
    // Where only one of the two has room, the state is written: the rhythm can be heard.
    let x = if both || state.is_empty() { pen.text(1, y, &words, look.theme.faint) + 3 } else { 1 };
    pen.text(x, y, &parts::cut(&state, left - x - 1), look.theme.strong);
}

/// Columns of a beat in the row of beats.
fn columns_of_beat(pen: &Pen<'_>) -> i32 {
    if pen.width() >= ROOMY { BEAT.0 } else { BEAT.1 }
}

/// The beats of a bar at the right edge, with the present one, counted from 0; returns the column at which they begin.
pub(super) fn beats(look: &Look, pen: &mut Pen<'_>, y: i32, (beats, now): (u32, Option<u32>)) -> i32 {
    let cell = columns_of_beat(pen);
    let left = pen.width() - 1 - cell * beats.cast_signed();
    for beat in 0..beats {
        let is_now = now == Some(beat);
        let text = match (is_now, beat) {
            (true, 0) => "[1]".to_owned(),
            (true, _) => format!("({})", beat + 1),
            (false, _) => (beat + 1).to_string(),
        };
        let style = if is_now { look.theme.strong.patch(look.theme.chosen) } else { look.theme.faint };
        pen.text(
            left + beat.cast_signed() * cell,
            y,
            &format!("{text:^width$}", width = cell as usize),
            style,
        );
    }
    left
}

/// Says instead of the beats that the player's own time is tried; returns the column at which the beats would begin.
fn own_time(look: &Look, pen: &mut Pen<'_>, y: i32, beats: u32) -> i32 {
    let room = columns_of_beat(pen) * beats.cast_signed();
    let text = parts::cut(if room >= 13 { "your own time" } else { "your time" }, room);
    pen.text(pen.width() - 1 - width(&text), y, &text, look.theme.strong);
    pen.width() - 1 - room
}
