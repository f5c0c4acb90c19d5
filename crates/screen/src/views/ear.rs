//! Questions by ear: what is to be done, and, when it is answered, what was asked and what was played. Before the
//! answer nothing on the screen moves with the pitch, and the screen names only what the question itself names.

mod told;

use crate::desk::Desk;
use crate::ear_words as words;
use crate::keys::{Command, Dial};
use crate::mapping::turned;
use crate::pen::{Pen, count, width};
use crate::scene::Scene;
use crate::views::Page;
use crate::{Action, View, parts};
use layout::Harp;
use practice::ear::{ByEar, EarPhase, EarPlan, Shape};
use practice::{Exercise, Order};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use theory::{Position, ScaleInKey};

/// Rows above what is asked: header, rule, the signs of the questions.
const HEAD: u16 = 3;
/// Rows below it: a sentence, the keys.
const FOOT: u16 = 2;
/// From this height on there are blank rows between the parts.
const ROOMY: u16 = 18;

/// The view of questions by ear.
pub(super) struct EarPage;

impl Page for EarPage {
    fn render(&self, scene: &Scene<'_>, area: Rect, buf: &mut Buffer) {
        if let Some(by_ear) = scene.exercise.by_ear() {
            render(scene, by_ear, area, buf);
        }
    }

    fn act(&self, desk: &mut Desk, exercise: &Exercise, command: Command) -> Option<Action> {
        let (by_ear, harp) = (exercise.by_ear()?, exercise.harp());
        let plan = by_ear.plan();
        let anew = |plan: EarPlan| Order::Ear(Box::new(EarPlan { seed: plan.seed.wrapping_add(1), ..plan }));
        let order = match command {
            Command::Again | Command::Start if is_over(by_ear) => anew(plan.clone()),
            Command::Pause => Order::Pause,
            Command::Again => Order::Again,
            Command::Next => Order::Next,
            Command::Shape => anew(next_shape(plan, harp)),
            Command::Turn(Dial::Scale, forward) => {
                let library = &desk.library;
                let scale = library.scale_beside(Some(plan.key.scale().name()), forward)?.clone();
                let in_key = |key: &ScaleInKey| ScaleInKey::new(scale.clone(), key.tonic());
                let (key, elsewhere) = (in_key(&plan.key), plan.elsewhere.as_ref().map(in_key));
                anew(EarPlan { key, elsewhere, ..plan.clone() })
            }
            Command::Turn(Dial::Position, forward) => {
                let position = turned(Position::of(harp, plan.key.tonic().pitch_class()), forward);
                desk.position = position;
                let key = ScaleInKey::in_position(plan.key.scale().clone(), harp, position);
                let elsewhere = plan.elsewhere.is_some().then(|| elsewhere(&key, harp));
                anew(EarPlan { key, elsewhere, ..plan.clone() })
            }
            _ => return None,
        };
        Some(Action::Order(order))
    }

    /// What was answered is shown before the view is left.
    fn leave(&self, desk: &mut Desk, exercise: &Exercise) -> Action {
        if exercise.by_ear().is_some_and(ends) { Action::Order(Order::Leave) } else { super::leave(desk) }
    }
}

fn is_over(by_ear: &ByEar) -> bool {
    matches!(by_ear.phase(), EarPhase::Done | EarPhase::Left)
}

/// Whether the key that leaves ends the questions before it leaves the view: there are answers to tell.
fn ends(by_ear: &ByEar) -> bool {
    !is_over(by_ear) && !by_ear.results().is_empty()
}

/// The same scale on the tonic of the first position, or of the second if it stands on the first already.
fn elsewhere(key: &ScaleInKey, harp: &Harp) -> ScaleInKey {
    let here = Position::of(harp, key.tonic().pitch_class());
    let there = if here == Position::FIRST { Position::default() } else { Position::FIRST };
    ScaleInKey::in_position(key.scale().clone(), harp, there)
}

/// The next shape of question: intervals and degrees come by name and then by ear, a call in its own key and
/// then in another.
fn next_shape(plan: &EarPlan, harp: &Harp) -> EarPlan {
    let by_name = matches!(plan.shape, Shape::Interval | Shape::Degree);
    if by_name && !plan.heard {
        return EarPlan { heard: true, ..plan.clone() };
    }
    if plan.shape == Shape::Call && plan.elsewhere.is_none() {
        return EarPlan { elsewhere: Some(elsewhere(&plan.key, harp)), ..plan.clone() };
    }
    let now = Shape::ALL.iter().position(|shape| *shape == plan.shape).unwrap_or(0);
    let shape = Shape::ALL[(now + 1) % Shape::ALL.len()];
    EarPlan { shape, heard: false, elsewhere: None, ..plan.clone() }
}

/// Begins with calls from this view, in this key, or else in the scale and the position that the player has chosen.
pub(super) fn begin(desk: &mut Desk, harp: &Harp, (from, key): (View, Option<ScaleInKey>)) -> Option<Action> {
    let scale = || desk.library.scale(desk.scale.as_deref()).cloned();
    let key = key.or_else(|| Some(ScaleInKey::in_position(scale()?, harp, desk.position)))?;
    let plan = EarPlan {
        shape: Shape::default(),
        heard: false,
        questions: Shape::QUESTIONS,
        key,
        elsewhere: None,
        ability: desk.library.ability.clone(),
        // Another day asks other questions.
        seed: u64::from(desk.day.today.0.unsigned_abs()) << 16,
        hole_told: false,
        sounded: true,
    };
    desk.below = Some(from);
    Some(Action::Order(Order::Ear(Box::new(plan))))
}

fn render(scene: &Scene<'_>, by_ear: &ByEar, area: Rect, buf: &mut Buffer) {
    let look = scene.look;
    let mut pen = Pen::new(buf, area);
    header(scene, by_ear, &mut pen);
    parts::harp_rule(&mut pen, 1, scene);
    progress(scene, by_ear, &mut pen, 2);
    let foot = pen.height() - 1;
    parts::key_line(&mut pen, foot, (look, scene.keys), &keys(scene, by_ear));
    super::warning(scene, &mut pen, foot - 1);
    let gap = u16::from(area.height >= ROOMY);
    let body =
        Rect { y: area.y + HEAD + gap, height: area.height.saturating_sub(HEAD + FOOT + 2 * gap), ..area };
    if is_over(by_ear) {
        told::all(scene, by_ear, body, buf);
    } else if let Some(answered) = by_ear.told() {
        told::one(scene, answered, body, buf);
    } else {
        asked(scene, by_ear, &mut Pen::new(buf, body));
    }
}

/// What is asked on which harp, and by whom it is answered.
fn header(scene: &Scene<'_>, by_ear: &ByEar, pen: &mut Pen<'_>) {
    let (look, plan) = (scene.look, by_ear.plan());
    let title = words::title(plan);
    let full = format!("{title} {} {} harp", look.glyphs.dot, scene.harp().key());
    let who = scene.world.source_words();
    parts::header(pen, 0, look, &[(&full, &who), (&title, &who), (&title, "")]);
}

/// A sign for each question, and how many were right.
fn progress(scene: &Scene<'_>, by_ear: &ByEar, pen: &mut Pen<'_>, y: i32) {
    let look = scene.look;
    let (right, answered) = by_ear.score();
    let told = format!("{right} of {answered} right");
    let number = by_ear.question().map_or(0, |question| question.number);
    let right = format!("question {number} of {}, {told}", by_ear.plan().questions);
    let right = [right, told].into_iter().find(|text| width(text) + 20 <= pen.width()).unwrap_or_default();
    let end = pen.width() - width(&right) - 1;
    pen.text(end, y, &right, look.theme.faint);
    // Where not all fit, those long ago are left out first.
    let signs: Vec<char> = by_ear.results().iter().map(|answered| words::sign(answered, look)).collect();
    let first = signs.len().saturating_sub((end - 4).max(0) as usize);
    let mut text: String = signs.iter().skip(first).collect();
    let to_come = by_ear.plan().questions as usize;
    let asked = by_ear.results().iter().filter(|answered| !answered.asks_again()).count();
    text.extend(std::iter::repeat_n(look.glyphs.coming, to_come.saturating_sub(asked)));
    pen.text(1, y, &parts::cut(&text, end - 2), look.theme.plain);
}

/// The keys that do something now, the most useful first.
fn keys(scene: &Scene<'_>, by_ear: &ByEar) -> Vec<(Command, &'static str)> {
    let (over, paused) = (is_over(by_ear), by_ear.phase() == EarPhase::Paused);
    let told = by_ear.phase() == EarPhase::Told;
    let back = match (ends(by_ear), scene.desk.below) {
        (true, _) => "end",
        (false, Some(_)) => "back",
        (false, None) => "leave",
    };
    let keys = [
        (Command::Again, "more", over),
        (Command::Again, if told { "ask it again" } else { "sound it again" }, !over && !paused),
        (Command::Next, if told { "go on" } else { "pass" }, !over && !paused),
        (Command::Pause, if paused { "go on" } else { "pause" }, !over),
        (Command::Shape, "ask something else", true),
        (Command::Turn(Dial::Position, true), "position", true),
        (Command::Turn(Dial::Scale, true), "scale", true),
        (Command::Player, "built-in player", true),
        (Command::Leave, back, true),
        (Command::Help, "keys", true),
    ];
    keys.into_iter().filter(|(.., works)| *works).map(|(command, words, _)| (command, words)).collect()
}

/// Where the question stands, and what is to be done.
fn asked(scene: &Scene<'_>, by_ear: &ByEar, pen: &mut Pen<'_>) {
    let (look, plan) = (scene.look, by_ear.plan());
    let theme = &look.theme;
    let Some(posed) = by_ear.told_now() else { return };
    let y = (pen.height() / 3).min(4);
    let (state, now) = state(by_ear);
    centred(pen, y, &state, if now { theme.strong } else { theme.plain });
    let todo = words::posed(&posed, &look.tab);
    let rows = parts::broken(&todo, pen.width() - 4);
    for (row, line) in (y + 2..).zip(&rows) {
        centred(pen, row, line, theme.strong);
    }
    let below = y + 3 + count(rows.len());
    let again = if posed.attempt > 1 {
        format!("asked for the {} time", ordinal(posed.attempt))
    } else {
        String::new()
    };
    centred(pen, below, &again, theme.faint);
    if by_ear.results().is_empty() {
        let about = format!("{} What was asked is told when you have answered.", plan.shape.about());
        let rows = (pen.height() - below - 2).clamp(0, 3);
        parts::paragraph(pen, (2, below + 1), &about, (rows, theme.faint));
    }
}

fn ordinal(number: u32) -> String {
    match number {
        2 => "second".to_owned(),
        3 => "third".to_owned(),
        number => format!("{number}th"),
    }
}

/// Where it stands, and whether the player is to do something.
fn state(by_ear: &ByEar) -> (String, bool) {
    let is_drone = by_ear.plan().shape == Shape::Drone && by_ear.plan().sounded;
    match (by_ear.phase(), by_ear.notes_heard()) {
        (EarPhase::Sounding, _) => ("listen".to_owned(), false),
        (EarPhase::Paused, _) => ("paused: nothing is judged".to_owned(), false),
        (EarPhase::Answering, heard) if by_ear.plan().shape == Shape::Call => {
            (format!("{heard} note{} heard", if heard == 1 { "" } else { "s" }), true)
        }
        (EarPhase::Answering, _) => ("a note is heard: hold it".to_owned(), true),
        (EarPhase::Waiting, _) if is_drone => ("the drone sounds: your turn".to_owned(), true),
        (EarPhase::Waiting, _) => ("your turn".to_owned(), true),
        (EarPhase::Told | EarPhase::Done | EarPhase::Left, _) => (String::new(), false),
    }
}

fn centred(pen: &mut Pen<'_>, y: i32, text: &str, style: ratatui::style::Style) {
    pen.text(((pen.width() - width(text)) / 2).max(1), y, text, style);
}
